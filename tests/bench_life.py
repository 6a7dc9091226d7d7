"""How long a whole life takes; run by hand: python tests/bench_life.py [--rounds N].

The L-shaped slab with a sink through nine stages: one on edge, one leaning, one with a person at 400 places, one with
the level limits of every support; about 75 contact points a stage. Then one support moved, with 20 contact points,
without the person and with them. Seconds of computing after imports, the best of a few rounds; ratios against SciPy's
sparse factorisation of the same plate in the same run, which any way of solving it pays.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(PROJECT))

from api.workers import one_blas_thread, usable_cores  # noqa: E402 (the project must be findable first)

one_blas_thread()

from api.case import load_case  # noqa: E402
from api.solve import mesh_of  # noqa: E402
from api.translate import piece_from  # noqa: E402
from fem.plate.analysis import analyse, moved  # noqa: E402
from fem.plate.bearing import stage_contacts  # noqa: E402
from fem.plate.columns import solve_columns  # noqa: E402
from fem.plate.footings import footings  # noqa: E402
from fem.plate.model import (  # noqa: E402
    HAND_STIFFNESS,
    AreaPlace,
    Bow,
    Edgewise,
    LinePlace,
    Load,
    Point,
    PointPlace,
    Roaming,
    Stage,
    Support,
    Variation,
)
from fem.plate.prepared import prepare  # noqa: E402

INCH, LBF = 0.0254, 4.4482216152605


def inch(*points: Point) -> tuple[Point, ...]:
    """Points in inches as metres."""
    return tuple((x * INCH, y * INCH) for x, y in points)


PANELS = [
    ((1, 70), (24, 70)),
    ((1, 53), (24, 53)),
    ((1, 36), (24, 36)),
    ((36, 1.5), (36, 24)),
    ((48, 1.5), (48, 24)),
    ((76, 1.5), (76, 24)),
    ((94, 1.5), (94, 24)),
]


def life() -> list[Stage]:
    """Nine stages."""
    panels = tuple(Support(f"panel {k}", LinePlace(inch(*line)), "rest") for k, line in enumerate(PANELS))
    corners = [(4, 70), (4, 3), (94, 3), (94, 22.5)]
    hands = tuple(
        Support(f"hand {k}", PointPlace(inch(at)[0], 4 * INCH), "hold", 0.0, HAND_STIFFNESS)
        for k, at in enumerate([(20, 1), (76, 1), (20, 24), (76, 24)])
    )
    rests = tuple(
        replace(hand, action="rest", place=PointPlace(inch(at)[0], 4 * INCH))
        for hand, at in zip(hands, corners, strict=True)
    )
    young = Stage("", "show", 1.5, 20e9, 2.7e6, 1.8e6, panels)
    foam = Support("foam", AreaPlace(inch((0, 0), (96, 0), (96, 25.5), (0, 25.5))), "rest", 0.0, 1e7)
    straps = tuple(Support(f"strap {x}", LinePlace(inch((x, 0.5), (x, 25))), "hold", 0.0, 1e6) for x in (20, 76))
    upright = Edgewise((0.0, -1.0), 1.5, (0, 1))
    across = (Variation("thrown one way", multiplier=0.3), Variation("thrown the other way", multiplier=-0.3))
    person = Roaming("person", 300 * LBF, 4 * INCH)
    return [
        replace(young, name="strip", up="underside", form_pull=1000.0),
        replace(young, name="carry flat", supports=rests),
        replace(young, name="on edge", supports=hands, multiplier=0.0, edgewise=upright, variations=across),
        replace(young, name="haul", supports=(foam, *straps), multiplier=0.26, variations=across),
        replace(young, name="set", multiplier=1.2, levels=True),
        replace(young, name="use, rare", multiplier=1.0, roaming=(person,)),
        replace(
            young,
            name="use, seats",
            multiplier=1.0,
            loads=(Load("lip", LinePlace(inch((26, 1), (70, 1))), 50 * LBF / 0.3048),),
        ),
        replace(young, name="use, lasting", multiplier=1.0, bows=(Bow("drying", 200e-6 / 0.0381),)),
        replace(
            young,
            name="one panel low",
            multiplier=1.0,
            supports=(*panels[:3], replace(panels[3], gap=1e-3), *panels[4:]),
        ),
    ]


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=4)
    rounds = parser.parse_args().rounds
    piece = piece_from(load_case(PROJECT / "cases" / "l-island-with-sink.toml"))
    stages = life()
    mesh = mesh_of(piece)
    prepared = prepare(mesh, piece.plate)
    feet = footings(prepared.site, piece.plate, stages)
    columns = solve_columns(prepared.free, prepared.weight, feet)
    counts = [
        len(stage_contacts(*pair, columns, prepared.ground).numbers[0]) for pair in zip(stages, feet, strict=True)
    ]
    print(f"{len(mesh.nodes)} nodes, {usable_cores()} cores, one BLAS thread; contacts a stage: {counts}")
    factor = _best(rounds, lambda: type(prepared.free)(mesh, piece.plate.thickness, piece.plate.poisson).factor)
    whole = _best(rounds, lambda: analyse(mesh_of(piece), piece.plate, stages))
    _line("stiffness and its factor (SciPy)", factor, factor)
    _line("the whole life, mesh included", whole, factor)
    two = (
        Support("a", LinePlace(inch((4, 2), (4, 36))), "rest"),
        Support("b", LinePlace(inch((70, 2), (70, 24))), "rest"),
    )
    there = replace(stages[4], name="moved", supports=two, levels=False)
    (standing,) = footings(prepared.site, piece.plate, [there])
    print(f"  the moved stage has {sum(foot.size for foot in standing.feet)} contacts")
    for name, roaming in (
        ("a support moved, no person", ()),
        ("a support moved, a person anywhere", stages[5].roaming),
    ):
        known = moved(prepared, replace(there, roaming=roaming))[1]
        times = []
        for k in range(rounds + 2):
            line = LinePlace(inch((71 + k, 2), (71 + k, 24)))
            stage = replace(there, supports=(two[0], replace(two[1], place=line)), roaming=roaming)
            start = time.perf_counter()
            _, known = moved(prepared, stage, known)
            times.append(time.perf_counter() - start)
        _line(name, min(times), factor)


def _best(rounds: int, work: Callable[[], object]) -> float:
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def _line(name: str, seconds: float, factor: float) -> None:
    print(f"  {name:<44} {seconds:8.3f} s {seconds / factor:8.1f} x the factor")


if __name__ == "__main__":
    main()
