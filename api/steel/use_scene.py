"""What the map of demand over strength shows, as a plain record: one face of a layout of steel once it has cracked.

It is a map of its own. The tension map says where the slab would crack, and no steel changes that.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import shapely
from scipy.spatial import Delaunay, cKDTree

from api.figures import Units, length_words, number_words
from api.map_ink import resample
from api.map_marks import WorstMark, loops_of, size_words
from api.map_scene import Scene, opening_names, places_of
from api.map_words import capital, cautions_of, face_title
from api.units import LENGTH, in_words
from fem.steel.model import Carried, Face, Run

if TYPE_CHECKING:
    from api.case import Case
    from api.steel.found import SteelFound
    from api.translate import Piece

__all__ = ["NOT_TENSION", "RunMark", "UseScene", "use_scene", "use_words"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

NOT_TENSION = (
    "After cracking: this is not the tension map, and a pale colour here does not mean that the slab will not crack."
)
COVERED = 0.995
"""Share of the face that triangles between the points must cover before the edge is added."""
MOST_STAGES = 16


@dataclass(frozen=True, eq=False, slots=True)
class RunMark:
    """A run on the map: points (k, 2) [m]; near: it lies near the face that is shown."""

    points: FloatArray
    near: bool


@dataclass(frozen=True, eq=False, slots=True)
class UseScene:
    """One map of demand over strength: page is what every map has at its head and foot, and the slab's edges.

    use (p,) at points (p, 2) [m], on triangles: the largest demand / strength over all directions, 0 where nothing is
    owed, inf where something is owed and nothing carries it. carried: everywhere on both faces. pull [rad] is the
    direction at the worst place, None where it is not known; lines are words below the drawing, stages those beside.
    far: whether runs count for the face that they do not lie near.
    """

    page: Scene
    use: FloatArray
    carried: bool
    runs: tuple[RunMark, ...]
    pull: float | None
    lines: tuple[str, ...]
    stages: tuple[str, ...]
    far: bool = True


def use_scene(case: Case, piece: Piece, found: SteelFound, face: Face) -> UseScene:
    """The map of one face: of the plan, or of the case's own layout where there is none.

    ValueError if there is neither.
    """
    carried, runs, name = _layout(found)
    loops, region = loops_of(piece.shape), piece.shape.region()
    points, use = found.demand.points, carried.use[face]
    points, triangles, source = _triangles(points, region, loops)
    use = use[source]
    at, pull = _worst(carried, face, points, use)
    units, places = case.units, places_of(case, piece)
    most = float(use.max(initial=0.0))
    worst = None if at is None else WorstMark(at, 0.0, use_words(most), at, None, False)
    where = "" if at is None else f", {places.of(at)}"
    page = Scene(
        title=case.title,
        stage="After cracking: demand over strength of the steel",
        number=f"{_count(len(found.demand.names))} factored",
        age="not the tension map",
        face=face_title(face),
        look=_look_words(face),
        size=size_words(loops[0], piece.plate.thickness, units),
        units=units,
        status="holds" if carried.factor >= 1 else "cracks",
        verdict=_verdict(name, carried),
        here=(f"{capital(use_words(most))}{where}." if most > 0 else "Nothing is owed on this face.",),
        allowed=0.0,
        cracking=0.0,
        points=points,
        triangles=triangles,
        share=np.zeros(0),
        loops=loops,
        openings=opening_names(case),
        supports=(),
        loads=(),
        gravity_away=True,
        paths=(),
        worst=worst,
        tips=None,
        notes=tuple(capital(note) for note in found.notes),
        assumed=_assumed(found, units),
        cautions=(NOT_TENSION, *cautions_of(case)),
        shown=f"Shown: {name}, {len(runs)} runs",
    )
    return UseScene(
        page=page,
        use=use,
        carried=carried.factor >= 1,
        runs=tuple(RunMark(np.asarray(run.points), run.face == face) for run in runs),
        pull=pull,
        lines=_run_lines(runs, face, units),
        stages=_stage_lines(found.demand.names),
        far=found.plan is None or found.plan.far,
    )


def use_words(use: float) -> str:
    """A demand over strength in words.

    >>> use_words(0.931), use_words(1.07), use_words(math.inf), use_words(1.002)
    ('93 % of strength', '107 % of strength', 'owed, and nothing carries it', '101 % of strength')
    """
    if math.isinf(use):
        return "owed, and nothing carries it"
    # Rounded to the side on which it fails, so that what is not carried never reads as carried.
    percent = math.ceil(100 * use - 1e-9) if use > 1 else math.floor(100 * use + 0.5)
    return f"{percent} % of strength"


def _layout(found: SteelFound) -> tuple[Carried, tuple[Run, ...], str]:
    if found.plan is not None:
        return found.plan.carried, found.plan.runs, f"the plan in {found.steel.name}"
    if found.judged is not None:
        return found.judged.carried, found.given, "the layout of the case"
    raise ValueError("there is no layout of steel to draw a map of")


def _triangles(
    points: FloatArray, region: shapely.Polygon, loops: Sequence[FloatArray]
) -> tuple[FloatArray, IntArray, IntArray]:
    """Points and triangles between them that cover the slab, and whose value each point has.

    Points that leave the edge bare get company on the edge, which takes the value of the nearest.
    """
    source = np.arange(len(points))
    triangles = _inside(points, region)
    if _area(points, triangles) < COVERED * region.area:
        step = float(np.median(np.asarray(cKDTree(points).query(points, k=2)[0])[:, 1]))
        edge = np.concatenate([resample(np.vstack([loop, loop[:1]]), step)[:-1] for loop in loops])
        near, nearest = (np.asarray(found) for found in cKDTree(points).query(edge))
        edge, nearest = edge[near > 0.1 * step], nearest[near > 0.1 * step]
        points, source = np.concatenate([points, edge]), np.concatenate([source, nearest])
        triangles = _inside(points, region)
    return points, triangles, np.asarray(source, dtype=np.int64)


def _inside(points: FloatArray, region: shapely.Polygon) -> IntArray:
    """Delaunay's triangles whose middles lie in the slab."""
    triangles = np.asarray(Delaunay(points).simplices, dtype=np.int64)
    middles = points[triangles].mean(axis=1)
    return np.asarray(triangles[shapely.contains_xy(region, middles[:, 0], middles[:, 1])])


def _area(points: FloatArray, triangles: IntArray) -> float:
    a, b, c = (points[triangles[:, k]] for k in range(3))
    return float(np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]).sum() / 2)


def _worst(
    carried: Carried, face: Face, points: FloatArray, use: FloatArray
) -> tuple[tuple[float, float] | None, float | None]:
    """The worst place of the face, and the pull's direction there where the layout binds at it."""
    if not len(use) or use.max() <= 0:
        return None, None
    if carried.face == face and carried.at is not None:
        return carried.at, carried.angle
    x, y = points[int(np.argmax(use))].tolist()
    return (x, y), None


def _verdict(name: str, carried: Carried) -> tuple[str, ...]:
    if carried.factor >= 1:
        times = "without bound" if math.isinf(carried.factor) else f"{math.floor(100 * carried.factor) / 100:.2f} times"
        first = f"{capital(name)} carries what is owed {times}."
    elif carried.factor <= 0:
        first = f"{capital(name)} leaves some place without steel where it is owed."
    else:
        first = f"{capital(name)} carries {math.floor(100 * carried.factor)} % of what is owed."
    binds = () if carried.face is None else (f"It binds on the {face_title(carried.face).lower()}: {carried.stage}.",)
    return first, *binds


def _look_words(face: Face) -> str:
    look = "drawn as you look at it" if face == "show" else "drawn as seen from the show face, through the slab"
    return f"{look}; the largest over all directions and all factored stages"


def _run_lines(runs: Sequence[Run], face: Face, units: Units) -> tuple[str, ...]:
    """The runs near the face by direction and layer."""
    groups: dict[tuple[int, int], list[Run]] = {}
    for run in runs:
        if run.face == face:
            (x0, y0), (x1, y1) = run.points[0], run.points[-1]
            straight = len(run.points) == 2
            degrees = round(math.degrees(math.atan2(y1 - y0, x1 - x0) % math.pi)) % 180 if straight else -1
            groups.setdefault((run.layer, degrees), []).append(run)
    lines = [
        f"layer {layer + 1}, {'bent' if degrees < 0 else f'along {degrees}°'}: {len(group)} of {group[0].steel.name}, "
        f"axis {length_words(group[0].depth, units)} from the show face"
        for (layer, degrees), group in sorted(groups.items())
    ]
    return tuple(lines) or ("none",)


def _stage_lines(names: Sequence[str]) -> tuple[str, ...]:
    if len(names) <= MOST_STAGES:
        return tuple(map(capital, names))
    return (*map(capital, names[: MOST_STAGES - 1]), f"and {len(names) - MOST_STAGES + 1} more: see the report")


def _assumed(found: SteelFound, units: Units) -> tuple[str, ...]:
    covers = found.covers
    show, underside, edge = (in_words(one, LENGTH, units, 4) for one in (covers.show, covers.underside, covers.edge))
    return (
        f"{found.code}; cover {show} to the show face, {underside} to the underside, {edge} to edges",
        "Elastic moments in balance with the factored loads: a lower bound, if the steel yields before it snaps",
    )


def _count(number: int) -> str:
    return "1 stage" if number == 1 else f"{number_words(number)} stages"
