"""What C code writes past Python does not reach standard output; what Python writes before and after does."""

from __future__ import annotations

import subprocess
import sys

SAYS = """
import ctypes, sys
from api.steel.quiet import quiet
C = ctypes.CDLL(None)
print("before")
with quiet():
    C.puts(b"a word of the library")
print("after")
"""


def test_only_our_own_words_come_out() -> None:
    said = subprocess.run([sys.executable, "-c", SAYS], capture_output=True, text=True, check=True).stdout
    assert said.split() == ["before", "after"]


def test_without_standard_output_nothing_breaks() -> None:
    closed = f"import os; os.close(1)\n{SAYS.replace('print', 'str')}"
    assert subprocess.run([sys.executable, "-c", closed], capture_output=True, check=False).returncode in (0, 120)
