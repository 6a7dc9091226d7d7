"""From fields to the answer: the worst place of each face with its error bar, the supports, the probes, the verdict."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fem.plate.allowance import round_edge_factor, twist_factor
from fem.plate.model import Face, Peak, Probe, ProbeResult, Stage, Status, Tension
from fem.plate.principal import face_stress, principal_tension

__all__ = [
    "FACES",
    "FaceReading",
    "InPlane",
    "Places",
    "Readings",
    "face_tension",
    "peak_of",
    "probe_result",
    "readings",
    "status_of",
]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

FACES: tuple[Face, Face] = ("show", "underside")

# Calibrated on fine solutions of the shapes in tests/bench_error_bars.py; the figures are in DEVELOPERS.md.
_OF_JUMP = 1.0
_OF_CONTACTS = 3.0
_OF_TENSION = 0.01
_LOCAL_OF_JUMP = 2.0
_LOCAL_OF_CONTACTS = 4.0
_LOCAL_OF_TENSION = 0.015
# Within two thicknesses of a spot without a bound the field is steep, and its peak there is where sampling puts it.
_LOCAL_NEAR_ENDLESS = 0.12
_OF_DELICATE = 0.05
# Within two thicknesses of a step of the depth (measured: 0.5 % where the mesh follows it, 3 % where it cannot).
_NEAR_STEP = 0.03


@dataclass(frozen=True, eq=False)
class Places:
    """What the shape alone says of the sample points.

    points (p, 2) [m]; edge_radius (p,) [m] of the round edge a point lies on, inf elsewhere; narrow (k, 4) narrow
    places (middle, width, direction across); sharp (j, 2) [m] re-entrant corners without a radius; depth (p,) [m] that
    counts for the stress; step (p,) [m] how far the nearest step of the depth is, inf without one.
    """

    points: FloatArray
    edge_radius: FloatArray
    narrow: FloatArray
    sharp: FloatArray
    thickness: float
    depth: FloatArray
    step: FloatArray


@dataclass(frozen=True, eq=False)
class InPlane:
    """Stress in the slab's own plane at the sample points [Pa]: mean and local (p, 3), error (p,)."""

    mean: FloatArray
    local: FloatArray
    error: FloatArray


@dataclass(frozen=True, eq=False)
class FaceReading:
    """One face of one stage at the sample points (p,): tension and its error [Pa], direction [degrees]; local ones."""

    tension: FloatArray
    error: FloatArray
    angle: FloatArray
    local: FloatArray
    local_error: FloatArray
    bounded: BoolArray
    sought: BoolArray
    moment: FloatArray


Readings = dict[Face, FaceReading]


def readings(
    places: Places,
    mean: FloatArray,
    field: FloatArray,
    jump: FloatArray,
    coarse: FloatArray,
    coarse_field: FloatArray,
    singular: FloatArray,
    delicate: bool = False,
    in_plane: InPlane | None = None,
) -> Readings:
    """Both faces from averaged moments mean (p, 3), the field (p, 3) and its jumps (p, 3).

    coarse and coarse_field (p, 3) are the same with coarser contacts.
    delicate: the contacts could not be halved, so that their part of the bar is a share of the tension instead.
    singular (j, 2) [m]: where the supports and loads of the stage leave no bound on the field.
    """
    t = places.thickness
    scale = 6 / places.depth**2
    spread = scale * _size(jump)
    coarse_change = scale * _size(mean - coarse)
    field_change = scale * _size(field - coarse_field)
    endless = np.concatenate([places.sharp, singular])
    # Beside a spot without a bound the field only falls: its own peak is sought farther off than it is told.
    bounded, sought, calm = np.ones((3, len(places.points)), dtype=bool)
    # Beside a step the field itself leaps, and what the elements make of it is worthless.
    bounded &= places.step > 0.5 * t
    sought &= places.step > t
    calm &= places.step > 2 * t
    for spot in endless:
        away = np.hypot(*(places.points - spot).T)
        bounded &= away > 0.5 * t
        sought &= away > t
        calm &= away > 2 * t
    more = (_OF_DELICATE if delicate else 0.0) + np.where(places.step < 2 * t, _NEAR_STEP, 0.0)
    flat = np.zeros(len(places.points)) if in_plane is None else in_plane.error
    out: Readings = {}
    for face in FACES:
        tension, angle = face_tension(places, mean, face, None if in_plane is None else in_plane.mean)
        local, _ = face_tension(places, field, face, None if in_plane is None else in_plane.local)
        out[face] = FaceReading(
            tension,
            _OF_JUMP * spread + _OF_CONTACTS * coarse_change + (_OF_TENSION + more) * np.abs(tension) + flat,
            angle,
            local,
            _LOCAL_OF_JUMP * spread
            + _LOCAL_OF_CONTACTS * field_change
            + np.where(calm, _LOCAL_OF_TENSION, _LOCAL_NEAR_ENDLESS) * np.abs(local)
            + more * np.abs(local)
            + flat,
            bounded,
            sought,
            mean,
        )
    return out


def face_tension(
    places: Places, moment: FloatArray, face: Face, in_plane: FloatArray | None = None
) -> tuple[FloatArray, FloatArray]:
    """Principal tension [Pa] and its direction [degrees] at the sample points, (p,) each.

    moment (p, 3) [N m/m] and the stress in the plane (p, 3) [Pa].
    """
    stress = face_stress(moment, 1.0, face) / places.depth[:, None] ** 2
    return principal_tension(stress if in_plane is None else stress + in_plane)


def peak_of(places: Places, reading: FaceReading) -> Peak:
    """The worst place of a face; where nothing is pulled, a tension of nothing."""
    k = int(np.argmax(reading.tension))
    inside = np.where(reading.sought, reading.local, -np.inf)
    j = int(np.argmax(inside))
    known = bool(np.isfinite(inside[j]))
    tension = Tension(
        max(float(reading.tension[k]), 0.0),
        float(reading.error[k]),
        float(reading.angle[k]),
        max(float(inside[j]), 0.0) if known else None,
        float(reading.local_error[j]) if known else None,
        _allowance(places, reading, k, j if known else None),
    )
    return Peak(_at(places.points[k]), tension, _at(places.points[j]) if known else None)


def probe_result(
    places: Places, by_face: Readings, probe: Probe, index: int, w: float, field: FloatArray
) -> ProbeResult:
    """The answer at sample point index, where the probe is; field (3,) [N m/m] is the moment there, underside +."""
    bounded = bool(by_face["show"].bounded[index])
    faces = {
        face: Tension(
            float(reading.tension[index]),
            float(reading.error[index]),
            float(reading.angle[index]),
            float(reading.local[index]) if bounded else None,
            float(reading.local_error[index]) if bounded else None,
            _allowance(places, reading, index, index if bounded else None),
        )
        for face, reading in by_face.items()
    }
    why = None if bounded else "the field has no bound within half a thickness of this spot; the averaged tension holds"
    moment = (float(field[0]), float(field[1]), float(field[2])) if bounded else None
    return ProbeResult(probe.name, probe.at, w, moment, faces["show"], faces["underside"], why)


def status_of(stage: Stage, peaks: dict[Face, Peak], converged: bool) -> Status:
    """holds, marginal or cracks; a local peak above the cracking strength or a failed check makes it marginal."""
    cracks = any(p.tension.tension - p.tension.error > stage.cracking for p in peaks.values())
    if cracks:
        return "cracks"
    within = all(p.tension.tension + p.tension.error <= stage.allowed for p in peaks.values())
    hairline = any((p.tension.local or 0.0) + p.tension.allowance > stage.cracking for p in peaks.values())
    return "holds" if within and not hairline and converged else "marginal"


def _allowance(places: Places, reading: FaceReading, at: int, local_at: int | None) -> float:
    """The larger of what a small round edge adds to the local peak and a narrow rail's twist to the averaged one."""
    t = places.thickness
    local = 0.0
    if local_at is not None and np.isfinite(places.edge_radius[local_at]):
        factor = float(round_edge_factor(places.edge_radius[local_at], t))
        local = (factor - 1) * max(float(reading.local[local_at]), 0.0)
    return max(local, _twist_allowance(places, reading, at))


def _twist_allowance(places: Places, reading: FaceReading, at: int) -> float:
    t = places.thickness
    if not len(places.narrow):
        return 0.0
    away = np.hypot(*(places.narrow[:, :2] - places.points[at]).T)
    near = int(np.argmin(away - places.narrow[:, 2] / 2))
    width, direction = places.narrow[near, 2:]
    if away[near] > width / 2 + t / 2 or width >= 3 * t:
        return 0.0
    mx, my, mxy = reading.moment[at]
    c, s = np.cos(direction), np.sin(direction)
    twist = abs((my - mx) * s * c + mxy * (c * c - s * s))
    return float((twist_factor(width, t) - 1) * 6 / t**2 * twist)


def _size(moment: FloatArray) -> FloatArray:
    """Largest principal value in size, (p,), of moments (p, 3)."""
    half = (moment[:, 0] - moment[:, 1]) / 2
    return np.asarray(np.abs((moment[:, 0] + moment[:, 1]) / 2) + np.hypot(half, moment[:, 2]))


def _at(xy: FloatArray) -> tuple[float, float]:
    return float(xy[0]), float(xy[1])
