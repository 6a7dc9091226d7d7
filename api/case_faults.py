"""pydantic's errors in the words of a case: where (a path its writer knows), what, and how to put it right."""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from api import case_concrete, case_life, case_model, case_regions, shapes
from api.errors import Problem
from api.steel import grammar

__all__ = ["known_keys", "path_text", "printable", "problems_of"]

MOST_REPORTED = 40

_OUTLINE: dict[str, type[BaseModel]] = {
    "circle": shapes.Circle,
    "ellipse": shapes.Ellipse,
    "rectangle": shapes.Rectangle,
    "polygon": shapes.Polygon,
    "curve": shapes.Curved,
    "file": shapes.OutlineFile,
}
_OPENING: dict[str, type[BaseModel]] = {
    "circle": shapes.CircleOpening,
    "ellipse": shapes.EllipseOpening,
    "rectangle": shapes.RectangleOpening,
    "polygon": shapes.PolygonOpening,
    "curve": shapes.CurveOpening,
}
_SUPPORT: dict[str, type[BaseModel]] = {
    "point": case_model.PointSupport,
    "line": case_model.LineSupport,
    "edge": case_model.EdgeSupport,
    "area": case_model.AreaSupport,
    "hand": case_model.HandSupport,
}
_REGION: dict[str, type[BaseModel]] = {
    "points": case_regions.PointsRegion,
    "circle": case_regions.CircleRegion,
    "ellipse": case_regions.EllipseRegion,
    "rectangle": case_regions.RectangleRegion,
    "polygon": case_regions.PolygonRegion,
    "curve": case_regions.CurveRegion,
}
_LOAD: dict[str, type[BaseModel]] = {
    "point": case_model.PointLoad,
    "line": case_model.LineLoad,
    "edge": case_model.EdgeLoad,
    "area": case_model.AreaLoad,
}
_PLAIN: dict[tuple[str, ...], type[BaseModel]] = {
    (): case_model.Case,
    ("slab",): case_model.Slab,
    ("concrete",): case_model.Concrete,
    ("concrete", "strength_gain"): case_model.StrengthGain,
    ("concrete", "coupon"): case_concrete.Coupon,
    ("concrete", "glass_fibre"): case_concrete.GlassFibre,
    ("stage",): case_model.Stage,
    ("stage", "bow"): case_model.Bow,
    ("probe",): case_model.Probe,
    ("cabinet",): case_life.Cabinet,
    ("bracket",): case_life.Bracket,
    ("zone",): case_life.Zone,
    ("life",): case_life.Life,
    ("life", "strip"): case_life.Strip,
    ("life", "turn"): case_life.Turn,
    ("life", "carry"): case_life.Carry,
    ("life", "haul"): case_life.Haul,
    ("life", "set"): case_life.SetDown,
    ("life", "use"): case_life.Use,
    ("life", "use", "bowl"): case_life.Bowl,
    ("steel",): grammar.SteelTable,
    ("steel", "cover"): grammar.Cover,
    ("steel", "spacing"): grammar.Spacing,
    ("steel", "own"): grammar.OwnSteel,
    ("steel", "run"): grammar.SteelRun,
    ("steel", "layout"): grammar.Layout,
}
# Tables of several kinds: pydantic puts the kind into the path of an error, right behind these names.
_KINDS: dict[tuple[str, ...], dict[str, type[BaseModel]]] = {
    ("slab", "outline"): _OUTLINE,
    ("slab", "opening"): _OPENING,
    ("slab", "region"): _REGION,
    ("stage", "support"): _SUPPORT,
    ("life", "set", "support"): _SUPPORT,
    ("stage", "load"): _LOAD,
}
# Parts of a piece that are no flat slab: why not, and what can be done.
_BENDS_ALONG = "it bends together with the slab as a deep beam", "give the flat slab alone, its edge supported there"
_NO_FLAT_SLAB = {
    "rib": _BENDS_ALONG,
    "leg": ("it is a slab on its end", "give the flat slab alone, with a line of support where the leg stands"),
    "waterfall": ("it is a slab on its end", "give the flat slab alone, with a line of support where the leg stands"),
    "basin": (
        "a basin cast in one with the slab is a shell",
        "give it as an opening, and the basin and the water as an edge load on its rim",
    ),
    "ramp": ("it carries traffic and falls under the building code", "ask a licensed engineer"),
    "floor": ("a floor that carries people falls under the building code", "ask a licensed engineer"),
    "stair": ("a stair falls under the building code", "ask a licensed engineer"),
}

Path = tuple[int | str, ...]


def problems_of(error: ValidationError, data: Mapping[str, Any]) -> list[Problem]:
    """Every error as a Problem, in the order of the case; at most MOST_REPORTED, the last one then counts the rest."""
    found: dict[tuple[str, str], Problem] = {}
    all_details = error.errors(include_url=False)
    for details in all_details:
        if details["type"] == "too_short" and any(_within(other["loc"], details["loc"]) for other in all_details):
            continue  # the entries are there, but cannot be read: that is said already
        problem = _problem(details)
        found.setdefault((problem.where, problem.what), problem)
    problems = list(found.values())
    if len(problems) > MOST_REPORTED:
        more = Problem(
            "", f"and {len(problems) - MOST_REPORTED} more faults", "put the first ones right, then try again"
        )
        problems = [*problems[:MOST_REPORTED], more]
    return problems


def path_text(path: Sequence[int | str]) -> str:
    """The path as text.

    >>> path_text(["stage", 2, "support", 0, "gap"])
    'stage[2].support[0].gap'
    """
    text = ""
    for step in path:
        if isinstance(step, int):
            text += f"[{step}]"
        else:
            text += ("." if text else "") + printable(step)
    return text


def printable(text: str) -> str:
    """The text for a message: no control characters, 40 characters at most."""
    shown = "".join(c if c.isprintable() else "?" for c in text[:41])
    return shown if len(shown) <= 40 else shown[:37] + "..."


def known_keys(model: type[BaseModel]) -> list[str]:
    """The keys a table may have."""
    return list(model.model_fields)


def _within(inner: Path, outer: Path) -> bool:
    return len(inner) > len(outer) and inner[: len(outer)] == outer


def _problem(details: ErrorDetails) -> Problem:
    path, model, kinds = _without_kinds(details["loc"])
    where, kind = path_text(path), details["type"]
    context = details.get("ctx", {})
    if kind == "case_fault":
        return Problem(where, context["what"], context["fix"])
    if kind == "extra_forbidden":
        return _unknown_key(path, model, kinds)
    if kind == "missing":
        return _missing(path)
    if kind.startswith("union_tag"):
        return _no_kind(path, kind, context, kinds)
    if kind == "literal_error":
        return _not_one_of(where, details["input"], context)
    if kind == "too_short" and path[-1:] == ("support",):
        return Problem(where, "the stage has no support", _ABOUT["support"])
    return Problem(where, *_standard(kind, details["msg"], context))


def _without_kinds(loc: Path) -> tuple[Path, type[BaseModel] | None, dict[str, type[BaseModel]] | None]:
    """The path as its writer knows it, the table it ends in (None: not known), and the kinds that table may have."""
    path: list[int | str] = []
    names: tuple[str, ...] = ()
    model: type[BaseModel] | None = None
    kinds: dict[str, type[BaseModel]] | None = None
    expect_kind = False
    for step in loc:
        if isinstance(step, int):
            path.append(step)
            continue
        if expect_kind and (step in (kinds or {}) or step == "corners"):
            model, expect_kind = (kinds or {}).get(step), False
            continue
        before = names
        path.append(step)
        names = (*names, step)
        if names in _KINDS:
            kinds, expect_kind, model = _KINDS[names], True, None
        elif before in _PLAIN:
            kinds, model = None, _PLAIN[before]
    return tuple(path), model, kinds


def _unknown_key(path: Path, model: type[BaseModel] | None, kinds: dict[str, type[BaseModel]] | None) -> Problem:
    key = str(path[-1])
    if path[:-1] in ((), ("slab",)) and (part := key.lower().removesuffix("s")) in _NO_FLAT_SLAB:
        why, instead = _NO_FLAT_SLAB[part]
        return Problem(path_text(path), f"a {part} is not computed here: {why}", instead)
    known = known_keys(model) if model is not None else []
    siblings = {name for name, other in (kinds or {}).items() if key in other.model_fields}
    what = f'unknown key "{printable(key)}"'
    if siblings:
        what = f'"{key}" does not go with this kind; it goes with {" or ".join(sorted(siblings))}'
    near = difflib.get_close_matches(key[:60].lower(), known, 1, 0.5)
    fix = f'did you mean "{near[0]}"? ' if near else ""
    return Problem(path_text(path), what, f"{fix}known here: {', '.join(known)}")


def _missing(path: Path) -> Problem:
    if path and isinstance(path[-1], int):
        return Problem(path_text(path[:-1]), "an entry is missing", "give all of them")
    key = path[-1] if path else ""
    return Problem(path_text(path), f'"{key}" is missing', f"{_ABOUT.get(str(key), f'add {key} = ...')}")


def _no_kind(path: Path, kind: str, context: Mapping[str, Any], kinds: dict[str, type[BaseModel]] | None) -> Problem:
    key = str(context.get("discriminator", "kind")).strip("'")
    allowed = list(kinds or {})
    fix = f"{key} is one of: {', '.join(allowed)}"
    if kind == "union_tag_not_found":
        return Problem(path_text((*path, key)), f'"{key}" is missing', fix)
    tag = str(context.get("tag", ""))
    near = difflib.get_close_matches(tag[:60].lower(), allowed, 1, 0.5)
    hint = f'did you mean "{near[0]}"? ' if near else ""
    return Problem(path_text((*path, key)), f'"{printable(tag)}" is no {key} known here', hint + fix)


def _not_one_of(where: str, value: object, context: Mapping[str, Any]) -> Problem:
    expected = str(context.get("expected", "")).replace("'", '"')
    shown = f'"{printable(value)}"' if isinstance(value, str) else "this"
    fix = f"write {expected}"
    if isinstance(value, str):
        near = difflib.get_close_matches(value[:60].lower(), expected.replace('"', "").replace(",", " ").split(), 1)
        if near:
            fix = f'did you mean "{near[0]}"? {fix}'
    if value in ("top", "bottom"):
        fix = 'faces are physical: write "show" if the finished face looks up, "underside" if it looks down'
    return Problem(where, f"{shown} is not understood here", fix)


def _standard(kind: str, message: str, context: Mapping[str, Any]) -> tuple[str, str]:
    """What and fix for the errors that pydantic words itself."""
    if kind == "too_long":
        bound = context.get("max_length")
        return f"too many entries: at most {bound} here", "leave some out, or split the piece into several cases"
    if kind == "too_short":
        least = context.get("min_length")
        return f"too few entries: at least {least} needed here", "add what is missing"
    if kind in ("tuple_type", "list_type"):
        return "this must be a list", "write [ ... ], or repeat the table as [[ ... ]]"
    if kind in ("model_type", "model_attributes_type", "dict_type"):
        return "this must be a table", "write a table of keys: { key = value, ... }"
    return f"this cannot be read: {message[:120]}", "see the grammar of a case, or `tensionlay schema`"


_ABOUT = {
    "case": "add case = 1, the version of the grammar, as the first line",
    "title": 'add title = "what the piece is"',
    "units": 'add units = "us" (inches, pounds) or units = "si" (metres, newtons)',
    "slab": "add a table [slab] with thickness and outline",
    "concrete": "add a table [concrete] with density and compressive_strength",
    "stage": "add at least one [[stage]] with name, age, up and its supports",
    "support": "add at least one [[stage.support]]: without any the slab falls",
    "age": 'add the age since casting: age = 3 (days) or age = "20 h"',
    "up": 'add up = "show" or up = "underside": the face that looks up',
    "action": 'add action = "rest" (bears only), "hold" (both ways) or "clamp" (slope too)',
    "at": "add at = [x, y]",
    "points": "add points = [[x, y], [x, y], ...]",
    "name": 'add name = "..."',
    "thickness": 'add thickness = 1.5 (in the file\'s units) or "38 mm"',
    "outline": "add outline = [[x, y], [x, y], [x, y], ...], 3 or more corners",
    "width": 'add width = 2 (in the file\'s units) or "50 mm"',
    "span": 'add span = "12 in", between the two rests of the test strip',
    "face": 'add face = "show" or face = "underside": the face it lies near',
    "diameter": 'add diameter = 0.148 (in the file\'s units) or "3.76 mm"',
    "yield_strength": 'add yield_strength = "70 ksi" or "485 MPa"',
    "file": 'add file = "layout.dxf", a drawing beside the case',
    "limit_of_proportionality": 'add limit_of_proportionality = "7 MPa", or "1000 psi"',
    "density": 'add density = "145 lb/ft3" or "2320 kg/m3"',
    "force": 'add force = "300 lbf" or a number in the file\'s units',
    "force_per_length": 'add force_per_length = "50 lbf/ft" or a number in the file\'s units',
}
