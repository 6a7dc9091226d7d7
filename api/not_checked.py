"""What the answer does not look at: the list shrinks by what the stages of a case do look at."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from api.case_model import Case, Stage

__all__ = ["NOT_CHECKED", "listed_words", "not_checked"]


def _dries(stage: Stage) -> bool:
    return any(getattr(bow, "warmer", None) is None for bow in getattr(stage, "bow", ()))


def _warms(stage: Stage) -> bool:
    return any(getattr(bow, "drying", None) is None for bow in getattr(stage, "bow", ()))


def _twists(stage: Stage) -> bool:
    """Hands each let go in turn, which twists the piece between the others."""
    return any(getattr(support, "kind", "") == "hand" for support in stage.support)


def _stays(stage: Stage) -> bool:
    return bool(getattr(stage, "lasting", False))


def _levels(stage: Stage) -> bool:
    asked = getattr(stage, "levels", False) or getattr(stage, "shims", None)
    return bool(asked) or any(getattr(support, "gap", 0.0) for support in stage.support)


def _moves(stage: Stage) -> bool:
    return any(getattr(load, "roaming", None) is not None for load in stage.load)


def _never(stage: Stage) -> bool:
    return False


STEEL = "what the steel does once it has cracked"
_ITEMS: tuple[tuple[str, Callable[[Stage], bool]], ...] = (
    ("a drop or a knock", _never),
    ("shrinkage and curling", _dries),
    ("heat", _warms),
    ("a twist while it is carried", _twists),
    ("supports out of level", _levels),
    ("people elsewhere than the loads say", _moves),
    ("loads that stay for years", _stays),
    (STEEL, _never),
)

NOT_CHECKED = (
    "a drop or a knock, shrinkage and curling, heat, a twist while it is carried, loads that stay for years, "
    "and what the steel does once it has cracked"
)
"""What a plain stage without bow, hands or lasting loads leaves open."""


def not_checked(case: Case) -> tuple[str, ...]:
    """What no stage of the case looks at, nor its [steel]."""
    looked = {STEEL} if getattr(case, "steel", None) is not None else set()
    return tuple(what for what, looks in _ITEMS if what not in looked and not any(looks(stage) for stage in case.stage))


def listed_words(items: Sequence[str]) -> str:
    """Several things as a sentence lists them.

    >>> listed_words(["heat", "a drop"])
    'heat, and a drop'
    """
    return ", ".join(items[:-1]) + (", and " if len(items) > 1 else "") + items[-1]
