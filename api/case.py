"""Reading a case: a TOML or JSON file, or a body already parsed, becomes a checked Case, or every fault found in it.

Whatever the input, the outcome is a Case or a CaseError: a file that is missing, huge, not text, or nested a thousand
deep is a fault like any other.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from api.case_faults import known_keys, printable, problems_of
from api.case_model import MOST_STAGES, Case, Slab, Stage
from api.case_values import Reading
from api.drawing import slab_drawing
from api.errors import CaseError, Problem
from api.geometry import check_case, check_slab, check_stage
from api.life import lived
from api.outline_file import outline_from_file
from api.shapes import OutlineFile
from api.steel.grammar import MOST_RUNS, SteelTable
from api.units import UnitSystem

__all__ = ["Case", "case_schema", "check_judged", "load_case", "read_case"]

LARGEST_FILE = 1_000_000
DEEPEST = 32


def load_case(path: Path | str) -> Case:
    """The case in a TOML file (or JSON, by its ending); CaseError with every fault found."""
    path = Path(path)
    return read_case(_parsed(path), path.parent)


def read_case(data: Mapping[str, Any], folder: Path | None = None) -> Case:
    """The case in parsed TOML or JSON.

    folder is where a drawing of the outline may lie, None when there is none (HTTP). CaseError with every fault found.
    """
    system = _header(data)
    context = Reading(system)
    try:
        case = Case.model_validate(dict(data), context=context)
    except ValidationError as error:
        problems = problems_of(error, data)
        raise CaseError([*problems, *_faults_of_sound_parts(data, context, folder)]) from None
    drawn = _drawn(case, folder)
    problems = _name_faults(drawn)
    try:
        whole = lived(drawn)
    except CaseError as error:
        whole, problems = drawn, [*problems, *error.problems]
    problems += _in_the_file(check_case(whole), case.slab) + _steel_faults(whole)
    if problems:
        raise CaseError(problems)
    return whole


def case_schema() -> dict[str, Any]:
    """JSON schema of a case, with units, signs and bounds in its descriptions."""
    schema = Case.model_json_schema()
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "tensionlay case, version 1", **schema}


def check_judged(case: Case) -> None:
    """CaseError if the case has no layout of steel that could be judged."""
    if case.steel is None or not case.steel.run:
        fix = "add [steel] with [[steel.run]]: its face and points; or steel.layout, a drawing of it"
        raise CaseError([Problem("steel.run", "there is no layout to judge", fix)])


def _parsed(path: Path) -> Mapping[str, Any]:
    """The file as data; CaseError if it cannot be read as TOML or JSON."""
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise CaseError([_file_fault(path, "is too large for a case", f"at most {LARGEST_FILE} bytes are read")])
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        what = f"is not UTF-8 text: byte {error.start + 1} cannot be read"
        raise CaseError([_file_fault(path, what, "save it as UTF-8")]) from None
    except FileNotFoundError:
        raise CaseError([_file_fault(path, "does not exist", "check the name and the folder")]) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "no such name"
        raise CaseError([_file_fault(path, f"cannot be read: {reason}", "check the name and its rights")]) from None
    try:
        data = json.loads(text) if path.suffix.lower() == ".json" else tomllib.loads(text.replace("\r\n", "\n"))
    except (tomllib.TOMLDecodeError, json.JSONDecodeError) as error:
        raise CaseError([_file_fault(path, f"cannot be understood: {error}", "correct that line")]) from None
    except (RecursionError, ValueError):
        what = "cannot be understood: nested too deep, or a number too long"
        raise CaseError([_file_fault(path, what, "write it simpler")]) from None
    return data if isinstance(data, dict) else {"": data}


def _file_fault(path: Path, what: str, fix: str) -> Problem:
    return Problem("", f"the file {printable(path.name)} {what}", fix)


def _header(data: object) -> UnitSystem:
    """The unit system, once the data is a table of this version of the grammar; CaseError if it is not."""
    if not isinstance(data, Mapping):
        raise CaseError([Problem("", "a case is a table", "start with case = 1, title and units")])
    if _too_deep(data):
        raise CaseError([Problem("", f"nested more than {DEEPEST} deep", "a case needs no such depth")])
    version = data.get("case")
    if isinstance(version, int) and not isinstance(version, bool) and version > 1:
        what = "the case is written for a later version of this program"
        raise CaseError([Problem("case", what, "this version reads case = 1: get a newer one, or write case = 1")])
    problems = []
    if isinstance(version, bool) or version != 1:
        what = '"case" is missing' if version is None else "this is no version of the grammar"
        problems.append(Problem("case", what, "write case = 1 as the first line"))
    system: UnitSystem = "us" if data.get("units") == "us" else "si"
    if data.get("units") != system:
        what = '"units" is missing' if "units" not in data else "this is no system of units"
        fix = 'write units = "us" (inches, pounds) or units = "si" (metres, newtons)'
        problems.append(Problem("units", what, fix))
    if problems:
        raise CaseError([*problems, *_unknown_at_top(data)])
    return system


def _unknown_at_top(data: Mapping[str, Any]) -> list[Problem]:
    """Unknown keys of the first table, which often are a missing key misspelt."""
    unknown = [str(key) for key in data if key not in Case.model_fields]
    known = ", ".join(known_keys(Case))
    return [Problem(printable(key), f'unknown key "{printable(key)}"', f"known here: {known}") for key in unknown[:5]]


def _too_deep(data: object) -> bool:
    level = [data]
    for _ in range(DEEPEST):
        level = [
            child
            for item in level
            if isinstance(item, Mapping | list | tuple)
            for child in (item.values() if isinstance(item, Mapping) else item)
        ]
        if not level:
            return False
    return True


def _drawn(case: Case, folder: Path | None) -> Case:
    """The case with its drawings read in, of the outline and of a layout; CaseError if they cannot be."""
    slab, steel = _drawn_slab(case.slab, folder), _drawn_layout(case.steel, folder)
    changed = {key: value for key, value in (("slab", slab), ("steel", steel)) if value is not getattr(case, key)}
    return case.model_copy(update=changed) if changed else case


def _drawn_layout(steel: SteelTable | None, folder: Path | None) -> SteelTable | None:
    if steel is None or not steel.layout:
        return steel
    from api.steel.layout_file import runs_from_file

    runs = []
    for k, layout in enumerate(steel.layout):
        where = "steel.layout" if len(steel.layout) == 1 else f"steel.layout[{k}]"
        runs += [(f"{where}.file", run) for run in runs_from_file(layout, folder, where)]
    if len(steel.run) + len(runs) > MOST_RUNS:
        what = f"the layout has {len(steel.run) + len(runs)} runs: at most {MOST_RUNS} are taken"
        raise CaseError(
            [Problem("steel.layout", what, "leave some out, or draw a part of the slab as a case of its own")]
        )
    return steel.drawn(tuple(runs))


def _steel_faults(case: Case) -> list[Problem]:
    """Faults of [steel] upon a slab that is sound; what they need is loaded for a case that has it only."""
    if case.steel is None or check_slab(case.slab, case.units):
        return []
    from api.steel.faults import steel_faults

    return steel_faults(case)


def _drawn_slab(slab: Slab, folder: Path | None) -> Slab:
    if not isinstance(slab.outline, OutlineFile):
        return slab
    return slab.model_copy(update={"outline": outline_from_file(slab.outline, folder)})


def _in_the_file(problems: list[Problem], written: Slab) -> list[Problem]:
    """The problems, those of a drawn outline placed at the key that names the drawing."""
    if not isinstance(written.outline, OutlineFile):
        return problems
    return [
        replace(problem, where="slab.outline.file", what=f"in the drawing: {problem.what}")
        if problem.where.startswith("slab.outline")
        else problem
        for problem in problems
    ]


def _faults_of_sound_parts(data: Mapping[str, Any], context: Reading, folder: Path | None) -> list[Problem]:
    """Faults of geometry in those parts of a faulty case that can be read: the slab, then every stage upon it."""
    table = data.get("slab")
    try:
        if isinstance(table, Mapping):  # the thickness may be what is wrong; the plan can be checked without it
            table = {**table, "thickness": "20 mm"}
        slab = _drawn_slab(Slab.model_validate(table, context=context), folder)
        problems = check_slab(slab, context.system)
        if problems:
            return problems
        drawing = slab_drawing(slab, context.system)
    except ValidationError:
        return []
    except CaseError as error:
        return list(error.problems)
    stages = data.get("stage")
    for k, raw in enumerate(stages[:MOST_STAGES] if isinstance(stages, list) else []):
        try:
            stage = Stage.model_validate(raw, context=context)
        except ValidationError:
            continue
        problems += check_stage(drawing, stage, f"stage[{k}]")
    return problems


def _name_faults(case: Case) -> list[Problem]:
    """Names and ids that must be unique and are not, and ids that are taken."""
    problems = []
    for k, stage in enumerate(case.stage):
        before = case.stage[:k]
        if any(stage.name == other.name for other in before):
            problems.append(
                Problem(f"stage[{k}].name", f'a second stage "{stage.name}"', "give each stage its own name")
            )
        elif not stage.id:
            problems.append(Problem(f"stage[{k}].id", "no id can be made of this name", 'give one: id = "carry"'))
        elif stage.id == "life":
            problems.append(Problem(f"stage[{k}].id", 'the id "life" is reserved', "give another id or name"))
        elif any(stage.id == other.id for other in before):
            what = f'a second stage with the id "{stage.id}"'
            problems.append(Problem(f"stage[{k}].id", what, f'give this one its own: id = "{stage.id[:36]}-{k + 1}"'))
    for k, probe in enumerate(case.probe):
        if any(probe.name == other.name for other in case.probe[:k]):
            problems.append(Problem(f"probe[{k}].name", f'a second probe "{probe.name}"', "give each its own name"))
    return problems
