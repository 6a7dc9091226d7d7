"""How far a long task has come: a plain callback, and what a terminal makes of it."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import TextIO

__all__ = ["Progress", "TerminalProgress", "silent"]

Progress = Callable[[int, int, str], None]
"""Called with (step, of, what): how many steps are done, how many there are, and what is being done now."""


def silent(step: int, of: int, what: str) -> None:
    """Progress that nobody watches."""


class TerminalProgress:
    """One line that keeps rewriting itself on a terminal; one plain line for each new activity anywhere else."""

    def __init__(self, stream: TextIO | None = None) -> None:
        """Write to the stream (standard error if none is given)."""
        self._stream = sys.stderr if stream is None else stream
        self._live = self._stream.isatty()
        self._last = ""

    def __call__(self, step: int, of: int, what: str) -> None:
        """Show the step."""
        if self._live:
            done = "#" * round(20 * step / max(of, 1))
            self._stream.write(f"\r\x1b[K[{done:<20}] {what}")
        elif what != self._last:
            self._stream.write(f"{what}\n")
        self._last = what
        self._stream.flush()

    def close(self) -> None:
        """Take the live line away, so that what follows starts on a clean one."""
        if self._live and self._last:
            self._stream.write("\r\x1b[K")
            self._stream.flush()
