"""What every test shares: one BLAS thread, repeatable random examples, and where the project lies."""

from __future__ import annotations

import os
import signal
from pathlib import Path

import pytest
from hypothesis import settings

# Before NumPy is loaded anywhere: more BLAS threads than cores slow small matrices many times over.
for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(variable, "1")

# A shell that starts the tests in the background has them, and so all that they start, ignore an interruption.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)

# The same examples on every machine, and no time limit on one: a slow machine is not a fault.
settings.register_profile("repeatable", deadline=None, derandomize=True, database=None)
settings.load_profile("repeatable")


@pytest.fixture(scope="session")
def project() -> Path:
    """Folder that holds the project's files."""
    return Path(__file__).resolve().parents[1]
