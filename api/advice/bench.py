"""The bench on which changed cases are tried: every trial is read as a case, solved, and counted."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from api.advice.lean import leanly
from api.answer_stage import Json
from api.case import Case, read_case
from api.errors import CaseError
from api.meshes import mesh_of
from api.places import Places
from api.translate import Piece, piece_from
from fem.plate.analysis import Analysis, analyse_prepared, moved
from fem.plate.bow import bow_borders
from fem.plate.model import Face, Stage, StageResult, Status
from fem.plate.prepared import Prepared, prepare
from fem.plate.stages import Solved

__all__ = ["HANDLING", "STATUS_ORDER", "Bench", "Reading", "Trial", "moment_of", "pulled"]

STATUS_ORDER: tuple[Status, ...] = ("holds", "marginal", "cracks", "tips")
HANDLING = ("strip", "turn", "carry", "lift")
"""What people do with their hands, as the first word of a stage's name."""
GLANCES = 8
"""So many stages with a single state cost as much as one trial."""


@dataclass(frozen=True, slots=True)
class Reading:
    """What a stage came to: its worse face's pull and error bar [Pa], None where it tips, and what is allowed [Pa]."""

    status: Status
    face: Face | None
    pull: float | None
    bar: float
    allowed: float

    @property
    def badness(self) -> tuple[int, float]:
        """Larger is worse: by status, then by share of the allowed pull."""
        return STATUS_ORDER.index(self.status), (self.pull or 0.0) / self.allowed


@dataclass(frozen=True, eq=False)
class Trial:
    """A changed case as it was solved; data is its case in SI, readings has one entry a stage."""

    data: Json
    case: Case
    piece: Piece
    prepared: Prepared
    analysis: Analysis
    readings: tuple[Reading, ...]

    @property
    def worst(self) -> int:
        """The number of its worst stage."""
        return max(range(len(self.readings)), key=lambda k: self.readings[k].badness)

    @property
    def holds(self) -> bool:
        """Whether every stage of it holds."""
        return all(reading.status == "holds" for reading in self.readings)


class Bench:
    """A solved case on which changes are tried; `left` trials may still be made, whatever a trial takes."""

    def __init__(
        self,
        case: Case,
        piece: Piece,
        prepared: Prepared,
        analysis: Analysis,
        most: int,
        step: Callable[[str], None],
    ) -> None:
        self.case, self.piece, self.prepared, self.analysis = case, piece, prepared, analysis
        self.left = most
        self.readings = tuple(
            pulled(stage, result) for stage, result in zip(piece.stages, analysis.stages, strict=True)
        )
        self.places = Places(piece.shape, piece.plate.thickness, [one.name or "" for one in case.slab.opening])
        self._si = case.si()
        self._step = step

    @property
    def bad(self) -> list[int]:
        """The stages that do not hold, the worst first."""
        found = [k for k, reading in enumerate(self.readings) if reading.status != "holds"]
        return sorted(found, key=lambda k: self.readings[k].badness, reverse=True)

    def alone(self, *stages: int) -> Json:
        """The case in SI with only these stages, no probes and no level limits: new data, to be changed at will."""
        data: Json = _copied(self._si)
        data["stage"] = [data["stage"][k] for k in stages]
        data["probe"] = []
        for stage in data["stage"]:
            # How far out of level supports may be changes no pull, and takes long.
            stage["levels"] = False
        return data

    def stage_of(self, data: Json) -> Stage | None:
        """The one stage of a changed case in the plate's terms; None if it cannot be a case."""
        try:
            return piece_from(read_case(data)).stages[0]
        except CaseError:
            return None

    def solve(self, data: Json, what: str = "", lean: Sequence[int] = ()) -> Trial | None:
        """The changed case solved; None if it cannot be a case, or if no trial is left.

        lean: for each stage of data the stage it was; then only the states that governed that one are solved, which
        finds a way but is not told of.
        """
        if self.left <= 0:
            return None
        try:
            case = read_case(data)
            piece = piece_from(case)
            prepared = self.prepared if self._unchanged(case, piece) else prepare(mesh_of(piece), piece.plate)
        except CaseError:
            return None
        self.left -= 1
        self._step(f"trying what would help: {what}" if what else "trying what would help")
        stages = piece.stages
        if lean:
            pairs = zip(stages, lean, strict=True)
            stages = tuple(
                leanly(stage, self.piece.stages[k], self.analysis.stages[k], prepared.site.region) for stage, k in pairs
            )
        analysis = analyse_prepared(prepared, stages)
        readings = (pulled(*pair) for pair in zip(stages, analysis.stages, strict=True))
        return Trial(case.si(), case, piece, prepared, analysis, tuple(readings))

    def glance(self, stages: Sequence[Stage]) -> list[Reading]:
        """Many stages with one state each on the unchanged slab, what they share solved once; [] if too few are left.

        Only to choose among changes: what is told of comes from `solve`.
        """
        cost = -(-len(stages) // GLANCES)
        if self.left < cost:
            return []
        self.left -= cost
        solved: Solved | None = None
        found = []
        for stage in stages:
            result, solved = moved(self.prepared, stage, solved)
            found.append(pulled(stage, result))
        return found

    def _unchanged(self, case: Case, piece: Piece) -> bool:
        """Whether the mesh and all that was made of it serve the changed case as well."""
        borders = [{one.tobytes() for one in bow_borders(stages)} for stages in (piece.stages, self.piece.stages)]
        same = case.slab == self.case.slab and case.concrete == self.case.concrete
        return same and borders[0] == borders[1]


def pulled(stage: Stage, result: StageResult) -> Reading:
    """What a stage came to."""
    if result.peaks is None:
        return Reading(result.status, None, None, 0.0, stage.allowed)
    show, underside = result.peaks["show"].tension, result.peaks["underside"].tension
    face: Face = "underside" if underside.tension > show.tension else "show"
    peak = underside if face == "underside" else show
    return Reading(result.status, face, peak.tension, peak.error, stage.allowed)


def moment_of(name: str) -> str:
    """What is done in a stage, by the first word of its name; "" for other names.

    >>> moment_of("strip, peeling"), moment_of("carry flat"), moment_of("kneel")
    ('strip', 'carry', '')
    """
    word = name.replace(",", " ").split()[0].lower() if name.split() else ""
    return word if word in HANDLING else ""


def _copied(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _copied(item) for key, item in value.items()}
    return [_copied(item) for item in value] if isinstance(value, list | tuple) else value
