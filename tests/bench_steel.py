"""How long a plan of the steel takes, and how good it is; run by hand: python tests/bench_steel.py [--seconds S].

The L-shaped slab with a sink through its whole life, which owes steel on both faces: what is owed at a grid of points a
thickness apart, then the plan of least length with the best one without diagonals beside it. Seconds of computing on
one core after imports; the gap is that of the plan to the bound that HiGHS proves for its integer model.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(PROJECT))

from api.workers import one_blas_thread  # noqa: E402 (the project must be findable first)

one_blas_thread()

import numpy as np  # noqa: E402

from api.case import load_case  # noqa: E402
from api.solve import mesh_of  # noqa: E402
from api.steel.factored import factored_stages  # noqa: E402
from api.steel.settings import settings_of  # noqa: E402
from api.translate import piece_from  # noqa: E402
from fem.plate.prepared import prepare  # noqa: E402
from fem.steel.capacity import FACES  # noqa: E402
from fem.steel.demand import demand_of  # noqa: E402
from fem.steel.edges import along_edges  # noqa: E402
from fem.steel.planning import plan  # noqa: E402
from fem.steel.proving import plan_points  # noqa: E402

ANGLES = np.arange(36) * np.pi / 36


def main() -> None:
    """Print what each step takes and what comes of it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("case", nargs="?", type=Path, default=PROJECT / "cases" / "l-shape-steel-plan.toml")
    parser.add_argument("--seconds", type=float, default=5.0, help="for the integer programmes")
    given = parser.parse_args()

    case = load_case(given.case)
    piece, settings = piece_from(case), settings_of(case)
    prepared = prepare(mesh_of(piece), piece.plate)
    factored, _ = factored_stages(case, piece, settings.code, settings.owed_above)
    region = piece.shape.region(1e-4)
    points = plan_points(region, settings.thickness, settings.thickness)

    begin = time.process_time()
    demand = demand_of(prepared, factored, points, ANGLES)
    floor = min(one.floor for one in factored)
    for face in FACES:
        demand.needed[face][demand.needed[face] <= floor] = 0.0
    demand = along_edges(demand, region, settings.thickness)
    owed = {face: float((demand.needed[face] > 0).any(axis=1).mean()) for face in FACES}
    print(f"what is owed at {len(points)} points: {time.process_time() - begin:.2f} s;", end=" ")
    print(", ".join(f"{share:.0%} of the {face} face" for face, share in owed.items()))

    begin, clock = time.process_time(), time.monotonic()
    rest = settings.covers, settings.concrete, settings.code, settings.rules
    found = plan(region, settings.thickness, demand, settings.steel, *rest, seconds=given.seconds)
    print(f"plan: {time.process_time() - begin:.2f} s, {time.monotonic() - clock:.2f} s by the clock")
    print(f"{found.length:.1f} m in {len(found.runs)} runs, within {found.length / found.bound - 1:.1%} of the optimum")
    print(f"without diagonals {found.without_diagonals} m; with some no less than {found.with_diagonals} m")
    print(f"load factor {found.carried.factor:.3f}", *found.failures, *found.remedies, sep="\n")


if __name__ == "__main__":
    main()
