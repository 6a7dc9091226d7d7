"""The stages in a report: what each stands on and bears, with its factors; what it pulls and what it may."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from api.figures import Units, age_words, bar_words, force_words, percent_words, pull_words
from api.map_words import body_words, capital, face_title, load_words, sag_words
from api.report.blocks import Block, Part, Text, bold, column, facts, heading, para, small, table
from api.solve import FACES, Solved
from fem.plate.model import Stage, StageResult

__all__ = ["loads_section", "pull_section"]

Answer = Mapping[str, Any]


def loads_section(solved: Solved, factored: tuple[str, ...]) -> Iterator[Block]:
    """What bears every stage and what presses on it; factored: the names of the stages that the steel is sized for."""
    yield heading("Loads, supports and factors")
    yield para(
        "Whether it cracks is asked without factors: the multiplier of a stage stands on its own weight, and what is "
        "allowed is the cracking strength over the stage's safety."
    )
    if factored:
        yield para("What the steel must carry once it has cracked is asked with factors, stage by stage:")
        yield table([column("", right=True), column("factored stage", 1)], _numbered(factored))
    for k, stage in enumerate(solved.piece.stages):
        yield heading(f"Stage {k + 1}: {capital(stage.name)}, {age_words(solved.case.stage[k].age)}", 2)
        yield facts(_stage_rows(solved, k))


def pull_section(solved: Solved) -> Iterator[Block]:
    """Every stage and face: pull with its error bar, what is allowed, what cracks it, where."""
    units = solved.case.units
    unit = "psi" if units == "us" else "MPa"
    yield heading("Does it crack?")
    yield para(
        "Principal tension of the moment averaged over a disc of one thickness, and its error bar, which is of the "
        "computing; the worst of all states of a stage. It holds if pull and bar together stay under what is allowed; "
        "it cracks if the pull less its bar exceeds what cracks it."
    )
    rows: list[list[Text]] = []
    for k, stage in enumerate(solved.answer["stages"]):
        for face in FACES:
            rows.append(_pull_row(k, stage, face, units))
    yield table(
        [
            column("stage", 0.3),
            column("face"),
            column(f"pull, {unit}", right=True),
            column("allowed", right=True),
            column("cracks at", right=True),
            column("of allowed", right=True),
            column("of cracking", right=True),
            column("answer"),
            column("worst place", 0.4),
        ],
        rows,
    )
    yield small(
        "The pull may be higher still beside a hole or a fillet that is small against the thickness; what thin-plate "
        "theory may miss stands on the maps and in result.json. Below: how far each stage bends as it stands, what "
        "share of the loads its supports leave out of balance, and the state that pulls each face most."
    )
    yield table(
        [
            column("stage", 0.4),
            column("bends at most", right=True),
            column("out of balance by", right=True),
            column("weakest state", 0.6),
        ],
        [_sag_row(k, stage, units) for k, stage in enumerate(solved.answer["stages"])],
    )


def _numbered(names: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    return ((str(k + 1), name) for k, name in enumerate(names))


def _stage_rows(solved: Solved, k: int) -> list[tuple[Text, Text]]:
    stage, written, units = solved.piece.stages[k], solved.case.stage[k], solved.case.units
    lies = "show face up" if stage.up == "show" else "underside up"
    posture = str(getattr(written, "posture", "flat"))
    rows: list[tuple[Text, Text]] = [("lies", lies if posture == "flat" else f"{posture}; {lies}")]
    loads = [*body_words(stage, solved.analysis.weight, units), *(load_words(load, units) for load in stage.loads)]
    loads += [
        f"{roaming.name}: {force_words(roaming.amount, units)}, wherever it may stand" for roaming in stage.roaming
    ]
    rows.append(("bears", "; ".join(loads) or "nothing"))
    acts = {"rest": "rests on it", "hold": "held both ways by it", "clamp": "clamped by it"}
    actions = {support.action for support in stage.supports}
    rows.append(("supports", f"{len(stage.supports)}: {' or '.join(acts[one] for one in acts if one in actions)}"))
    rows.append(("they bear", _supports(stage, solved.analysis.stages[k], units)))
    if stage.variations:
        names = [variation.name for variation in stage.variations]
        more = f", and {len(names) - 6} more" if len(names) > 6 else ""
        rows.append(("also solved with", f"{'; '.join(names[:6])}{more}"))
    allowed = f"{pull_words(stage.allowed, units)} = {pull_words(stage.cracking, units)} / {written.safety:.3g}"
    if getattr(written, "lasting", False):
        allowed += f" x {solved.case.concrete.sustained_factor:.3g} for loads that stay"
    rows.append(("allowed", allowed))
    return rows


def _supports(stage: Stage, result: StageResult, units: Units) -> Text:
    """What each support bears as the stage stands, those that bear nothing by name, and the sum."""
    if result.tips is not None:
        return "it tips: no supports balance it"
    parts: list[Part] = []
    idle = []
    for one in result.supports:
        force = max(one.force, one.edgewise, key=abs)
        if one.lifted or force_words(abs(force), units).startswith("0 "):
            idle.append(one.name)
            continue
        parts += [f"{'; ' if parts else ''}{one.name} ", bold(_signed(force, units))]
    if idle:
        parts.append(f"{'; ' if parts else ''}nothing on {', '.join(idle)}")
    if not any(one.edgewise for one in result.supports):
        parts += ["; together ", bold(_signed(sum(one.force for one in result.supports), units))]
    return parts


def _signed(force: float, units: Units) -> str:
    return f"{'-' if force < -0.5 else ''}{force_words(abs(force), units)}"


def _pull_row(k: int, stage: Answer, face: str, units: Units) -> list[Text]:
    name: Text = f"{k + 1} {capital(stage['name'])}" if face == "show" else ""
    peak = stage["peak"][face]
    faces = {"show": "show", "underside": "under"}
    allowed, cracking = (_bare(stage[key], units) for key in ("allowed_Pa", "cracking_strength_Pa"))
    status: Text = bold(stage["status"]) if stage["status"] != "holds" else stage["status"]
    answer: Text = status if face == "show" else ""
    if peak is None:
        return [name, faces[face], "-", allowed, cracking, "-", "-", answer, "it tips" if face == "show" else ""]
    pull = _bare(peak["tension_Pa"], units)
    if peak["tension_Pa"] > 0:
        pull += f" ± {bar_words(peak['error_Pa'], units)}"
    return [
        name,
        faces[face],
        pull,
        allowed,
        cracking,
        percent_words(stage["use_of_allowed"][face]),
        percent_words(stage["use_of_cracking"][face]),
        answer,
        str(peak["place"]),
    ]


def _sag_row(k: int, stage: Answer, units: Units) -> list[Text]:
    governing = [
        f"{face_title(face).lower()}: {one['variation'] or 'as it stands'}"
        for face in FACES
        if (one := stage["governing"][face]) is not None
    ]
    sag = stage["deflection_max_m"]
    words = "-" if sag is None else sag_words(abs(sag), units, stage["deflection_error_m"])
    residual = stage["equilibrium_residual"]
    return [
        f"{k + 1} {capital(stage['name'])}",
        words,
        "-" if residual is None else (f"{residual:.0e}" if residual else "0"),
        "; ".join(dict.fromkeys(governing)),
    ]


def _bare(pascal: float, units: Units) -> str:
    return pull_words(pascal, units).removesuffix(" psi").removesuffix(" MPa")
