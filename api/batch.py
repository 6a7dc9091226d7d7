"""A folder of cases, several at a time: one result folder and one line a case, and a table of all of them.

Each case is solved in a process of its own choosing from a small crew, so that neither a bad case nor one that brings
its process down stops the others. Lines come in the order of the files' names, whoever finishes first.
"""

from __future__ import annotations

import contextlib
import csv
import io
import os
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass, fields
from pathlib import Path

from api.errors import CaseError, Problem
from api.problems import problem_of
from api.progress import TerminalProgress
from api.result_folder import remove_leftovers, replaced_folder, write_json
from api.workers import Crew, TaskFailedError, TooSlowError, WorkerDiedError, usable_cores

__all__ = ["Row", "find_cases", "run_batch"]

SOLVE = "api.tasks:solve_file"
SUMMARY = "summary.csv"


@dataclass(frozen=True, slots=True)
class Row:
    """One line of summary.csv: the case's worst stage and face in SI, or the problem that kept it from an answer."""

    case: str
    worst_stage: str = ""
    status: str = ""
    share_of_allowed: float | None = None
    peak_Pa: float | None = None  # noqa: N815 (a column of summary.csv: it carries its unit as the answer's keys do)
    error_Pa: float | None = None  # noqa: N815 (likewise)
    seconds: float | None = None
    problem: str = ""
    sentence: str = ""


@dataclass(frozen=True, slots=True)
class _Task:
    """A case file to solve: name as it is told, target its result folder, obstacle what forbids to solve it."""

    file: Path
    name: str
    target: Path
    obstacle: str = ""


def run_batch(
    folder: Path, out: Path, *, jobs: int | None = None, maps: bool = True, say: Callable[[str], None] = print
) -> bool:
    """Solve every case below folder into out; whether every stage of every case holds.

    CaseError if folder or out is of no use, or there is no case at all.
    """
    tasks = find_cases(folder, out)
    _take_summary_away(out)
    crew, progress = Crew(jobs or usable_cores()), _Counter(len(tasks))
    rows: list[Row] = []
    threads = ThreadPoolExecutor(jobs or usable_cores(), thread_name_prefix="tensionlay case")
    try:
        for row in threads.map(lambda task: _solve(crew, task, maps, progress), tasks):
            rows.append(row)
            progress.say(_line(row), say)
    finally:
        crew.dismiss()
        threads.shutdown(wait=True, cancel_futures=True)
        progress.close()
    _write_summary(out, rows)
    good = sum(row.status == "holds" for row in rows)
    say(f"{good} of {len(rows)} cases hold; written to {out}, table in {out / SUMMARY}")
    return good == len(rows)


def find_cases(folder: Path, out: Path) -> list[_Task]:
    """Every *.toml below folder, by name; hidden folders, linked folders and out itself are not entered."""
    if not folder.is_dir():
        what = f"{folder} is no folder" if folder.exists() else f"{folder} does not exist"
        raise CaseError(
            [Problem("FOLDER", what, "give a folder of case files; for one file there is tensionlay solve")]
        )
    if out.exists() and not out.is_dir():
        raise CaseError([Problem("--out", f"{out} is a file", "give a folder that does not exist yet")])
    found = sorted(_files(folder, out), key=lambda file: file.relative_to(folder).as_posix())
    if not found:
        raise CaseError(
            [Problem("FOLDER", f"no .toml file in {folder} or below it", "give the folder of the case files")]
        )
    tasks: list[_Task] = []
    taken: dict[str, str] = {}
    for file in found:
        name = file.relative_to(folder).as_posix()
        stem = name[: -len(".toml")]
        obstacle = ""
        if (other := taken.setdefault(stem.casefold(), name)) != name:
            obstacle = f"its result folder would be that of {other}: rename one of them"
        tasks.append(_Task(file, name, out / stem, obstacle))
    return [_not_above_another(task, taken) for task in tasks]


def _not_above_another(task: _Task, taken: dict[str, str]) -> _Task:
    """The task with an obstacle if its result folder would hold other cases' results."""
    above = task.name[: -len(".toml")].casefold() + "/"
    below = next((name for stem, name in taken.items() if stem.startswith(above)), None)
    if below is None or task.obstacle:
        return task
    return _Task(task.file, task.name, task.target, f"its result folder would hold that of {below}: rename one of them")


def _files(folder: Path, out: Path) -> Iterator[Path]:
    kept_out = out.resolve()
    for here, below, names in os.walk(folder):
        at_home = Path(here).resolve()
        below[:] = [name for name in below if not name.startswith(".") and at_home / name != kept_out]
        yield from (Path(here) / name for name in names if name.lower().endswith(".toml"))


def _solve(crew: Crew, task: _Task, maps: bool, counter: _Counter) -> Row:
    """One case from file to row; whatever goes wrong is told in the row and in the case's own folder."""
    begin = time.monotonic()
    pid = 0
    try:
        if task.obstacle:
            raise CaseError([Problem("", task.obstacle, "")])
        with crew.worker() as worker:
            pid = worker.pid
            row: Row = worker.run(SOLVE, task.file, task.name, task.target, maps)
        return row
    except (CaseError, TaskFailedError, TooSlowError, WorkerDiedError) as error:
        if isinstance(error, WorkerDiedError):
            remove_leftovers(task.target, pid)
            if crew.dismissed:  # the batch itself was interrupted: this case has not failed
                raise
        return _failed(task, error, time.monotonic() - begin)
    finally:
        counter.done()


def _failed(task: _Task, error: Exception, seconds: float) -> Row:
    document = problem_of(error, task.name)
    if not task.obstacle:
        # A folder that cannot be replaced is the very problem: then the line and the table tell it.
        with contextlib.suppress(CaseError, OSError), replaced_folder(task.target) as fresh:
            write_json(fresh / "problem.json", document)
    told = str(error).splitlines()
    more = f" (and {len(told) - 1} more)" if len(told) > 1 else ""
    return Row(task.name, seconds=round(seconds, 3), problem=f"{told[0]}{more}" if told else document["title"])


def _line(row: Row) -> str:
    if row.problem:
        return f"{row.case}: NO ANSWER. {row.problem}"
    status = row.status if row.status == "holds" else row.status.upper()
    return f"{row.case}: {status}. {row.sentence}"


def _take_summary_away(out: Path) -> None:
    """Remove the table of an earlier run, which would not belong to the new results; CaseError if it is not ours."""
    file = out / SUMMARY
    if not file.exists():
        return
    if not file.is_file() or not file.read_bytes().startswith(_header().encode()):
        raise CaseError([Problem("--out", f"{file} is not a table of this program", "give another folder")])
    file.unlink()


def _write_summary(out: Path, rows: Sequence[Row]) -> None:
    out.mkdir(parents=True, exist_ok=True)
    part = out / f".{SUMMARY}.{os.getpid()}.part"
    with part.open("w", newline="", encoding="utf-8") as stream:
        table = csv.DictWriter(stream, _columns(), lineterminator="\n", extrasaction="ignore")
        table.writeheader()
        table.writerows(asdict(row) for row in rows)
    part.replace(out / SUMMARY)


def _columns() -> list[str]:
    return [one.name for one in fields(Row) if one.name != "sentence"]


def _header() -> str:
    stream = io.StringIO()
    csv.DictWriter(stream, _columns(), lineterminator="\n").writeheader()
    return stream.getvalue()


class _Counter:
    """How many cases are done, on a terminal only: elsewhere the lines themselves tell it."""

    def __init__(self, of: int) -> None:
        self._of, self._count = of, 0
        self._show = TerminalProgress()

    def done(self) -> None:
        """Count one case more."""
        self._count += 1
        if self._show.live:
            self._show(self._count, self._of, f"{self._count} of {self._of} cases")

    def say(self, line: str, say: Callable[[str], None]) -> None:
        """Print a line in place of the count."""
        self._show.close()
        say(line)

    def close(self) -> None:
        """Take the count away."""
        self._show.close()
