"""A slab's steel that nobody computed, made by hand for reports and maps: runs, demand, checks, a mat, a layout."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import shapely

from api.solve import Solved
from api.steel.found import SteelFound
from api.translate import Piece
from fem.plate.analysis import Analysis
from fem.steel.model import (
    Bending,
    Carried,
    Check,
    Concrete,
    Covers,
    Cut,
    Demand,
    Face,
    Judgement,
    Mat,
    Plan,
    Quantity,
    Rules,
    Run,
    RunWorth,
    Steel,
    Verdict,
)

__all__ = ["INCH", "PSI", "invented_steel", "invented_steel_of", "sample_checks", "with_steel"]

FloatArray = npt.NDArray[np.float64]
INCH, PSI = 0.0254, 6894.757293168361
WIRE = Steel(
    "9 gauge wire",
    "wire",
    0.1483 * INCH,
    0.16 * INCH,
    0.01727 * INCH**2,
    70e3 * PSI,
    80e3 * PSI,
    200e9,
    stock=10 * 12 * INCH,
    mass=0.0876,
    source="ASTM A951; A1064",
)
CONCRETE = Concrete(6000 * PSI, 581 * PSI, 929 * PSI, 30.7e9)
COVERS = Covers(0.5 * INCH, 0.375 * INCH, 0.75 * INCH, 0.75 * INCH)
CODE_COVERS = Covers(0.625 * INCH, 0.625 * INCH, 0.75 * INCH, 0.75 * INCH)
FACES: tuple[Face, Face] = ("show", "underside")


def with_steel(solved: Solved, found: SteelFound) -> Solved:
    """The solved case with a steel record put in."""
    return replace(solved, steel=found)


def invented_steel(solved: Solved) -> SteelFound:
    """The same for a solved case."""
    return invented_steel_of(solved.piece, solved.analysis)


def invented_steel_of(piece: Piece, analysis: Analysis) -> SteelFound:
    """Runs both ways near each face, cut by the openings, under a demand of smooth hills."""
    region = shapely.Polygon(piece.shape.region().buffer(-COVERS.edge))
    thickness = piece.plate.thickness
    runs = [
        *_runs(region, "show", 0.0, 0.11, COVERS.show + WIRE.outside / 2, "A"),
        *_runs(region, "show", math.pi / 2, 0.2, COVERS.show + 1.5 * WIRE.outside, "B", layer=1),
        *_runs(region, "underside", 0.0, 0.15, thickness - COVERS.underside - WIRE.outside / 2, "C"),
        *_runs(region, "underside", math.pi / 4, 0.5, thickness - COVERS.underside - 1.5 * WIRE.outside, "D", layer=1),
    ]
    demand = _demand(analysis)
    use = {face: _use(demand, face) for face in FACES}
    at, face, angle, stage = _binding(demand, use)
    carried = Carried(1 / max(float(one[np.isfinite(one)].max()) for one in use.values()), use, at, face, angle, stage)
    length = sum(run.length for run in runs)
    weaker = Carried(carried.factor * 0.86, {f: one / 0.86 for f, one in use.items()}, at, face, angle, stage)
    mat = Mat({"show": (0.09, 0.114), "underside": (0.114, math.inf)}, (), 1.27 * length, weaker)
    plan = Plan(
        tuple(runs),
        length,
        0.97 * length,
        carried,
        mat,
        _cuts(runs),
        14,
        0.07,
        notes=(
            "two runs lie in every rail whether or not they carry a pull: a crack there would leave nothing behind",
        ),
        without_diagonals=1.09 * length,
    )
    given = tuple(_runs(region, "underside", 0.0, 0.3, thickness / 2, "G", why="given"))
    return SteelFound(
        steel=WIRE,
        covers=COVERS,
        code="ACI 318-19",
        concrete=CONCRETE,
        rules=Rules(
            0.0381, 3 * thickness, (0.0, math.pi / 4, math.pi / 2, 3 * math.pi / 4), 0.375 * INCH, 0.3048, 0.3048
        ),
        demand=demand,
        plan=plan,
        judged=_judged(given, weaker),
        given=given,
        code_cover=weaker,
        code_covers=CODE_COVERS,
        checks=sample_checks(),
        bendings=_bendings(piece),
        notes=("steel is owed where the pull exceeds 0.2 of the cracking strength of that age",),
    )


def sample_checks() -> tuple[Check, ...]:
    """One of each kind: a chain of two steps, a code's own units, a bound told in words, one that fails."""
    area = 3 * WIRE.area / (12 * INCH)
    fc, fy, d = 6000 * PSI, 70e3 * PSI, 0.80 * INCH
    a = area * fy / (0.85 * fc)
    strength = area * fy * (d - a / 2)
    ld = 3 / 40 * 70e3 / math.sqrt(6000) * 0.8 / 2.5 * 0.1483 * INCH
    return (
        Check(
            "depth of the stress block",
            "ACI 318-19 22.2.2.4.1",
            "a = As fy / (0.85 f'c)",
            (Quantity("As", area, "area per length"), Quantity("fy", fy, "stress"), Quantity("f'c", fc, "stress")),
            Quantity("a", a, "length"),
            place="underside, layer 1",
        ),
        Check(
            "section strength",
            "ACI 318-19 22.3, 21.2.2",
            "phi Mn = phi As fy (d - a/2)",
            (
                Quantity("phi", 0.9, "number"),
                Quantity("As", area, "area per length"),
                Quantity("fy", fy, "stress"),
                Quantity("d", d, "length"),
                Quantity("a", a, "length"),
            ),
            Quantity("phi Mn", 0.9 * strength, "moment per length"),
            ">=",
            Quantity("Mu", 0.8 * strength, "moment per length", 0.011 * strength),
            place="underside, layer 1",
        ),
        Check(
            "anchorage",
            "ACI 318-19 25.4.2.4, 25.4.2.1",
            "ld = 3/40 fy / (lambda sqrt(f'c)) psi_s / ((cb + Ktr) / db) db, not less than 12 in",
            (
                Quantity("fy", fy, "stress"),
                Quantity("f'c", fc, "stress"),
                Quantity("psi_s", 0.8, "number"),
                Quantity("(cb + Ktr) / db", 2.5, "number"),
                Quantity("db", 0.1483 * INCH, "length"),
                Quantity("ld of the formula", ld, "length"),
            ),
            Quantity("ld", 12 * INCH, "length"),
        ),
        Check(
            "spacing",
            "ACI 318-19 7.7.2.3",
            "s <= min(3 h, 18 in)",
            (Quantity("h", 1.5 * INCH, "length"),),
            Quantity("s", 4.0 * INCH, "length"),
            "<=",
            Quantity("3 h", 4.5 * INCH, "length"),
        ),
        Check(
            "fit",
            "geometry",
            "t = c1 + n db + c2",
            (
                Quantity("c1", 0.625 * INCH, "length"),
                Quantity("n", 4, "number"),
                Quantity("db", 0.1483 * INCH, "length"),
                Quantity("c2", 0.625 * INCH, "length"),
            ),
            Quantity("t", 1.8432 * INCH, "length"),
            "<=",
            Quantity("h", 1.5 * INCH, "length"),
            ok=False,
            place="the code's cover, both faces",
            note="two layers near each face do not fit: thinner cover, or layers near one face only",
        ),
    )


def _runs(
    region: shapely.Polygon,
    face: Face,
    angle: float,
    apart: float,
    depth: float,
    letter: str,
    layer: int = 0,
    why: str = "pull",
) -> list[Run]:
    """Straight runs so far apart across a region."""
    x0, y0, x1, y1 = region.bounds
    middle, reach = np.array([(x0 + x1) / 2, (y0 + y1) / 2]), math.hypot(x1 - x0, y1 - y0)
    along, across = np.array([math.cos(angle), math.sin(angle)]), np.array([-math.sin(angle), math.cos(angle)])
    found: list[Run] = []
    for k in range(-int(reach / apart), int(reach / apart) + 1):
        ends = middle + k * apart * across + reach * np.array([[-1.0], [1.0]]) * along
        for part in shapely.get_parts(shapely.intersection(region, shapely.LineString(ends))):
            if part.length > 0.3:
                points = tuple((float(x), float(y)) for x, y in part.coords)
                told = "rail" if part.length < 0.7 and why == "pull" else why
                found.append(Run(f"{letter}{len(found) + 1}", face, points, depth, WIRE, layer, told))  # type: ignore[arg-type]
    return found


def _demand(analysis: Analysis) -> Demand:
    points = analysis.grid.points
    angles = np.asarray(np.arange(12) * (math.pi / 12), dtype=np.float64)
    needed: dict[Face, FloatArray] = {}
    for face in FACES:
        sign = -1.0 if face == "show" else 1.0
        moment = np.max([sign * np.asarray(one.moment) for one in analysis.stages if len(one.moment)], axis=0)
        c, s = np.cos(angles), np.sin(angles)
        turned = moment @ np.stack([c * c, s * s, 2 * s * c])
        needed[face] = np.where(turned > 40.0, 1.4 * turned, 0.0)
    governs = {face: np.where(one > 0, 1, 0).astype(np.int64) for face, one in needed.items()}
    return Demand(points, angles, needed, governs, ("use: 1.4 D", "use, rare: 1.2 D + 1.6 L"))


def _use(demand: Demand, face: Face) -> FloatArray:
    most = demand.needed[face].max(axis=1)
    return np.asarray(0.93 * most / max(float(most.max()), 1.0) + 0.0 * most)


def _binding(demand: Demand, use: dict[Face, FloatArray]) -> tuple[tuple[float, float], Face, float, str]:
    face: Face = max(FACES, key=lambda one: float(use[one].max()))
    k = int(np.argmax(use[face]))
    angle = float(demand.angles[int(np.argmax(demand.needed[face][k]))])
    return (float(demand.points[k, 0]), float(demand.points[k, 1])), face, angle, demand.names[1]


def _cuts(runs: list[Run]) -> tuple[Cut, ...]:
    lengths: dict[float, list[str]] = {}
    for run in runs:
        lengths.setdefault(round(run.length, 3), []).append(run.mark)
    return tuple(Cut(WIRE.name, one, len(marks), tuple(marks)) for one, marks in sorted(lengths.items(), reverse=True))


def _judged(given: tuple[Run, ...], weaker: Carried) -> Judgement:
    worth = tuple(
        RunWorth(run.mark, run.length, 0.15 * (k % 4), "nothing is owed along it") for k, run in enumerate(given)
    )
    low = Carried(0.41, {face: 2 * one for face, one in weaker.use.items()}, weaker.at, weaker.face, 0.0, weaker.stage)
    return Judgement(
        low, worth, ("G3",), (("G1", (0.65, 0.65)),), sum(run.length for run in given), ("it lies at mid-depth",)
    )


def _bendings(piece: Piece) -> tuple[Bending, ...]:
    verdicts: tuple[Verdict, ...] = ("bends", "not sure", "snaps", "no steel")
    ratios = ((1.1, 1.6), (0.7, 1.2), (0.4, 0.8), (0.0, 0.0))
    stages = piece.stages
    return tuple(
        Bending(stages[k % len(stages)].name, FACES[k % 2], (0.3, 0.2), 0.4 * k, *ratios[k], verdicts[k])
        for k in range(4)
    )
