"""Standard output kept clean of what a library's own code writes there, past Python."""

from __future__ import annotations

import contextlib
import ctypes
import os
import sys
from collections.abc import Iterator

__all__ = ["quiet"]

_OUT = 1


@contextlib.contextmanager
def quiet() -> Iterator[None]:
    """Nothing reaches the process's standard output meanwhile: HiGHS 1.12 leaves a word of its own making there."""
    with contextlib.suppress(AttributeError, OSError, ValueError):
        sys.stdout.flush()
    try:
        kept = os.dup(_OUT)
    except OSError:  # there is none
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, _OUT)
    try:
        yield
    finally:
        # What C has not written yet would come out later.
        with contextlib.suppress(AttributeError, OSError):
            ctypes.CDLL(None).fflush(None)
        os.dup2(kept, _OUT)
        os.close(kept)
        os.close(nowhere)
