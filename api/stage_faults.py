"""Keys of a stage that do not go together, or that its geometry does not allow: one clear fault each."""

from __future__ import annotations

import math
from collections.abc import Iterator

from api.case_model import EdgeSupport, HandSupport, Stage
from api.drawing import Drawing
from api.edges import ON_EDGE, locate
from api.errors import Problem
from api.postures import TURNED, bearing, lower_side, supports_of
from api.units import LENGTH, in_words
from api.variations import SLIDES, TRAVELS, sliding, travelling
from api.wording import points_text, spot_text

__all__ = ["count_variations", "key_faults", "standing_faults"]

MOST_VARIATIONS = 200
# A piece cannot stand on a chord below which more of it would hang than this share.
MOST_BELOW = 0.1


def key_faults(stage: Stage, where: str) -> list[Problem]:
    """Keys that do not go together."""
    return [*_of_posture(stage, where), *_of_ways(stage, where), *_of_count(stage, where)]


def standing_faults(drawing: Drawing, stage: Stage, where: str) -> list[Problem]:
    """A side on which a piece cannot stand, a slide in the air; for a stage without any other fault."""
    return [*_of_down(drawing, stage, where), *_of_slide(drawing, stage, where)]


def count_variations(stage: Stage) -> int:
    """How many variations the stage has at most."""
    hands = sum(isinstance(support, HandSupport) for support in stage.support)
    others = [support for support in stage.support if not isinstance(support, HandSupport)]
    pulling = sum(support.action != "rest" for support in others)
    ways = hands + sum(support.may_go for support in others) + pulling + (pulling > 1)
    ways += 2 * len(others) * (stage.shims is not None) + SLIDES * (stage.slide is not None)
    ways += TRAVELS * bool(travelling(stage)) + 2 * (stage.across > 0)
    return ways + len(TURNED) * (stage.posture == "turning")


def _of_posture(stage: Stage, where: str) -> Iterator[Problem]:
    """Keys that ask for another posture than the stage has."""
    posture = f'this stage is {stage.posture}: posture = "{stage.posture}"'
    if stage.posture == "leaning" and stage.angle is None:
        yield Problem(f"{where}.angle", '"angle" is missing', "add angle = 10: degrees from upright")
    if stage.posture != "leaning" and stage.angle is not None:
        fix = 'write posture = "leaning", or leave angle out'
        yield Problem(f"{where}.angle", f"an angle goes with a leaning piece; {posture}", fix)
    if stage.posture == "flat" and stage.down is not None:
        fix = 'write posture = "leaning", "on edge" or "turning", or leave down out'
        yield Problem(f"{where}.down", f"a flat piece has no lower side; {posture}", fix)
    if stage.posture not in ("leaning", "on edge") and stage.across:
        fix = 'write posture = "leaning" or "on edge", or leave across out; flat, multiplier does it'
        yield Problem(f"{where}.across", f"a piece is thrown across when it leans or is on edge; {posture}", fix)
    for key, asked in (
        ("form_pull", stage.form_pull > 0),
        ("shims", stage.shims is not None),
        ("levels", stage.levels),
        ("slide", stage.slide is not None),
    ):
        if asked and stage.posture != "flat":
            yield Problem(f"{where}.{key}", f"{key} goes with a flat piece; {posture}", f"leave {key} out")
    for k, support in enumerate(stage.support):
        if support.carries is not None and stage.posture == "flat":
            what = f"a flat piece has no edge to carry; {posture}"
            yield Problem(f"{where}.support[{k}].carries", what, "leave carries out")


def _of_ways(stage: Stage, where: str) -> Iterator[Problem]:
    """Shims and slides that the supports do not allow."""
    if stage.shims is not None and all(isinstance(support, HandSupport) for support in stage.support):
        yield Problem(f"{where}.shims", "there are hands only, and none is shimmed", "leave shims out")
    if stage.slide is None:
        return
    if math.hypot(*stage.slide) < 1e-3:
        fix = "give the way it still has to go, as slide = [24, 0], or leave slide out"
        yield Problem(f"{where}.slide", "the piece slides by nothing", fix)
    for k, support in enumerate(stage.support):
        if isinstance(support, EdgeSupport):
            what = "a support along the slab's own edge cannot stand still while the slab slides"
            fix = 'write it as kind = "line" with the points where it stands'
            yield Problem(f"{where}.support[{k}].kind", what, fix)
        elif support.action != "rest":
            fix = 'write action = "rest", and what is fastened later as a stage of its own'
            yield Problem(f"{where}.support[{k}].action", "nothing holds a piece that slides over it", fix)


def _of_down(drawing: Drawing, stage: Stage, where: str) -> Iterator[Problem]:
    """A side the piece cannot stand on, or that nothing carries."""
    if stage.posture == "flat":
        return
    if stage.down is not None:
        off = list(_down_off(drawing, stage.down, where))
        if off:
            yield from off
            return
    lower = lower_side(drawing, stage.down)
    if lower.below > MOST_BELOW:
        fix = "give the ends of a side with the piece above it, or leave down out: it then stands on its longest side"
        yield Problem(f"{where}.down", f"{lower.below:.0%} of the piece would hang below this line", fix)
    elif not bearing(drawing, stage, lower):
        side = points_text(lower.ends, drawing.system)
        fix = f'put one on its lower side {side}, or say of one there carries = "edge"'
        yield Problem(f"{where}.support", "nothing carries the lower side of the piece", fix)


def _down_off(drawing: Drawing, down: tuple[tuple[float, float], ...], where: str) -> Iterator[Problem]:
    spots = [locate(drawing.shape.outline, point) for point in down]
    for k, spot in enumerate(spots):
        if spot.off > ON_EDGE:
            what = f"the point lies {in_words(spot.off, LENGTH, drawing.system)} off the outline"
            fix = f"the nearest spot on it is {spot_text(spot.at, drawing.system)}"
            yield Problem(f"{where}.down[{k}]", what, fix)
    if all(spot.off <= ON_EDGE for spot in spots) and math.dist(spots[0].at, spots[1].at) < 0.01:
        yield Problem(f"{where}.down", "both ends are the same spot", "give the two ends of the lower side")


def _of_slide(drawing: Drawing, stage: Stage, where: str) -> Iterator[Problem]:
    """A slide during which the piece would hang in the air."""
    if stage.slide is None:
        return
    supports = supports_of(drawing, stage)
    for k in range(SLIDES, 0, -1):
        off = (stage.slide[0] * k / SLIDES, stage.slide[1] * k / SLIDES)
        if not sliding(drawing, stage, supports, off):
            left = in_words(math.hypot(*off), LENGTH, drawing.system)
            fix = "let it come from less far, or add the hands that carry it"
            yield Problem(f"{where}.slide", f"no support touches the piece with {left} still to go", fix)
            return


def _of_count(stage: Stage, where: str) -> Iterator[Problem]:
    count = count_variations(stage)
    if count > MOST_VARIATIONS:
        fix = f"at most {MOST_VARIATIONS} are solved in a stage: leave some out, or write it as several stages"
        yield Problem(where, f"this stage comes in {count} ways", fix)
