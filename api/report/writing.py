"""A solved case becomes its calculation report: sections put together as data, laid out by typst, written as a PDF."""

from __future__ import annotations

import json
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from importlib.resources import files
from pathlib import Path
from typing import Any

import typst

from api.figures import percent_words
from api.map_words import capital, cautions_of
from api.report.blocks import Block, Text, bold, bullets, facts, heading, para, picture
from api.report.piece import assumed_section, concrete_section, shape_section
from api.report.plan import binding_words, cover_section, given_section, plan_section, total_words
from api.report.stages import loads_section, pull_section
from api.report.steel import bends_section, checks_section, owed_section, steel_section, worth_words
from api.solve import Solved
from api.steel.found import SteelFound
from api.version import VERSION

__all__ = ["ReportError", "report_data", "write_report"]

TITLE = "Calculation of a concrete slab and its steel"
PAPERS = {"us": "us-letter", "si": "a4"}
TEMPLATE = "report.typ"


class ReportError(RuntimeError):
    """The report could not be laid out: what typst says of it."""


def write_report(solved: Solved, path: Path, maps: Mapping[str, Path] | None = None) -> None:
    """Write the report into a PDF file, letter size for US units, A4 for SI; maps: captions and the PNG files to add.

    The same case gives the same bytes: no time, no path, no font of the machine gets in. ReportError if it cannot be
    laid out; OSError if a map cannot be read or the file not be written.
    """
    pictures = dict(maps or {})
    with tempfile.TemporaryDirectory(prefix="tensionlay-report-") as folder:
        root = Path(folder)
        names = {caption: f"map{number}.png" for number, caption in enumerate(pictures)}
        for caption, name in names.items():
            shutil.copyfile(pictures[caption], root / name)
        data = report_data(solved, names)
        (root / "data.json").write_text(json.dumps(data, allow_nan=False), encoding="utf-8")
        (root / TEMPLATE).write_text(files("api.report").joinpath(TEMPLATE).read_text("utf-8"), encoding="utf-8")
        try:
            page = typst.compile(root / TEMPLATE, root=root, ignore_system_fonts=True)
        except RuntimeError as error:
            raise ReportError(f"the report could not be laid out: {error}") from error
    path.write_bytes(page)


def report_data(solved: Solved, maps: Mapping[str, str]) -> dict[str, Any]:
    """What the template lays out; maps: captions and the names of their files beside it."""
    return {
        "heading": TITLE,
        "title": solved.case.title,
        "short": _shortened(solved.case.title),
        "program": f"tensionlay {VERSION}",
        "hash": solved.answer["hash"],
        "paper": PAPERS[solved.case.units],
        "blocks": list(_blocks(solved, maps)),
    }


def _shortened(title: str, most: int = 64) -> str:
    """A title that stays on its line at the head of every page."""
    return title if len(title) <= most else f"{title[: most - 4].rstrip()} ..."


def _blocks(solved: Solved, maps: Mapping[str, str]) -> Iterator[Block]:
    found = solved.steel
    yield from _summary(solved, found)
    yield from assumed_section(solved)
    yield from shape_section(solved)
    yield from concrete_section(solved)
    yield from loads_section(solved, found.demand.names if found else ())
    yield from pull_section(solved)
    if found is not None:
        yield from steel_section(solved, found)
        yield from owed_section(solved, found)
        yield from checks_section(solved, found)
        yield from bends_section(solved, found)
        yield from plan_section(solved, found)
        yield from cover_section(solved, found)
        yield from given_section(solved, found)
    yield heading("Cautions")
    yield bullets([*cautions_of(solved.case), *_steel_cautions(found)])
    if maps:
        yield heading("Maps")
        yield from (picture(name, caption) for caption, name in maps.items())


def _summary(solved: Solved, found: SteelFound | None) -> Iterator[Block]:
    """What it comes to, on the first page."""
    yield bullets(str(sentence) for sentence in solved.answer["verdict"]["sentences"][:3])
    if found is None:
        yield para("The case asks for no steel: this report is of the slab alone.")
        return
    rows: list[tuple[Text, Text]] = []
    if found.plan is not None:
        rows += _laid_rows(solved, found)
    if found.judged is not None:
        rows.append(("layout of the case", _carries(found.judged.carried.factor)))
        rows.append(("it binds at", binding_words(solved, found.judged.carried)))
    if found.code_cover is not None:
        rows.append(("at the code's cover", _carries(found.code_cover.factor)))
    elif found.plan is not None:
        rows.append(("at the code's cover", "its layers do not fit"))
    rows.append(("checks", _checks_words(found)))
    if found.bendings:
        counts = {verdict: sum(one.verdict == verdict for one in found.bendings) for verdict in BENDING}
        rows.append(
            ("if it cracks", "; ".join(f"{word} in {counts[key]}" for key, word in BENDING.items() if counts[key]))
        )
    yield facts(rows)


BENDING = {"bends": "it bends", "snaps": "it snaps", "not sure": "not sure", "no steel": "no steel there"}


def _laid_rows(solved: Solved, found: SteelFound) -> Iterator[tuple[Text, Text]]:
    plan = found.plan
    if plan is None:
        return
    if plan.failures:
        yield "plan", bold("none carries what is owed")
        return
    yield "plan", _carries(plan.carried.factor)
    yield "it binds at", binding_words(solved, plan.carried)
    laid = f"{total_words(plan.length, solved.case.units)} in {len(plan.runs)} runs of {found.steel.name}"
    if plan.mat is not None and plan.mat.length > 0:
        share = plan.length / plan.mat.length
        laid += f"; {percent_words(share)} of the best uniform mat's {total_words(plan.mat.length, solved.case.units)}"
    yield "laid in all", laid


def _carries(factor: float) -> Text:
    if factor >= 1:
        return [bold(worth_words(factor)), " times what is owed"]
    return [bold(worth_words(factor)), " of what is owed: ", bold("not enough")]


def _checks_words(found: SteelFound) -> Text:
    asked = [check for check in found.checks if check.relation is not None or not check.ok]
    failing = list(dict.fromkeys(check.name for check in asked if not check.ok))
    if not failing:
        return f"all {len(asked)} that ask for something hold"
    return [bold(f"{sum(not check.ok for check in asked)} of {len(asked)} fail"), f": {', '.join(failing)}"]


def _steel_cautions(found: SteelFound | None) -> list[str]:
    if found is None:
        return []
    return [
        capital(
            "steel in a thin slab hardly raises the load at which it cracks: it holds the pieces once it has cracked"
        ),
        "What it carries is a lower bound by equilibrium, of bending alone: shear, punching under a foot or a bracket, "
        "and the anchorage of hardware are not in it.",
    ]
