"""What is laid into the slab and what is found about it: frozen records, SI, no mechanics.

Depths are measured from the show face to the axis of a wire, whichever face it lies near. Moments are positive where
they pull the face that is spoken of.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

__all__ = [
    "Bending",
    "Carried",
    "Check",
    "Code",
    "Concrete",
    "Covers",
    "Cut",
    "Demand",
    "Face",
    "Judgement",
    "Kind",
    "Mat",
    "Measure",
    "Plan",
    "Point",
    "Quantity",
    "Remedy",
    "Rules",
    "Run",
    "RunWorth",
    "Steel",
    "Verdict",
    "Why",
]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
Point = tuple[float, float]
Face = Literal["show", "underside"]
Kind = Literal["wire", "ladder", "mesh", "bar", "grid"]
Code = Literal["ACI 318-19", "EN 1992-1-1"]
Why = Literal["pull", "rail", "overhang", "given"]
Verdict = Literal["bends", "snaps", "not sure", "no steel"]
Measure = Literal[
    "length", "area", "area per length", "stress", "force", "moment", "moment per length", "number", "angle"
]


@dataclass(frozen=True, slots=True)
class Steel:
    """One kind of reinforcement as it is laid: wires side by side, alike, that run along together.

    diameter [m] and area [m2] of one wire (area of a strand for a grid); outside [m] the depth one layer of it takes,
    ribs and welded crosswires included. yield_strength, ultimate_strength, modulus [Pa]. brittle: it snaps at
    ultimate_strength without yielding; factor is then the environmental one on strength and strain, and tested says
    whether its bond was pulled in a test (one only knotted through its coating counts nothing until then). width [m]
    out to out of a strip; cross_pitch [m] between crosswires of cross_area [m2], weld [N] what one crossing holds (0:
    no crosswires). stock [m] is the length it is sold in, mass [kg/m] of the whole strip.
    """

    name: str
    kind: Kind
    diameter: float
    outside: float
    area: float
    yield_strength: float
    ultimate_strength: float
    modulus: float
    deformed: bool = True
    brittle: bool = False
    factor: float = 1.0
    tested: bool = True
    wires: int = 1
    width: float = 0.0
    cross_pitch: float = 0.0
    cross_area: float = 0.0
    weld: float = 0.0
    stock: float = 3.048
    mass: float = 0.0
    source: str = ""


@dataclass(frozen=True, slots=True)
class Covers:
    """Clear cover [m] of the outermost layer to show face and underside, and of every run to an edge or an opening."""

    show: float
    underside: float
    edge: float
    opening: float


@dataclass(frozen=True, slots=True)
class Concrete:
    """What a cracked section knows of its concrete at one age: [Pa]; aggregate: largest grain [m].

    compressive is the specified (ACI) or characteristic (EN) strength, cracking the low-side modulus of rupture, high
    its upper bound, modulus Young's.
    """

    compressive: float
    cracking: float
    high: float
    modulus: float
    aggregate: float = 0.0095


@dataclass(frozen=True, slots=True)
class Rules:
    """How runs may be laid. pitch [m]: runs lie on lines so far apart, and no closer; most [m]: widest spacing.

    directions [rad] in [0, pi) are those that may be used; at most most_directions of them a face. placing [m] is how
    far a wire may sit from where it belongs. lap [m] of two pieces where a run is longer than the stock; anchorage [m]
    the length over which an end builds up its full pull. least_length [m] of a run worth laying.
    """

    pitch: float
    most: float
    directions: tuple[float, ...]
    placing: float
    anchorage: float
    lap: float
    most_directions: int = 3
    least_length: float = 0.15


@dataclass(frozen=True, slots=True)
class Run:
    """One run through points (2 if straight, more where it is bent) [m]; depth [m] of its axis from the show face.

    face is the one it lies near and serves; layer counts from that face, 0 outermost.
    """

    mark: str
    face: Face
    points: tuple[Point, ...]
    depth: float
    steel: Steel
    layer: int = 0
    why: Why = "pull"

    @property
    def length(self) -> float:
        """Length along its points [m]."""
        return float(np.hypot(*np.diff(np.asarray(self.points), axis=0).T).sum())


@dataclass(frozen=True, eq=False)
class Demand:
    """Strength owed at points (q, 2) [m] across every direction: needed[face] (q, a) [N m/m] at angles (a,) [rad].

    The angle is that of the pull, in [0, pi) from +x. governs[face] (q, a) is the number of the factored stage that
    asks for it, and names tells these stages. needed is 0 where nothing is owed. notes are sentences for the reader:
    stages that tip, and what stands in for them.
    """

    points: FloatArray
    angles: FloatArray
    needed: dict[Face, FloatArray]
    governs: dict[Face, IntArray]
    names: tuple[str, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Carried:
    """A layout against a demand: factor, the least strength / demand over all points and directions of both faces.

    use[face] (q,) is the largest demand / strength over directions at each point of the demand (0 where nothing is
    owed, inf where something is owed and nothing carries it). at [m], face, angle [rad] and stage tell the place that
    binds.
    """

    factor: float
    use: dict[Face, FloatArray]
    at: Point | None
    face: Face | None
    angle: float | None
    stage: str

    def share(self, face: Face) -> float | None:
        """Of the points of a face where something is owed, the share where all of it is carried; None: nothing owed."""
        owed = self.use[face][self.use[face] > 0]
        return float((owed <= 1 + 1e-9).mean()) if len(owed) else None


@dataclass(frozen=True, slots=True)
class Cut:
    """One line of the cut list: count pieces of one length [m], marks of the runs they belong to."""

    steel: str
    length: float
    count: int
    marks: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Mat:
    """The best uniform two-way mat of the same wire: spacing[face] of its two directions [m] (inf: none), its runs."""

    spacing: dict[Face, tuple[float, float]]
    runs: tuple[Run, ...]
    length: float
    carried: Carried


@dataclass(frozen=True, slots=True)
class Remedy:
    """One change that would do where no plan fits: what, to which value, and the factor all runs together then carry.

    value [m] of thickness, of the wire's diameter, of spacing; of cover the share that all covers shrink to.
    """

    what: Literal["thickness", "diameter", "spacing", "cover"]
    value: float
    factor: float


@dataclass(frozen=True, eq=False)
class Plan:
    """Straight runs that carry the demand. length [m] laid in all, bound [m] no plan of this integer model beats.

    carried tells the load factor (a lower bound by equilibrium); mat the uniform mat it is compared with, or None where
    none is strong enough; failures, where nothing fits, say why and what would. notes are sentences for the reader.
    without_diagonals [m]: the length of the best plan that has none, or None where it was not asked for; inf where none
    carries it. with_diagonals [m], where this plan has none: a bound that no plan with some beats, and
    found_with_diagonals [m] the shortest of those that was found, inf if none carries it. remedies: what would do where
    failures say that nothing fits. far: whether it relies on what runs give the face that they do not lie near, and
    carried counts that; factor_of_all: the load factor if all of it is counted, as in a layout that is judged.
    """

    runs: tuple[Run, ...]
    length: float
    bound: float
    carried: Carried
    mat: Mat | None
    cuts: tuple[Cut, ...]
    stock_pieces: int
    waste: float
    notes: tuple[str, ...] = ()
    failures: tuple[str, ...] = ()
    without_diagonals: float | None = None
    with_diagonals: float | None = None
    found_with_diagonals: float | None = None
    remedies: tuple[Remedy, ...] = ()
    far: bool = True
    factor_of_all: float | None = None


@dataclass(frozen=True, slots=True)
class RunWorth:
    """What one run of a given layout is worth: nothing [share] of it does nothing, and why."""

    mark: str
    length: float
    idle: float
    why: str


@dataclass(frozen=True, eq=False)
class Judgement:
    """A given layout: what it carries, what each run is worth, which runs an opening cuts, its length [m].

    pulls_out: marks of runs bent round an inner corner, with the corner's place. cuts: marks of runs that an opening
    or the edge cuts, with the middle of what is cut out, once for each cut.
    """

    carried: Carried
    worth: tuple[RunWorth, ...]
    cut_by_opening: tuple[str, ...]
    pulls_out: tuple[tuple[str, Point], ...]
    length: float
    notes: tuple[str, ...] = ()
    cuts: tuple[tuple[str, Point], ...] = ()


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number of a calculation that is checked by hand: its symbol, its value [SI] and what it measures.

    error: its error bar in the same unit, 0 where it has none.
    """

    symbol: str
    value: float
    measure: Measure
    error: float = 0.0


@dataclass(frozen=True, slots=True)
class Check:
    """One step of the calculation: formula as a book prints it, with what goes in, what comes out and what is asked.

    clause names the document and its clause or equation. relation stands between result and limit. place tells where
    or of what (a face, a run, a stage). note is a sentence for the reader; what fails has one that says what would do.
    """

    name: str
    clause: str
    formula: str
    given: tuple[Quantity, ...]
    result: Quantity
    relation: Literal["<=", ">=", "=="] | None = None
    limit: Quantity | None = None
    ok: bool = True
    place: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Bending:
    """Whether the slab bends or snaps where it cracks: strength of its steel over the upper-bound cracking moment.

    low and high are that ratio at the two ends of the placing tolerance: bends if both are at least 1, snaps if both
    are less, else not sure. stage and face tell the moment that cracks it, at [m] where, angle [rad] of the pull.
    """

    stage: str
    face: Face
    at: Point
    angle: float
    low: float
    high: float
    verdict: Verdict
