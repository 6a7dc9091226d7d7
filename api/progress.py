"""How far a long task has come: a plain callback, and what a terminal makes of it."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from typing import TextIO

__all__ = ["Progress", "TerminalProgress", "silent"]

Progress = Callable[[int, int, str], None]
"""Called with (step, of, what): how many steps are done, how many there are, and what is being done now."""


def silent(step: int, of: int, what: str) -> None:
    """Progress that nobody watches."""


QUIET = 2.0
"""Seconds between two lines where nobody watches a terminal."""


class TerminalProgress:
    """One line that keeps rewriting itself on a terminal; anywhere else a plain line now and then, if it takes long."""

    def __init__(self, stream: TextIO | None = None) -> None:
        """Write to the stream (standard error if none is given)."""
        self._stream = sys.stderr if stream is None else stream
        self.live = self._stream.isatty()
        self._told = time.monotonic()
        self._shown = False

    def __call__(self, step: int, of: int, what: str) -> None:
        """Show the step."""
        if self.live:
            done = "#" * round(20 * step / max(of, 1))
            self._stream.write(f"\r\x1b[K[{done:<20}] {what[:50]}")
            self._shown = True
        elif time.monotonic() - self._told >= QUIET:
            self._told = time.monotonic()
            self._stream.write(f"{step} of {of}: {what}\n")
        self._stream.flush()

    def close(self) -> None:
        """Take the live line away, so that what follows starts on a clean one."""
        if self._shown:
            self._stream.write("\r\x1b[K")
            self._stream.flush()
            self._shown = False
