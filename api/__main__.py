"""`python -m api` does what `tensionlay` does, where the latter is not installed."""

from __future__ import annotations

import sys

from api.command import main

if __name__ == "__main__":
    sys.exit(main())
