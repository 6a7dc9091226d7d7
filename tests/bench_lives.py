"""Many random lives; run by hand: python tests/bench_lives.py [--first NUMBER] [--count N] [--seconds S].

Each life must end in faults with a remedy or in an answer that passes every self-check. Prints the counts by outcome,
the slowest life, and every traceback and failed check with the number of its life. One process, one BLAS thread.
"""

from __future__ import annotations

import argparse
import sys
import time
import traceback
from collections import Counter
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(PROJECT))

from api.workers import one_blas_thread  # noqa: E402 (the project must be findable first)

one_blas_thread()

from tests.life_checks import outcome_of  # noqa: E402
from tests.lives import life_case  # noqa: E402


def main() -> int:
    """Run them; 1 if any failed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--count", type=int, default=2000)
    parser.add_argument("--seconds", type=float, default=float("inf"), help="stop after so long")
    chosen = parser.parse_args()
    counts: Counter[str] = Counter()
    slowest, failed, begun = (0.0, -1), 0, time.monotonic()
    for number in range(chosen.first, chosen.first + chosen.count):
        if time.monotonic() - begun > chosen.seconds:
            break
        start = time.monotonic()
        try:
            outcome, wrong = outcome_of(life_case(number))
        except Exception:  # whatever it is, it is reported with its number
            outcome, wrong = "traceback", [traceback.format_exc()]
        counts[outcome] += 1
        slowest = max(slowest, (time.monotonic() - start, number))
        failed += bool(wrong)
        for one in wrong:
            print(f"life {number} ({outcome}): {one}", flush=True)
    print(f"{counts.total()} lives in {time.monotonic() - begun:.0f} s: {dict(counts.most_common())}; {failed} failed")
    print(f"slowest: life {slowest[1]} with {slowest[0]:.1f} s")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
