"""The plate's main line: a shape and its stages in, every stage's answer on one display grid out.

One mesh follows from the shape, the free plate is factorised once, and every support, load and stage is a few more
columns.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fem.plate.bearing import Bearing, bear
from fem.plate.footing import Footing, Site, runs
from fem.plate.footings import Footings, footings, solve_columns, stage_groups
from fem.plate.free_plate import FreePlate
from fem.plate.model import PlateCase, Probe, ProbeResult, Stage, StageResult, SupportResult
from fem.plate.reading import FACES, Places, Readings, peak_of, probe_result, readings, status_of
from fem.plate.sampling import Sampling, sampling
from fem.plate.spreads import given_back
from meshing.mesh import Mesh
from meshing.shape import Arc, Loop
from meshing.sizing import REENTRANT, narrow_places

__all__ = ["Analysis", "Grid", "analyse"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Grid:
    """Where the fields are given: points (p, 2) [m] and triangles (q, 3) between them, counter-clockwise."""

    points: FloatArray
    triangles: IntArray


@dataclass(frozen=True, eq=False)
class Analysis:
    """Mesh figures, the display grid, the slab's plain weight [N] and centre of gravity [m], one result a stage.

    narrow (k, 4): places narrower than three thicknesses (middle x, y, width [m], direction across [rad]), where
    thin-plate theory is at its limit. coarsened: the slab is so large for its thickness that the mesh had to be kept
    coarser than wanted.
    """

    mesh_nodes: int
    mesh_triangles: int
    smallest_angle: float
    coarsened: bool
    grid: Grid
    weight: float
    center_of_gravity: tuple[float, float]
    narrow: FloatArray
    stages: tuple[StageResult, ...]


def analyse(
    mesh: Mesh,
    plate: PlateCase,
    stages: Sequence[Stage],
    probes: Sequence[Probe] = (),
    step: Callable[[str], None] = lambda what: None,
) -> Analysis:
    """Solve every stage of one slab on one mesh with one factorisation; step is told in plain words what is done."""
    free = FreePlate(mesh, plate.thickness, plate.poisson)
    site = Site.of(mesh, plate.thickness)
    step("bending the free slab under every support and load")
    feet = footings(site, plate, stages)
    spots = np.concatenate([np.asarray([probe.at for probe in probes]).reshape(-1, 2), _spots(feet)])
    with ThreadPoolExecutor(1) as beside:
        # The reading points need the mesh alone; they are made while the other core solves.
        later = beside.submit(sampling, free.bell, plate.thickness / 2, site.region, spots)
        bearings = _bearings(free, site, feet, stages, step)
        sample = later.result()
    places = _places(mesh, plate.thickness, sample)
    step("reading the moments")
    results = _results(free, sample, places, feet, stages, bearings, probes)
    whole = free.bell.body_load @ free.rigid_motions
    return Analysis(
        len(mesh.nodes),
        len(mesh.triangles),
        mesh.smallest_angle,
        mesh.coarsened,
        Grid(sample.points[: sample.grid_size], sample.triangles),
        float(plate.density * plate.gravity * plate.thickness * whole[0]),
        (float(whole[1] / whole[0]), float(whole[2] / whole[0])),
        places.narrow,
        results,
    )


def _bearings(
    free: FreePlate, site: Site, feet: Footings, stages: Sequence[Stage], step: Callable[[str], None]
) -> list[Bearing]:
    rigid = free.rigid_motions
    x0, y0, x1, y1 = site.region.bounds
    length = float(np.hypot(x1 - x0, y1 - y0))
    rim = _rim(site.mesh.shape.outline)
    out = []
    for group in stage_groups(feet):
        columns = solve_columns(free, feet, group)
        for k in group:
            step(f"finding what bears: {stages[k].name}")
            out.append(bear(feet.supports[k], columns, k, stages[k], rigid, length, rim))
    return out


def _rim(outline: Loop) -> FloatArray:
    """Some forty places along the outline, corners among them, where somebody could press the slab down: (k, 2) [m]."""
    step = outline.length / 40
    pieces = []
    for curve in outline.curves:
        count = 2 * max(round(curve.length / step / 2), 1)
        pieces.append(curve.point(np.arange(count) / count))
    return np.concatenate(pieces)


def _spots(feet: Footings) -> FloatArray:
    """Where a peak may hide between the nodes of the mesh: along lines inside the slab and under its points."""
    touching = {id(foot): foot for stage in feet.supports for foot in stage}
    touching |= {id(foot): foot for stage in feet.pressing for foot, _ in stage}
    spots = [foot.spots for foot in touching.values() if foot.lines or foot.rounds]
    if not spots:
        return np.zeros((0, 2))
    return np.unique(np.concatenate(spots).round(7), axis=0)


def _places(mesh: Mesh, thickness: float, sample: Sampling) -> Places:
    radius = np.full(len(sample.points), np.inf)
    loops = mesh.shape.loops
    first = mesh.triangles[mesh.side_triangle, mesh.side_corner]
    second = mesh.triangles[mesh.side_triangle, (mesh.side_corner + 1) % 3]
    middle = sample.middle_of[mesh.side_triangle, mesh.side_corner]
    sharp = [corner for corner, inside in mesh.shape.corners if inside > REENTRANT]
    for number, loop in enumerate(loops):
        for index, curve in enumerate(loop.curves):
            # Only an edge that is hollow seen from the slab concentrates the pull.
            if isinstance(curve, Arc) and (curve.turn > 0) == (number > 0):
                on = (mesh.side_loop == number) & (mesh.side_curve == index)
                for at in (first, second, middle):
                    radius[at[on]] = curve.smallest_radius
    return Places(
        sample.points, radius, narrow_places(mesh.shape, 3 * thickness), np.asarray(sharp).reshape(-1, 2), thickness
    )


def _results(
    free: FreePlate,
    sample: Sampling,
    places: Places,
    feet: Footings,
    stages: Sequence[Stage],
    bearings: Sequence[Bearing],
    probes: Sequence[Probe],
) -> tuple[StageResult, ...]:
    standing = [k for k, bearing in enumerate(bearings) if bearing.contact is not None]
    fields = _fields(free, sample, feet, stages, bearings, standing)
    return tuple(
        _standing_result(sample, places, feet, k, stage, bearing, probes, fields[k])
        if bearing.contact is not None
        else _tipping_result(stage, bearing, probes)
        for k, (stage, bearing) in enumerate(zip(stages, bearings, strict=True))
    )


@dataclass(frozen=True, eq=False)
class _Fields:
    """One stage at the sample points as gravity sees it: w (p,), moments (p, 3); the same with coarser contacts."""

    w: FloatArray
    mean: FloatArray
    field: FloatArray
    jump: FloatArray
    coarse_w: FloatArray
    coarse_mean: FloatArray
    coarse_field: FloatArray


def _fields(
    free: FreePlate,
    sample: Sampling,
    feet: Footings,
    stages: Sequence[Stage],
    bearings: Sequence[Bearing],
    standing: Sequence[int],
) -> dict[int, _Fields]:
    if not standing:
        return {}
    u = np.stack([u for k in standing for u in (bearings[k].u, bearings[k].coarse_u)], axis=1)
    coefficients = free.bell.element_coefficients(u)
    w = sample.deflection(u, coefficients)
    kappa, jump = sample.curvature(u, coefficients)
    mean = sample.mean(coefficients)
    out = {}
    for j, k in enumerate(standing):
        D = stages[k].modulus * free.rigidity
        fine, coarse = 2 * j, 2 * j + 1
        radius = free.thickness / 2
        sharp = [
            _given_back(feet, k, force, sample.points, free.poisson, r)
            for force in (bearings[k].force, bearings[k].coarse_force)
            for r in (radius, 0.0)
        ]
        out[k] = _Fields(
            w[:, fine],
            mean[..., fine] @ D.T + sharp[0],
            kappa[..., fine] @ D.T + sharp[1],
            jump[..., fine] @ D.T,
            w[:, coarse],
            mean[..., coarse] @ D.T + sharp[2],
            kappa[..., coarse] @ D.T + sharp[3],
        )
    return out


def _given_back(
    feet: Footings, index: int, upward: FloatArray, points: FloatArray, nu: float, radius: float
) -> FloatArray:
    out = np.zeros((len(points), 3))
    supports = feet.supports[index]
    for foot, here in zip(supports, runs(supports), strict=True):
        out += given_back(foot, -upward[here], points, nu, radius)
    for foot, force in feet.pressing[index]:
        out += given_back(foot, force, points, nu, radius)
    return out


def _standing_result(
    sample: Sampling,
    places: Places,
    feet: Footings,
    index: int,
    stage: Stage,
    bearing: Bearing,
    probes: Sequence[Probe],
    fields: _Fields,
) -> StageResult:
    contact = bearing.contact
    assert contact is not None
    side = 1.0 if stage.up == "show" else -1.0
    touching = [*feet.supports[index], *(foot for foot, _ in feet.pressing[index])]
    singular = np.concatenate([np.zeros((0, 2)), *(foot.singular for foot in touching)])
    by_face: Readings = readings(
        places,
        side * fields.mean,
        side * fields.field,
        fields.jump,
        side * fields.coarse_mean,
        side * fields.coarse_field,
        singular,
        bearing.delicate,
    )
    peaks = {face: peak_of(places, by_face[face]) for face in FACES}
    grid = slice(0, sample.grid_size)
    farthest = int(np.argmax(np.abs(fields.w[grid])))
    notes = []
    if contact.rocks:
        notes.append("fewer than three separate supports bear: the forces are certain, how the piece lies is not")
    if bearing.delicate:
        notes.append("near tipping: it stands on a few spots, whose places the bars allow for")
    if feet.crowded[index]:
        notes.append("so many supports that their contacts were set farther apart than usual")
    if not contact.converged:
        notes.append("the supports' forces did not pass their own checks; do not rely on this stage")
    return StageResult(
        status_of(stage, peaks, contact.converged),
        contact.rocks,
        contact.converged,
        fields.w[grid],
        side * fields.mean[grid],
        side * fields.field[grid],
        peaks,
        float(np.abs(fields.w[farthest])),
        float(np.abs(fields.w - fields.coarse_w)[grid].max()) + 0.005 * float(np.abs(fields.w[farthest])),
        contact.residual,
        _support_results(feet.supports[index], stage, bearing),
        tuple(
            probe_result(
                places,
                by_face,
                probe,
                sample.grid_size + k,
                float(fields.w[sample.grid_size + k]),
                side * fields.field[sample.grid_size + k],
            )
            for k, probe in enumerate(probes)
        ),
        None,
        tuple(notes),
    )


def _support_results(supports: Sequence[Footing], stage: Stage, bearing: Bearing) -> tuple[SupportResult, ...]:
    return tuple(
        _support_result(
            number, support.name, support.action == "clamp", foot, bearing.force[here], bearing.motion[:, here]
        )
        for number, (support, foot, here) in enumerate(zip(stage.supports, supports, runs(supports), strict=True))
    )


def _support_result(
    index: int, name: str, clamp: bool, foot: Footing, force: FloatArray, motion: FloatArray
) -> SupportResult:
    """The moment of a clamp is about its own middle: first what lifts the side of greater y, then that of greater x."""
    total, about_x, about_y = motion @ force
    plain = ~foot.slope
    share = float(foot.share[plain & (force != 0.0)].sum())
    moment = None
    if clamp:
        middle = foot.spots[plain].mean(axis=0)
        moment = (float(about_y - total * middle[1]), float(about_x - total * middle[0]))
    lifted = not np.any(force[plain] != 0.0)
    return SupportResult(index, name, float(total), moment, lifted, min(share, 1.0))


def _tipping_result(stage: Stage, bearing: Bearing, probes: Sequence[Probe]) -> StageResult:
    none = np.zeros(0)
    why = "the slab tips in this stage"
    notes = (
        ("nothing that only pushes down holds the slab here: it falls or lifts off its supports",)
        if bearing.tips is None
        else ()
    )
    return StageResult(
        "tips",
        False,
        True,
        none,
        np.zeros((0, 3)),
        np.zeros((0, 3)),
        None,
        None,
        None,
        None,
        tuple(SupportResult(k, support.name, 0.0, None, True, 0.0) for k, support in enumerate(stage.supports)),
        tuple(ProbeResult(probe.name, probe.at, None, None, None, None, why) for probe in probes),
        bearing.tips,
        notes,
    )
