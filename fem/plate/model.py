"""What is asked of the plate and what it answers: frozen records, SI, no mechanics.

Coordinates are those of the case: as seen looking at the show face. z runs from the show face to the underside, so
a positive moment pulls the underside whichever face looks up (contract: SIGNS). Deflections are positive with gravity.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import numpy.typing as npt

__all__ = [
    "Action",
    "AreaPlace",
    "EdgePlace",
    "Face",
    "LinePlace",
    "Load",
    "Peak",
    "PlateCase",
    "Point",
    "PointPlace",
    "Probe",
    "ProbeResult",
    "Stage",
    "StageResult",
    "Status",
    "Support",
    "SupportResult",
    "Tension",
    "Tipping",
]

FloatArray = npt.NDArray[np.float64]
Point = tuple[float, float]
Face = Literal["show", "underside"]
Action = Literal["rest", "hold", "clamp"]
Status = Literal["holds", "marginal", "cracks", "tips"]


@dataclass(frozen=True, slots=True)
class PointPlace:
    """A spot; size is the side of its square [m], 0 for a bare point."""

    at: Point
    size: float = 0.0


@dataclass(frozen=True, slots=True)
class LinePlace:
    """A chain of straight pieces through points (2 or more) [m]."""

    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class EdgePlace:
    """A stretch of a loop's true edge. loop 0 is the outline, k + 1 opening k.

    begin and end are distances along the loop [m], counter-clockwise, from the start of its first curve; end > begin
    and end - begin at most the loop's length (a stretch may pass the start).
    """

    loop: int
    begin: float
    end: float


@dataclass(frozen=True, slots=True)
class AreaPlace:
    """A polygon [m]; () stands for the whole slab."""

    points: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class Support:
    """What bears the slab; gap [m], + low.

    stiffness [N/m at a point, N/m2 along a line or edge, N/m3 on an area], inf if rigid.
    """

    name: str
    place: PointPlace | LinePlace | EdgePlace | AreaPlace
    action: Action
    gap: float = 0.0
    stiffness: float = np.inf


@dataclass(frozen=True, slots=True)
class Load:
    """What acts on the slab, positive with gravity.

    amount is a force [N] at a point, a force per length [N/m] on a line or edge, a pressure [Pa] on an area.
    moment is per length along an edge [N m/m], positive when it pulls the underside.
    """

    name: str
    place: PointPlace | LinePlace | EdgePlace | AreaPlace
    amount: float = 0.0
    moment: float = 0.0


@dataclass(frozen=True, slots=True)
class Probe:
    """A named spot where the answer is wanted."""

    name: str
    at: Point


@dataclass(frozen=True, slots=True)
class Stage:
    """One moment in the slab's life. modulus, cracking, allowed [Pa]; multiplier scales the own weight only."""

    name: str
    up: Face
    multiplier: float
    modulus: float
    cracking: float
    allowed: float
    supports: tuple[Support, ...]
    loads: tuple[Load, ...] = ()


@dataclass(frozen=True, slots=True)
class PlateCase:
    """Everything about the piece that does not change from stage to stage: thickness [m], density [kg/m3]."""

    thickness: float
    density: float
    poisson: float
    gravity: float = 9.80665


@dataclass(frozen=True, slots=True)
class Tension:
    """Principal tension at one spot of one face [Pa].

    tension, error and angle belong to the moment averaged over a disc of one thickness; local to the field itself
    (None where it has no bound). allowance is what thin-plate theory may miss at that spot, apart from the error bar.
    angle is the direction of the pull in degrees in [0, 180) from +x.
    """

    tension: float
    error: float
    angle: float
    local: float | None
    local_error: float | None = None
    allowance: float = 0.0


@dataclass(frozen=True, slots=True)
class Peak:
    """The worst place of one face: at [m] for the averaged tension, local_at [m] for the field's own, if bounded."""

    at: Point
    tension: Tension
    local_at: Point | None


@dataclass(frozen=True, slots=True)
class SupportResult:
    """What one support does: force [N], + up; moment [N m] about x and y, only for a clamp; lifted if it bears nothing.

    contact_share is the share of the support's length or area that bears.
    """

    index: int
    name: str
    force: float
    moment: Point | None
    lifted: bool
    contact_share: float


@dataclass(frozen=True, slots=True)
class ProbeResult:
    """The answer at a probe: w [m]; moment (mx, my, mxy) [N m/m] of the field itself, None where it has no bound."""

    name: str
    at: Point
    w: float | None
    moment: tuple[float, float, float] | None
    show: Tension | None
    underside: Tension | None
    why_null: str | None = None


@dataclass(frozen=True, slots=True)
class Tipping:
    """How a slab that cannot balance falls: the axis it turns about, the least force that holds it [N], and where."""

    axis: tuple[Point, Point]
    hold_down: float
    hold_down_at: Point


@dataclass(frozen=True, eq=False)
class StageResult:
    """The answer for one stage on the display grid (p points), SI.

    w (p,) [m]; moment (p, 3) [N m/m] averaged over one thickness, (mx, my, mxy); local_moment (p, 3) the field itself.
    use = peak tension / allowed, by face. The arrays are empty and the numbers None when the slab tips. notes are
    sentences for the reader: what was not sure, what was left out.
    """

    status: Status
    rocks: bool
    converged: bool
    w: FloatArray
    moment: FloatArray
    local_moment: FloatArray
    peaks: dict[Face, Peak] | None
    deflection: float | None
    deflection_error: float | None
    equilibrium_residual: float | None
    supports: tuple[SupportResult, ...]
    probes: tuple[ProbeResult, ...]
    tips: Tipping | None
    notes: tuple[str, ...] = field(default=())
