"""200 random slabs: is every plan that is given proven by the independent check? Run by hand, from and to by number.

    .venv/bin/python tests/bench_plans.py [FROM [TO]]

Each is looked at in 180 directions at about 20,000 points that the plan was not laid for. Told are slabs where nothing
fits, plans that fail the check, rounds, length over its bound, and length against the best uniform mat.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np

from fem.steel.mat import uniform_mat
from tests.steel_slabs import steel_slab


def main(first: int, last: int) -> int:
    """Looks at the slabs of these numbers; how many plans failed."""
    failed, nothing, gaps, saved, rounds = 0, 0, [], [], []
    for number in range(first, last):
        start = time.process_time()
        slab = steel_slab(number, small=False, diagonals=number % 2 == 0)
        found = slab.proven(20_000, 180, seconds=2.0)
        plan, demand, checked = found.plan, found.demand, found.checked
        mat = uniform_mat(
            slab.region,
            slab.thickness,
            demand,
            slab.steel,
            slab.covers,
            slab.rules,
            slab.worth,
            slab.depth,
            slab.layers,
        ).mat
        seconds = time.process_time() - start
        if plan.failures:
            nothing += 1
            print(f"{number:4d} {seconds:6.1f} s  nothing fits: {plan.failures[0]}", flush=True)
            continue
        failed += not checked.passes
        rounds.append(found.rounds)
        gaps.append(plan.length / plan.bound - 1 if plan.bound > 0 else 0.0)
        beside = f"mat {mat.length:6.2f} m" if mat is not None else "no mat carries it"
        saved += [1 - plan.length / mat.length] if mat is not None else []
        verdict = "passes" if checked.passes else f"FAILS at {checked.at}, {checked.face}"
        print(
            f"{number:4d} {seconds:6.1f} s  {verdict}: {checked.factor:.3f} at {checked.points} points, "
            f"round {found.rounds}, {plan.length:6.2f} m, at most {gaps[-1]:5.1%} too long, {beside}",
            flush=True,
        )
    print(f"{last - first} slabs: {failed} plans fail, nothing fits {nothing}; rounds {np.mean(rounds):.1f}")
    print(f"gap median {np.median(gaps):.1%}, shorter than the mat by {np.median(saved):.0%} (median of {len(saved)})")
    return failed


if __name__ == "__main__":
    numbers = [int(word) for word in sys.argv[1:]]
    sys.exit(bool(main(numbers[0] if numbers else 0, numbers[1] if len(numbers) > 1 else 200)))
