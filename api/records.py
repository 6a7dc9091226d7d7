"""The answer's grammar as models: what result.json and the server's replies look like, for schemas and for checking.

They describe; the answer itself is built as a plain dictionary (api/answer.py), and a test holds the two together.
"""

# ruff: noqa: N815 (the names are those of the answer, which carry their units)
from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

__all__ = ["Advice", "Answer", "ProblemDocument", "Record", "answer_schema"]

Point = Annotated[
    list[float], Field(min_length=2, max_length=2, description="[x, y], seen looking at the show face [m]")
]
Force = Annotated[float | None, Field(description="[N], positive upward on the slab; null if the slab tips")]


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)


class Note(_Model):
    """Something assumed or warned of: where in the case, and what."""

    where: str
    what: str


class Mesh(_Model):
    """Figures of the mesh."""

    nodes: int
    triangles: int
    smallest_angle_deg: float


class Tension(_Model):
    """Principal tension at one spot of one face."""

    tension_Pa: float = Field(description="of the moment averaged over one thickness [Pa]; negative: squeezed")
    error_Pa: float = Field(description="error bar of tension_Pa: what the mesh may miss [Pa]")
    angle_deg: float = Field(ge=0, lt=180, description="direction of the pull, degrees from +x; a crack runs across it")
    local_Pa: float | None = Field(description="of the field itself [Pa]; null where it has no bound")
    local_error_Pa: float | None = Field(description="error bar of local_Pa [Pa]")
    allowance_Pa: float = Field(description="what thin-plate theory may miss here, apart from the error bar [Pa]")


class Peak(Tension):
    """The worst place of one face."""

    at: Point
    place: str = Field(description="the same place in words")
    local_at: Point | None = Field(description="where the field's own peak lies [m]")
    local_place: str | None


class Faces(_Model):
    """One number a face; null if the slab tips."""

    show: float | None
    underside: float | None


class Peaks(_Model):
    """The worst place of each face; null if the slab tips."""

    show: Peak | None
    underside: Peak | None


class Governing(_Model):
    """The state of a stage that governs one face."""

    variation: str = Field(description='its name; "" for the stage as it stands; a roaming load by its name')
    at: Point | None = Field(description="where the roaming load then is [m]")
    place: str | None = Field(description="the same in words")


class GoverningFaces(_Model):
    """What governs each face; null if the slab tips."""

    show: Governing | None
    underside: Governing | None


class WalkPlace(_Model):
    """The worst place of a roaming load for one face."""

    at: Point
    place: str
    tension_Pa: float


class WalkFaces(_Model):
    """The worst places of a roaming load; null where it tips the slab wherever it is."""

    show: WalkPlace | None
    underside: WalkPlace | None


class Walk(_Model):
    """A roaming load at all the places it may be."""

    name: str
    places: int = Field(description="how many places were solved")
    change_Pa: float | None = Field(description="what the last, denser places added to the worst pull [Pa]")
    worst: WalkFaces
    least_load_that_tips_N: float | None = Field(description="the least load that tips the slab [N], if it does")


class Level(_Model):
    """How far one support may be out of level; null: as far as was looked, with the reason."""

    index: int
    name: str
    high_m: float | None = Field(description="from the gap that the stage gives [m]")
    low_m: float | None
    high_face: Literal["show", "underside"] | None = Field(description="the face that sets the limit")
    low_face: Literal["show", "underside"] | None
    why_high: str = Field(default="", description="why high_m is null")
    why_low: str = Field(default="", description="why low_m is null")


class Hand(_Model):
    """What one hand bears."""

    index: int = Field(description="of the support in the stage")
    name: str
    force_N: Force
    most_N: float | None = Field(description="the most in the states that govern a face and as the stage stands [N]")
    limit_N: float | None
    over: bool = Field(description="whether most_N is beyond limit_N")


class StrengthRow(_Model):
    """Strength at the stage's age: what is used, and what each code gives."""

    code: str
    cracking_Pa: float
    modulus_Pa: float
    source: str


class SupportForce(_Model):
    """What one support of the case does."""

    index: int
    name: str
    force_N: Force
    edge_N: Annotated[
        float | None, Field(description="what it carries in the slab's plane, of one on edge or leaning [N]")
    ]
    moment_Nm: Point | None = Field(description="about x and y [N m]; only a clamp has one")
    lifted: bool | None = Field(description="whether it bears nothing")
    contact_share: float | None = Field(description="share of its length or area that bears")


class Probe(_Model):
    """The answer at one probe of the case."""

    name: str
    at: Point
    w_m: float | None = Field(description="deflection, positive with gravity [m]")
    moment_Nm_per_m: list[float] | None = Field(
        min_length=3, max_length=3, description="mx, my, mxy of the field itself [N m/m]; positive pulls the underside"
    )
    show: Tension | None
    underside: Tension | None
    why_null: str | None = Field(default=None, description="why a value above is null")


class Tips(_Model):
    """How a slab that cannot balance falls."""

    axis: list[Point] = Field(min_length=2, max_length=2, description="the line it turns about [m]")
    about: str | None = Field(description="the axis in words, if supports name it")
    hold_down_N: float | None = Field(description="the least force that holds it [N]")
    hold_down_at: Point | None
    hold_down_place: str | None = Field(description="the same place in words")
    variation: str = Field(description="the state that falls, as in governing")
    at: Point | None = Field(description="where the roaming load then is [m]")
    place: str | None = Field(description="the same in words")
    least_load_N: float | None = Field(description="the least roaming load that tips the slab somewhere [N]")


class Path(_Model):
    """One tension path: steel would lie along it, a crack runs across it."""

    points: list[Point]
    tension_Pa: list[float] = Field(description="at each point [Pa]")
    distinct: list[bool] = Field(description="at each point: false where the direction is arbitrary")


class Paths(_Model):
    """Tension paths by face."""

    show: list[Path]
    underside: list[Path]


class StageAnswer(_Model):
    """The answer for one stage."""

    id: str
    name: str
    age_s: float
    up: Literal["show", "underside"] = Field(description="which face looks up")
    posture: Literal["flat", "leaning", "on edge", "turning"]
    cracking_strength_Pa: float
    allowed_Pa: float
    strength_source: str
    strengths: list[StrengthRow]
    status: Literal["holds", "marginal", "cracks", "tips"]
    rocks: bool
    converged: bool
    variations: int = Field(description="how many states were solved; the worst of each face is told")
    governing: GoverningFaces
    peak: Peaks = Field(description="of the state that governs the face")
    use_of_allowed: Faces
    use_of_cracking: Faces
    deflection_max_m: float | None
    deflection_error_m: float | None
    equilibrium_residual: float | None = Field(description="relative to the load")
    supports: list[SupportForce] = Field(description="of the stage as it stands")
    hands: list[Hand]
    levels: list[Level]
    walks: list[Walk]
    probes: list[Probe]
    tips: Tips | None
    notes: list[str]
    paths: Paths


class Weight(_Model):
    """The piece's weight and who lifts it."""

    weight_N: float
    center_of_gravity: Point
    people: int = Field(description="at no more than a_person_N each")
    a_person_N: float = Field(description="50 lb, under the 51 lb (23 kg) of NIOSH's lifting equation [N]")
    instead: str | None = Field(description="what to take instead of so many people")


class HandlingRow(_Model):
    """What one support or hand bears in one stage."""

    stage: str
    id: str
    name: str
    hand: bool
    force_N: Force
    edge_N: float | None = Field(description="what it carries in the slab's plane [N]")
    most_N: float | None = Field(description="a hand: the most in the states known; else force_N [N]")
    limit_N: float | None
    over: bool


class VerdictRow(_Model):
    """One row of the verdict: a stage's worse face, and its other face if that is beyond what is allowed too."""

    stage: str
    id: str
    status: Literal["holds", "marginal", "cracks", "tips"]
    age_s: float
    face: Literal["show", "underside"] | None
    pull_Pa: float | None
    error_Pa: float | None
    allowed_Pa: float
    share: float | None = Field(description="of allowed_Pa")
    share_of_cracking: float | None
    where: str = Field(description="the worst place in words, or how it falls")
    variation: str = Field(description="the state that governs, as in governing")
    variation_place: str | None
    what_a_crack_would_do: str | None = Field(description="in words; null where nothing is pulled or the slab tips")
    crack: list[Point] | None = Field(description="the ends of the straight line that the words are of [m]")
    why_null: str | None = Field(default=None, description="why the figures are null")


class Verdict(_Model):
    """The whole piece in one table and in sentences, in the case's own units."""

    status: Literal["holds", "marginal", "cracks", "tips"] = Field(description="of the worst stage")
    rows: list[VerdictRow] = Field(description="worst first")
    sentences: list[str]
    not_checked: list[str]


class Advice(_Model):
    """A change that the program has solved."""

    kind: str
    stage: str = Field(description="id of the stage that it is told of")
    what: str = Field(description="a sentence, in the case's own units")
    before_Pa: float | None = Field(description="pull on the worse face of that stage [Pa]; null if it tips")
    after_Pa: float | None = Field(description="the same with the change [Pa]")
    allowed_Pa: float = Field(description="with the change [Pa]")
    status_after: Literal["holds", "marginal", "cracks", "tips"] | None
    face: Literal["show", "underside"] | None = Field(description="the worse face with the change")
    case: dict[str, Any] | None = Field(description="the changed case in SI; it can be sent as it stands")
    second_case: dict[str, Any] | None = Field(default=None, description="a seam: the other piece, in SI")


class Reinforcement(_Model):
    """What is laid: wires alike, side by side in one strip."""

    name: str
    kind: Literal["wire", "ladder", "mesh", "bar", "grid"]
    diameter_m: float
    outside_m: float = Field(description="the depth one layer takes, ribs and crosswires included [m]")
    area_m2: float = Field(description="of one wire [m2]")
    wires: int
    width_m: float
    yield_Pa: float
    ultimate_Pa: float
    modulus_Pa: float
    brittle: bool
    stock_m: float | None = Field(description="the length it is sold in [m]; null: endless")
    mass_kg_per_m: float
    source: str


class SteelCovers(_Model):
    """Clear covers [m]."""

    show_m: float
    underside_m: float
    edge_m: float
    opening_m: float


class SteelRules(_Model):
    """How runs may be laid."""

    pitch_m: float = Field(description="runs lie on lines so far apart, and no closer [m]")
    most_m: float = Field(description="widest spacing [m]")
    directions_deg: list[float]
    most_directions: int
    placing_m: float = Field(description="how far a wire may sit from where it belongs [m]")
    anchorage_m: float | None = Field(description="over which an end builds up its pull [m]; null: nothing anchors it")
    lap_m: float | None


class SteelConcrete(_Model):
    """The concrete in which runs are reckoned."""

    age_s: float
    compressive_Pa: float
    cracking_Pa: float = Field(description="low-side modulus of rupture [Pa]")
    high_Pa: float = Field(description="its upper bound [Pa]")
    modulus_Pa: float
    aggregate_m: float = Field(description="largest grain [m]")


class Owed(_Model):
    """What one face owes: the strength that steel has to have; null if nothing."""

    most_Nm_per_m: float
    at: Point
    place: str
    angle_deg: float = Field(description="of the pull")
    stage: str = Field(description="the factored stage that asks for it")
    share_of_points: float = Field(description="of the points looked at, those that owe anything")


class SteelDemand(_Model):
    """The strength owed by the factored stages."""

    stages: list[str]
    points: int
    directions: int
    show: Owed | None
    underside: Owed | None


class SteelRun(_Model):
    """One run, straight between its points."""

    mark: str
    face: Literal["show", "underside"]
    points: list[Point]
    depth_m: float = Field(description="of its axis from the show face [m]")
    layer: int = Field(description="from its face, 0 outermost")
    length_m: float
    steel: str
    why: Literal["pull", "rail", "overhang", "given"]


class Binds(_Model):
    """The place that decides a load factor."""

    at: Point
    place: str
    face: Literal["show", "underside"] | None
    angle_deg: float | None = Field(description="of the pull")
    stage: str


class SteelCarried(_Model):
    """What a layout carries: a lower bound by equilibrium."""

    load_factor: float | None = Field(description="least strength / demand; null: nothing is owed")
    binds: Binds | None
    carried_share: dict[str, float] = Field(
        description="by face: of the places looked at where something is owed, the share where all of it is carried"
    )


class SteelMat(_Model):
    """The best even two-way mat of the same wire, cut at openings."""

    spacing_m: dict[str, list[float | None]] = Field(description="by face, of its two directions [m]; null: none")
    runs: int
    length_m: float
    load_factor: float | None


class SteelCut(_Model):
    """One line of the cut list."""

    steel: str
    length_m: float
    count: int
    marks: list[str]


class SteelRemedy(_Model):
    """One change that would do where no plan carries what is owed."""

    what: Literal["thickness", "diameter", "spacing", "cover"]
    value: float = Field(description="[m]; of cover the share that all covers shrink to")
    factor: float = Field(description="what all runs together then carry")


class SteelPlan(SteelCarried):
    """Straight runs that carry what is owed; failures say why there are none, and what would do."""

    runs: list[SteelRun]
    load_factor_of_all: float | None = Field(description="load_factor if every run counts for the far face as well")
    length_m: float
    bound_m: float | None = Field(description="no plan of this integer model is shorter [m]")
    mat: SteelMat | None
    saving: float | None = Field(description="of the mat's length; negative: the plan is longer")
    diagonals: bool | None = Field(description="whether runs lie across the corners; null: not looked at")
    without_diagonals_m: float | None = Field(description="the best plan without diagonals; null: none carries")
    with_diagonals_m: float | None = Field(description="no plan with diagonals is shorter; null: none carries")
    found_with_diagonals_m: float | None = Field(description="the shortest with diagonals that was found")
    off_path_deg: float | None = Field(
        description="largest angle of pull and nearest run where at least half of the most is owed; null: "
        "nothing is owed"
    )
    cuts: list[SteelCut]
    stock_pieces: int
    waste: float | None
    mass_kg: float
    notes: list[str]
    failures: list[str]
    remedies: list[SteelRemedy]


class SteelRunWorth(_Model):
    """What one run of a given layout is worth."""

    mark: str
    length_m: float
    idle: float = Field(description="share of it that does nothing")
    why: str


class RunPlace(_Model):
    """A place of a run."""

    mark: str
    at: Point
    place: str


class SteelJudged(SteelCarried):
    """A given layout."""

    given: list[SteelRun]
    worth: list[SteelRunWorth]
    cut_by_opening: list[str]
    cuts: list[RunPlace] = Field(description="the middle of what an opening or the edge cuts out")
    pulls_out: list[RunPlace] = Field(description="corners that a run is bent round: it pulls out there")
    length_m: float
    plan_length_m: float | None
    notes: list[str]


class SteelQuantity(_Model):
    """A number of a calculation [SI]; null where it is not finite."""

    symbol: str
    value: float | None
    error: float = Field(description="its error bar; 0: none")
    measure: str


class SteelCheck(_Model):
    """One step of the calculation."""

    name: str
    clause: str
    formula: str
    given: list[SteelQuantity]
    result: SteelQuantity
    relation: Literal["<=", ">=", "=="] | None
    limit: SteelQuantity | None
    ok: bool
    place: str
    note: str


class SteelBending(_Model):
    """Whether the slab bends or snaps if it cracks at one place."""

    stage: str
    face: Literal["show", "underside"]
    at: Point
    place: str
    angle_deg: float = Field(description="of the pull")
    low: float | None = Field(description="strength over the upper-bound cracking moment, wire at its worst place")
    high: float | None = Field(description="the same, wire at its best place")
    verdict: Literal["bends", "snaps", "not sure", "no steel"]
    use_of_cracking: float | None = Field(
        description="how hard it is pulled there, as a share of the cracking strength"
    )


class SteelAnswer(_Model):
    """What is laid and what it is worth once the concrete has cracked; before that steel does nothing."""

    steel: Reinforcement
    code: str
    covers: SteelCovers
    code_covers: SteelCovers
    rules: SteelRules
    concrete: SteelConcrete
    demand: SteelDemand
    plan: SteelPlan | None
    judged: SteelJudged | None
    code_cover: SteelCarried | None = Field(description="the same runs with the covers of the code")
    why_no_code_cover: str
    checks: list[SteelCheck]
    bends: list[SteelBending]
    if_it_cracks: Literal["bends", "snaps", "not sure"] | None = Field(
        description="where it is pulled hardest for its strength; null: nowhere hard enough"
    )
    if_it_cracks_words: str
    notes: list[str]
    files: list[str] = Field(description="within the result folder, or below /api/analyses/{id}/")


class Answer(_Model):
    """The answer to a case, SI: m, N, Pa, s; angles in degrees from +x.

    Signs: deflection w is positive with gravity; m is the integral of sigma z dz with z from the show face to the
    underside, so a positive moment pulls the underside, whichever face looks up.
    """

    answer: Literal[1]
    program: str = Field(description="the program's version")
    hash: str = Field(description="of the case in SI with defaults filled in and of the program")
    case: dict[str, Any] = Field(
        description="the case in SI with its defaults filled in; it can be sent again as it stands"
    )
    mesh: Mesh
    weight_N: float
    center_of_gravity: Point
    weight: Weight
    verdict: Verdict
    stages: list[StageAnswer]
    handling: list[HandlingRow]
    steel: SteelAnswer | None
    advice: list[Advice]
    assumed: list[Note]
    warnings: list[Note]


class Fault(_Model):
    """One fault of a request: a path into the case, what is wrong, what would put it right."""

    where: str
    what: str
    fix: str


class ProblemDocument(_Model):
    """A problem document (RFC 9457)."""

    type: str
    title: str
    status: int
    detail: str
    instance: str
    errors: list[Fault] = Field(default_factory=list)


class Steps(_Model):
    """How far the work has come."""

    step: int
    of: int
    what: str


class Record(_Model):
    """One analysis: its state, how far it has come, and its result or its problem."""

    id: str
    state: Literal["queued", "running", "done", "failed", "cancelled"]
    progress: Steps
    result: Answer | None
    problem: ProblemDocument | None


def answer_schema() -> dict[str, Any]:
    """JSON schema of result.json."""
    return Answer.model_json_schema(mode="serialization")
