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
    "HAND_STIFFNESS",
    "Action",
    "AreaPlace",
    "Bow",
    "DepthRegion",
    "EdgePlace",
    "Edgewise",
    "Face",
    "LevelLimit",
    "LinePlace",
    "Load",
    "Peak",
    "PlateCase",
    "Point",
    "PointPlace",
    "Probe",
    "ProbeResult",
    "Roaming",
    "Stage",
    "StageResult",
    "Status",
    "Support",
    "SupportResult",
    "Tension",
    "Tipping",
    "Variation",
    "Walk",
    "Worst",
]

#: Stiffness of a hand [N/m]: people are no rigid pins; what they give by is no deflection of the slab. Common
#: practice, no source.
HAND_STIFFNESS = 10e3

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

    stiffness [N/m at a point, N/m2 along a line or edge, N/m3 on an area], inf if rigid. face: whether it bears on
    the face at all; one that only carries the lower edge of a piece on edge does not.
    """

    name: str
    place: PointPlace | LinePlace | EdgePlace | AreaPlace
    action: Action
    gap: float = 0.0
    stiffness: float = np.inf
    face: bool = True


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
class Bow:
    """A curvature that the free slab would take on by drying or warmth [1/m], alike in every direction.

    positive where the underside would be the longer face; held flat, the underside is then pressed. place: the part
    of the slab that bows.
    """

    name: str
    curvature: float
    place: AreaPlace = AreaPlace()


@dataclass(frozen=True, slots=True)
class Roaming:
    """A load that may stand at any one place of its regions at a time: amount [N] on a square of side size [m].

    regions are polygons of points [m] ((),) for the whole slab; never holds polygons where it does not go; spots are
    places that are tried whatever the spacing.
    """

    name: str
    amount: float
    size: float
    regions: tuple[tuple[Point, ...], ...] = ((),)
    never: tuple[tuple[Point, ...], ...] = ()
    spots: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class Edgewise:
    """The part of the own weight that acts in the slab's plane: down (unit vector), multiplier times the weight.

    bearing: the supports, by index in the stage, on which the lower edge stands.
    """

    down: Point
    multiplier: float
    bearing: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Variation:
    """Another way the same stage may come, told by its name: what is None is as in the stage.

    supports and edgewise stand in place of the stage's; loads act besides the stage's own; multiplier scales the own
    weight across the face.
    """

    name: str
    supports: tuple[Support, ...] | None = None
    loads: tuple[Load, ...] = ()
    multiplier: float | None = None
    edgewise: Edgewise | None = None


@dataclass(frozen=True, slots=True)
class Stage:
    """One moment in the slab's life. modulus, cracking, allowed [Pa]; multiplier scales the own weight only.

    multiplier is the part across the face, edgewise the part in the plane. form_pull [Pa] clings to the slab: weight
    and pull then press together with the larger of weight + form_pull and multiplier times the weight. Every
    variation and every place of every roaming load is solved by itself; the stage answers for the worst. levels asks
    how far every support may be out of level.
    """

    name: str
    up: Face
    multiplier: float
    modulus: float
    cracking: float
    allowed: float
    supports: tuple[Support, ...]
    loads: tuple[Load, ...] = ()
    form_pull: float = 0.0
    bows: tuple[Bow, ...] = ()
    edgewise: Edgewise | None = None
    roaming: tuple[Roaming, ...] = ()
    variations: tuple[Variation, ...] = ()
    levels: bool = False


@dataclass(frozen=True, slots=True)
class DepthRegion:
    """A part of the slab with its own depth [m]: a polygon of points [m], holes none."""

    points: tuple[Point, ...]
    depth: float


@dataclass(frozen=True, slots=True)
class PlateCase:
    """Everything about the piece that does not change from stage to stage: thickness [m], density [kg/m3].

    thickness counts for stiffness and stress, weight_thickness (None: the same) for the weight; regions have depths
    of their own.
    """

    thickness: float
    density: float
    poisson: float
    gravity: float = 9.80665
    weight_thickness: float | None = None
    regions: tuple[DepthRegion, ...] = ()

    @property
    def heavy_thickness(self) -> float:
        """The thickness that weighs [m]."""
        return self.thickness if self.weight_thickness is None else self.weight_thickness

    @property
    def weight_per_area(self) -> float:
        """Own weight of the slab at full depth [Pa]."""
        return self.density * self.gravity * self.heavy_thickness


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

    contact_share is the share of the support's length or area that bears; edgewise [N] what it carries of a slab that
    stands on its lower edge or leans, pushing up in the slab's plane.
    """

    index: int
    name: str
    force: float
    moment: Point | None
    lifted: bool
    contact_share: float
    edgewise: float = 0.0


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
    """How a slab that cannot balance falls: the axis it turns about, the least force that holds it [N], and where.

    variation and at name the state that falls ("" for the stage as it stands; at [m] for a roaming load); least_load
    [N] is the smallest roaming load that tips the slab anywhere it may stand, if that is what tips it.
    """

    axis: tuple[Point, Point]
    hold_down: float
    hold_down_at: Point
    variation: str = ""
    at: Point | None = None
    least_load: float | None = None


@dataclass(frozen=True, slots=True)
class LevelLimit:
    """How far one support may be out of level before some face passes the allowed tension [m].

    None where it may be so as far as was looked: why then says it. high and low are counted from the gap the stage
    gives; 0 where the stage as it stands is beyond the allowed.
    """

    index: int
    name: str
    high: float | None
    low: float | None
    high_face: Face | None = None
    low_face: Face | None = None
    why_high: str = ""
    why_low: str = ""


@dataclass(frozen=True, eq=False)
class Worst:
    """The state of a stage that governs one face, on the display grid (p points).

    variation names it, "" for the stage as it stands; at [m] is where the roaming load of that name then is, or None.
    w (p,) [m]; moment, local_moment (p, 3) [N m/m]; membrane (p, 3) [Pa] the stress in the plane, (sx, sy, sxy), or
    None; supports are those of that state.
    """

    variation: str
    at: Point | None
    w: FloatArray
    moment: FloatArray
    local_moment: FloatArray
    membrane: FloatArray | None
    supports: tuple[SupportResult, ...]


@dataclass(frozen=True, eq=False)
class Walk:
    """A roaming load at every place that was tried.

    at (k, 2) [m]; tension (k, 2) [Pa], the worst of show face and underside with the load there, nan where the slab
    tips; change [Pa] is what the last, denser places added to the worst of all.
    """

    name: str
    at: FloatArray
    tension: FloatArray
    change: float


@dataclass(frozen=True, eq=False)
class StageResult:
    """The answer for one stage on the display grid (p points), SI.

    w (p,) [m]; moment (p, 3) [N m/m] averaged over one thickness, (mx, my, mxy); local_moment (p, 3) the field itself.
    use = peak tension / allowed, by face. The arrays are empty and the numbers None when the slab tips. notes are
    sentences for the reader: what was not sure, what was left out. w, moment, local_moment, supports, probes are those
    of the stage as it stands; worst[face] is the state that governs a face (the same one where nothing varies), which
    peaks tell of; envelope[face] (p,) [Pa] is the largest tension at every point over all states; walks the roaming
    loads.
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
    worst: dict[Face, Worst] = field(default_factory=dict)
    envelope: dict[Face, FloatArray] = field(default_factory=dict)
    walks: tuple[Walk, ...] = ()
    levels: tuple[LevelLimit, ...] = ()
