"""The files about the steel of a solved case: sheets, cut list, report; which there are, and how they are written."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from api.result_folder import LIFE
from api.solve import Solved
from api.verdict import face_words

__all__ = ["FOLDER", "USE", "drawn", "file_names", "write_files"]

FOLDER = "steel"
"""Their folder within that of the result."""
USE = "use"
"""Maps of demand over strength are called use.show.png and use.underside.png."""
REPORT = "report.pdf"


def drawn(solved: Solved) -> Solved | None:
    """The case with the one layout that sheets and maps are of: the given one where it was judged or nothing else is.

    None where there is no layout to draw: no steel, or no plan that carries what is owed.
    """
    found = solved.steel
    if found is None:
        return None
    planned = found.plan is not None and not found.plan.failures
    if found.given and (solved.judged or not planned):
        return replace(solved, steel=replace(found, plan=None))
    return solved if planned else None


def file_names(solved: Solved, maps: bool = True) -> tuple[str, ...]:
    """Paths within the result folder of all files about the steel; maps: whether pictures are drawn."""
    if solved.steel is None:
        return ()
    names = [REPORT]
    layout = drawn(solved)
    if layout is not None:
        from api.sheet.matter import matter_of
        from api.sheet.writing import draw_sheets

        count = len(draw_sheets(matter_of(layout, layout.steel)).boards)
        names += ["sheet.dxf", "sheet.pdf", *(f"sheet-{k + 1}.svg" for k in range(count)), "cut-list.csv"]
        names += [f"{USE}.{face}.png" for face in ("show", "underside")] if maps else []
    return tuple(f"{FOLDER}/{name}" for name in names)


def write_files(solved: Solved, out: Path) -> None:
    """Write sheets, cut list and report below a result folder; what maps lie there already go into the report."""
    if solved.steel is None:
        return
    folder = out / FOLDER
    folder.mkdir(exist_ok=True)
    from api.report import write_report
    from api.sheet import write_sheets

    if (layout := drawn(solved)) is not None:
        write_sheets(layout, folder)
    write_report(solved, folder / REPORT, _pictures(out))


def _pictures(out: Path) -> dict[str, Path]:
    """Captions and files of the maps that a report shows, those that are there."""
    maps = {
        f"{what}, {face_words(face)}": out / name.format(face=face)
        for what, name in (
            ("The most that any stage pulls", f"maps/{LIFE}.{{face}}.png"),
            ("Demand over strength of the steel", f"{FOLDER}/{USE}.{{face}}.png"),
        )
        for face in ("show", "underside")
    }
    return {caption: path for caption, path in maps.items() if path.is_file()}
