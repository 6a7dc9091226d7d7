"""Which loads the steel is sized for: stages of use with load factors, handling as it is, each at its own age.

In use the own weight is dead load and all that presses besides is live: 1.4 D and 1.2 D + 1.6 L (ASCE 7-16 2.3.1, ACI
318-19 5.3.1), or 1.35 G and 1.35 G + 1.5 Q (EN 1990 6.4.3.2, eq. 6.10). Handling has its jerk in the stage's
multiplier, on which nothing is stacked. Bows, and supports shimmed high or low, ask for no strength: they are set
against the stiffness of the whole slab, and a cracked one gives way until it lies on its supports again. A gap that the
stage itself has stays.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from api import case_model
from api.case_model import Case
from api.notes import Note
from api.translate import Piece
from fem.plate.model import AreaPlace, Edgewise, Load, Roaming, Stage, Variation
from fem.steel.demand import Factored
from fem.steel.model import Code

__all__ = ["factored_stages"]

DAY = 86400.0


@dataclass(frozen=True, slots=True)
class Factors:
    """Factors on the own weight and on all else, with their name and where they stand."""

    weight: float
    load: float
    name: str


COMBINATIONS: dict[Code, tuple[Factors, Factors, str]] = {
    "ACI 318-19": (
        Factors(1.4, 0.0, "1.4 D"),
        Factors(1.2, 1.6, "1.2 D + 1.6 L"),
        "ASCE 7-16 2.3.1, ACI 318-19 5.3.1",
    ),
    "EN 1992-1-1": (Factors(1.35, 0.0, "1.35 G"), Factors(1.35, 1.5, "1.35 G + 1.5 Q"), "EN 1990 6.4.3.2, eq. 6.10"),
}


def factored_stages(
    case: Case,
    piece: Piece,
    code: Code = "ACI 318-19",
    owed_above: float = 0.2,
    strength: Callable[[float], float] = lambda age: 1.0,
    sized_at: float = 28 * DAY,
) -> tuple[tuple[Factored, ...], tuple[Note, ...]]:
    """The factored stages of a case and what was assumed for them; piece is the same case in the plate's terms.

    strength tells that of the densest section that may be laid at an age [s]: a stage in which it is weaker than at
    sized_at, the age whose concrete the runs are sized with, asks for so much more. Steel is owed where a face is
    pulled by more than owed_above of the moment that cracks the slab at the stage's age.
    """
    found: list[Factored] = []
    notes: list[Note] = []
    for k, (written, stage) in enumerate(zip(case.stage, piece.stages, strict=True)):
        why = _handled(written)
        in_use = not why if written.factored is None else written.factored
        scale = max(strength(sized_at) / strength(written.age), 1.0)
        floor = owed_above * stage.cracking * piece.plate.thickness**2 / 6
        asked = _lying_as_meant(stage)
        if in_use:
            found += _in_use(asked, code, scale, floor)
        else:
            found.append(Factored(asked, stage.name, scale, floor))
        if written.factored is None:
            notes.append(Note(f"stage[{k}].factored", _said(code, stage, why)))
    return tuple(found), tuple(notes)


def _lying_as_meant(stage: Stage) -> Stage:
    """The stage without bows, and without the variations that differ from it in the gaps of its supports alone."""

    def only_shimmed(way: Variation) -> bool:
        if way.supports is None or way.loads or way.multiplier is not None or way.edgewise is not None:
            return False
        level = tuple(replace(one, gap=0.0) for one in way.supports)
        return level == tuple(replace(one, gap=0.0) for one in stage.supports)

    ways = tuple(way for way in stage.variations if not only_shimmed(way))
    return replace(stage, levels=False, bows=(), variations=ways)


def _handled(stage: case_model.Stage) -> str:
    """Why a stage is handling and not use; "" if it is use."""
    if stage.multiplier != 1.0:
        return f"its weight counts {stage.multiplier:g} times"
    if stage.form_pull:
        return "the form clings to it"
    if stage.posture != "flat":
        return "it does not lie flat"
    if any(isinstance(support, case_model.HandSupport) for support in stage.support):
        return "hands bear it"
    return "" if stage.slide is None else "it slides"


def _said(code: Code, stage: Stage, handled: str) -> str:
    if handled:
        return f"handling, for the steel as it is: {handled}"
    dead, both, source = COMBINATIONS[code]
    names = f"{dead.name} and {both.name}" if _presses(stage) else dead.name
    return f"use, for the steel with {names} ({source})"


def _in_use(stage: Stage, code: Code, scale: float, floor: float) -> Iterator[Factored]:
    """The combinations of a stage of use; what tips under its factors counts without them."""
    dead, both, _ = COMBINATIONS[code]
    yield Factored(_times(stage, dead), f"{stage.name}, {dead.name}", scale, floor)
    if _presses(stage):
        unfactored = Factored(stage, f"{stage.name}, without factors", scale, floor)
        yield Factored(_times(stage, both), f"{stage.name}, {both.name}", scale, floor, unfactored)


def _presses(stage: Stage) -> bool:
    """Whether anything acts on the slab besides its weight."""
    return bool(stage.loads or stage.roaming or stage.form_pull or any(way.loads for way in stage.variations))


def _times(stage: Stage, factors: Factors) -> Stage:
    """The stage with its weight and loads times their factors; loads times nothing are left out."""
    bare = factors.load == 0.0
    ways = (_way(way, factors) for way in stage.variations)
    return replace(
        stage,
        multiplier=factors.weight * stage.multiplier,
        loads=_loads((*stage.loads, *_form(stage)), factors),
        form_pull=0.0,
        edgewise=_edgewise(stage.edgewise, factors),
        roaming=() if bare else tuple(_roaming(one, factors) for one in stage.roaming),
        # Without its loads a variation that had nothing else is the stage as it stands.
        variations=tuple(way for way in ways if way != Variation(way.name)),
    )


def _form(stage: Stage) -> tuple[Load, ...]:
    """The pull of the form as a load: in use it adds to the weight, and no larger one takes its place."""
    return (Load("form", AreaPlace(), stage.form_pull),) if stage.form_pull else ()


def _way(way: Variation, factors: Factors) -> Variation:
    return replace(
        way,
        loads=_loads(way.loads, factors),
        multiplier=None if way.multiplier is None else factors.weight * way.multiplier,
        edgewise=_edgewise(way.edgewise, factors),
    )


def _loads(loads: tuple[Load, ...], factors: Factors) -> tuple[Load, ...]:
    if factors.load == 0.0:
        return ()
    return tuple(replace(one, amount=factors.load * one.amount, moment=factors.load * one.moment) for one in loads)


def _roaming(roaming: Roaming, factors: Factors) -> Roaming:
    return replace(roaming, amount=factors.load * roaming.amount)


def _edgewise(edgewise: Edgewise | None, factors: Factors) -> Edgewise | None:
    return None if edgewise is None else replace(edgewise, multiplier=factors.weight * edgewise.multiplier)
