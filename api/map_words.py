"""The words on a map: verdict, face, supports, loads, all in the case's own units and rounded as everywhere else."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from api.figures import (
    LBF,
    Units,
    bar_words,
    force_words,
    length_words,
    mass_words,
    percent_words,
    pull_words,
)
from api.not_checked import listed_words, not_checked
from api.places import Places
from api.words import CAUTION, NOT_CHECKED, stage_sentence
from fem.plate.model import (
    AreaPlace,
    EdgePlace,
    Face,
    Load,
    Peak,
    PointPlace,
    Stage,
    StageResult,
    Support,
    SupportResult,
    Tipping,
)

if TYPE_CHECKING:
    from api.case import Case

__all__ = [
    "CAUTIONS",
    "body_words",
    "capital",
    "cautions_of",
    "face_sentences",
    "face_title",
    "load_words",
    "local_words",
    "own_weight_words",
    "peak_sentences",
    "sag_words",
    "support_words",
    "verdict_sentences",
    "worst_face",
    "worst_words",
]

CAUTIONS = (f"Not checked: {NOT_CHECKED}.", CAUTION)
"""What stands at the foot of a page of which the case is not known."""

SQUARE_FOOT = 0.3048**2
FOOT = 0.3048
FACES: tuple[Face, Face] = ("show", "underside")


def cautions_of(case: Case) -> tuple[str, ...]:
    """What stands at the foot of a page: what no stage of the case looks at, and who decides."""
    return (f"Not checked: {listed_words(not_checked(case))}.", CAUTION)


def face_title(face: Face) -> str:
    """A face by its name."""
    return "Show face" if face == "show" else "Underside"


def face_sentences(face: Face, up: Face) -> str:
    """Which way one looks, and which way the piece lies."""
    look = "drawn as you look at it" if face == "show" else "drawn as seen from the show face, through the slab"
    lies = "this face looks up" if face == up else "this face looks down"
    return f"{look}; {lies} in this stage"


def verdict_sentences(stage: Stage, result: StageResult, age: float, places: Places, units: Units) -> tuple[str, ...]:
    """What the stage comes to, in plain words, with what makes it unsure; stage: in its worst state."""
    sentences = [capital(stage_sentence(_entry(stage, result, age, places), units))]
    if result.peaks:
        face = worst_face(result)
        sentences.append(f"Worst place: {face_title(face).lower()}, {places.of(result.peaks[face].at, stage)}.")
    if result.tips is None and not result.converged:
        sentences.append("It did not converge: do not rely on these figures.")
    if result.rocks:
        sentences.append("It rocks on its supports.")
    return tuple(sentences)


def worst_face(result: StageResult) -> Face:
    """The face that is pulled harder; ValueError if there is no peak."""
    if result.peaks is None:
        raise ValueError("a stage without peaks has no worst face")
    return max(result.peaks, key=lambda face: result.peaks[face].tension.tension)  # type: ignore[index]


def peak_sentences(face: Face, stage: Stage, result: StageResult, places: Places, units: Units) -> tuple[str, ...]:
    """The worst place of one face: what pulls there, what share that is, and where, if the other face is worse."""
    if result.peaks is None:
        return ()
    peak = result.peaks[face]
    tension = peak.tension
    if tension.tension <= 0:
        return ("Nothing is pulled on this face.",)
    allowed, cracking = (percent_words(tension.tension / strength) for strength in (stage.allowed, stage.cracking))
    lines = [f"{worst_words(peak, units)}: {allowed} of allowed, {cracking} of cracking."]
    if worst_face(result) != face:
        lines.append(f"Where: {places.of(peak.at, stage)}.")
    if pull_words(tension.allowance, units)[0].isdigit():
        lines.append(f"Thin-plate theory may miss {pull_words(tension.allowance, units)} more here.")
    if tension.local is None:
        lines.append("The local pull has no bound here in plate theory; the pull averaged over one thickness decides.")
    return tuple(lines)


def worst_words(peak: Peak, units: Units) -> str:
    """The worst averaged pull of a face with its error bar."""
    words = pull_words(peak.tension.tension, units)
    number, _, unit = words.partition(" ")
    if not number[0].isdigit():
        return words
    return f"{number} ± {bar_words(peak.tension.error, units)} {unit}"


def local_words(peak: Peak, units: Units) -> str | None:
    """The field's own peak, where it has a bound and differs from the averaged pull as printed."""
    local = peak.tension.local
    if local is None or peak.local_at is None or pull_words(local, units) == pull_words(peak.tension.tension, units):
        return None
    return pull_words(local, units)


def support_words(support: Support, result: SupportResult | None, units: Units) -> str:
    """A support in one line: its name, how it acts, what it bears."""
    acts = {"rest": "rests", "hold": "held both ways", "clamp": "clamped"}[support.action]
    words = f"{support.name}: {acts}"
    if support.gap:
        words += f", {length_words(abs(support.gap), units)} {'low' if support.gap > 0 else 'packed up'}"
    if result is None:
        return words
    if result.lifted:
        return f"{words}, lifted off"
    if result.edgewise > 0.0:
        words += f", carries {force_words(result.edgewise, units)} of it on its edge"
        if not support.face:
            return words
    does = "bears" if result.force >= 0 else "must hold down"
    words += f", {does} {force_words(abs(result.force), units)}"
    if result.contact_share < 0.995 and not isinstance(support.place, PointPlace):
        words += (
            f" on {percent_words(result.contact_share)} of it"
            if result.contact_share >= 0.05
            else " on a short part of it"
        )
    return words


def load_words(load: Load, units: Units) -> str:
    """A load in one line: its name and how much it is."""
    place = load.place
    if isinstance(place, PointPlace):
        words = force_words(abs(load.amount), units)
        words += f" on {length_words(place.size, units)} square" if place.size else " at a point"
    elif isinstance(place, AreaPlace):
        words = _pressure_words(abs(load.amount), units) + (" over this area" if place.points else " all over")
    else:
        words = _line_words(abs(load.amount), units) if load.amount or not load.moment else ""
        words += " along this edge" if isinstance(place, EdgePlace) else " along this line"
    words += " (lifts)" if load.amount < 0 else ""
    if load.moment:
        pulled = "underside" if load.moment > 0 else "show face"
        words += f", turning {_turn_words(abs(load.moment), units)}: pulls the {pulled}"
    return f"{load.name}: {words.strip()}"


def own_weight_words(weight: float, multiplier: float, units: Units) -> str:
    """The own weight as it acts in a stage."""
    times = "" if multiplier == 1 else f" x {multiplier:.3g}"
    return f"own weight: {mass_words(weight, units)}{times}"


def body_words(stage: Stage, weight: float, units: Units) -> tuple[str, ...]:
    """What acts on the slab as a whole: its weight across its face and in its plane, a form that clings, a bow."""
    lines = []
    if stage.edgewise is not None:
        if stage.multiplier:
            lines.append(f"{own_weight_words(weight, stage.multiplier, units)}, across the face")
        lines.append(f"{own_weight_words(weight, stage.edgewise.multiplier, units)}, in its plane")
    elif stage.multiplier > 0:
        lines.append(own_weight_words(weight, stage.multiplier, units))
    if stage.form_pull:
        lines.append(f"form that clings: {_pressure_words(stage.form_pull, units)}")
    lines += [f"bow: {bow.name}" for bow in stage.bows]
    return tuple(lines)


def sag_words(metre: float, units: Units, bar: float | None = None) -> str:
    """A deflection as text, inches to 0.001 or millimetres to 0.01; bar: its error bar, rounded up.

    >>> sag_words(0.00107, "us"), sag_words(0.00107, "si", 1.2e-5), sag_words(1e-7, "si")
    ('0.042 in', '1.07 ± 0.02 mm', 'under 0.01 mm')
    """
    step, digits, unit = (2.54e-5, 3, "in") if units == "us" else (1e-5, 2, "mm")
    count = math.floor(metre / step + 0.5)
    if not count:
        return f"under {10**-digits:.{digits}f} {unit}"
    more = "" if bar is None else f" ± {math.ceil(bar / step - 1e-9) * 10**-digits:.{digits}f}"
    return f"{count * 10**-digits:.{digits}f}{more} {unit}"


def capital(text: str) -> str:
    """The text with a capital first letter."""
    return text[:1].upper() + text[1:]


def _line_words(newton_per_metre: float, units: Units) -> str:
    if units == "us":
        return f"{newton_per_metre * FOOT / LBF:.3g} lbf/ft"
    return f"{newton_per_metre:.3g} N/m" if newton_per_metre < 999.5 else f"{newton_per_metre / 1000:.3g} kN/m"


def _turn_words(moment: float, units: Units) -> str:
    return f"{moment / LBF:.3g} lbf·in/in" if units == "us" else f"{moment:.3g} N·m/m"


def _pressure_words(pascal: float, units: Units) -> str:
    return f"{pascal * SQUARE_FOOT / LBF:.3g} lbf/ft²" if units == "us" else f"{pascal / 1000:.3g} kN/m²"


def _entry(stage: Stage, result: StageResult, age: float, places: Places) -> Mapping[str, Any]:
    """The stage as the answer tells it, as far as its sentence needs it."""
    peaks = result.peaks or {}
    return {
        "name": stage.name,
        "status": result.status,
        "age_s": age,
        "allowed_Pa": stage.allowed,
        "cracking_strength_Pa": stage.cracking,
        "use_of_allowed": {face: peaks[face].tension.tension / stage.allowed if peaks else None for face in FACES},
        "peak": {face: _peak_entry(peaks[face], stage, places) if peaks else None for face in FACES},
        "tips": None if result.tips is None else _tips_entry(result.tips, stage, places),
    }


def _peak_entry(peak: Peak, stage: Stage, places: Places) -> Mapping[str, Any]:
    return {
        "tension_Pa": peak.tension.tension,
        "error_Pa": peak.tension.error,
        "local_Pa": peak.tension.local,
        "place": places.of(peak.at, stage),
        "local_place": places.of(peak.local_at, stage) if peak.local_at else None,
    }


def _tips_entry(tips: Tipping, stage: Stage, places: Places) -> Mapping[str, Any]:
    return {
        "axis": tips.axis,
        "about": places.axis(tips.axis, stage) or None,
        "hold_down_N": tips.hold_down,
        "hold_down_at": tips.hold_down_at,
    }
