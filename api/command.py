"""The command line: solve one case or a folder of them, judge a layout of steel, print the grammar, serve over HTTP.

Exit codes: 0 every stage holds; 1 some stage is marginal, cracks or tips; 2 the case or the call is wrong; 3 the
program failed; 130 interrupted. Nothing heavy is imported before a command runs, so that help is instant.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import sys
import traceback
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from types import FrameType
from typing import Any, TypeVar

import click

from api.errors import CaseError
from api.version import VERSION

__all__ = ["cli", "main"]

OK, NOT_ALL_HOLD, WRONG, FAILED, INTERRUPTED = 0, 1, 2, 3, 130
Command = TypeVar("Command", bound=Callable[..., Any])


def main(args: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code."""
    state = {"debug": bool(os.environ.get("TENSIONLAY_DEBUG"))}
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(AttributeError):
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]  # a stream of a test may lack it
    try:
        code = cli.main(args=args, prog_name="tensionlay", standalone_mode=False, obj=state)
        return int(code or OK)
    except click.ClickException as error:
        error.show()
        return WRONG
    except CaseError as error:
        click.echo(_faults(error), err=True)
        return WRONG
    except _ToldError as error:
        click.echo(str(error), err=True)
        return FAILED
    except (click.Abort, KeyboardInterrupt):
        click.echo("interrupted; nothing half-written is left", err=True)
        return INTERRUPTED
    except Exception as error:
        if state["debug"]:
            traceback.print_exc()
        else:
            what = "there was not enough memory" if isinstance(error, MemoryError) else _one_line(error)
            click.echo(f"tensionlay failed: {what} (--debug shows where)", err=True)
        return FAILED


class _ToldError(Exception):
    """A failure that has been put into words for the user."""


def _debug(context: click.Context, option: click.Parameter, value: bool) -> None:
    if value:
        context.obj["debug"] = True


debug_option = click.option(
    "--debug", is_flag=True, expose_value=False, callback=_debug, help="Show the traceback if the program fails."
)


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(VERSION, prog_name="tensionlay")
def cli() -> None:
    """Where a thin concrete slab is pulled, how hard, along which paths, and whether it holds.

    A calculation aid: the local code and a licensed engineer decide.
    """


@cli.command()
@click.argument("case", type=click.Path(path_type=Path))
@click.option(
    "--out", required=True, type=click.Path(path_type=Path), help="Folder for the result; an older result is replaced."
)
@click.option("--no-maps", is_flag=True, help="Leave the pictures out.")
@click.option(
    "--advice/--no-advice",
    default=None,
    help="Try what would help, which takes many times as long; default: where the case has [life].",
)
@debug_option
def solve(case: Path, out: Path, no_maps: bool, advice: bool | None) -> int:
    """Solve every stage of the case file CASE, and lay its steel where the case has [steel].

    Writes OUT/result.json, OUT/maps/*.png and OUT/fields/*.vtu, with [steel] its sheets, cut list and report into
    OUT/steel, and prints what they say in plain words.

    Exit code: 0 every stage holds, 1 some stage is marginal, cracks or tips, 2 the case or the call is wrong,
    3 the program failed.
    """
    answer, units = _solved(case, out, maps=not no_maps, advice=advice)
    from api.words import all_hold, summary

    _say(summary(answer, units, _width()))
    _say(f"\nWritten to {out}")
    return OK if all_hold(answer) else NOT_ALL_HOLD


@cli.command()
@click.argument("case", type=click.Path(path_type=Path))
@click.option(
    "--out", required=True, type=click.Path(path_type=Path), help="Folder for the result; an older result is replaced."
)
@click.option("--no-maps", is_flag=True, help="Leave the pictures out.")
@debug_option
def judge(case: Path, out: Path, no_maps: bool) -> int:
    """Judge the layout of steel in the case file CASE: its [[steel.run]], or a drawing of it, steel.layout.

    Prints what it carries of what the loads ask, which runs do nothing or are cut by an opening, and its length
    against the plan's. Writes OUT/result.json, and OUT/steel with sheets, report and maps of demand over strength.

    Exit code: 0 it carries what is owed, 1 it does not, 2 the case or the call is wrong, 3 the program failed.
    """
    answer, units = _solved(case, out, maps=not no_maps, judge=True)
    from api.words import judged_summary, layout_carries

    _say(judged_summary(answer, units, _width()))
    _say(f"\nWritten to {out}")
    return OK if layout_carries(answer) else NOT_ALL_HOLD


@cli.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option(
    "--out", required=True, type=click.Path(path_type=Path), help="Folder for the results, one folder a case."
)
@click.option(
    "--jobs", type=click.IntRange(1, 256), default=None, help="Cases solved at the same time; default: one a core."
)
@click.option("--no-maps", is_flag=True, help="Leave the pictures out.")
@debug_option
def batch(folder: Path, out: Path, jobs: int | None, no_maps: bool) -> int:
    """Solve every case file (*.toml) in FOLDER and in the folders below it.

    Each result goes to OUT/{path without .toml}/ as "solve" writes it, one line a case to the screen, and all of
    them to OUT/summary.csv. A case that fails does not stop the others. Linked folders are not entered.

    Exit code: 0 every stage of every case holds, 1 not so, 2 the call is wrong, 3 the program failed.
    """
    with _ending_cleanly():
        from api.batch import run_batch

        return OK if run_batch(folder, out, jobs=jobs, maps=not no_maps, say=_say) else NOT_ALL_HOLD


@cli.command()
@click.option("--answer", is_flag=True, help="The schema of the answer, result.json, instead.")
@debug_option
def schema(answer: bool) -> int:
    """Print the JSON schema of a case."""
    import json

    if answer:
        from api.records import answer_schema

        found = answer_schema()
    else:
        from api.case import case_schema

        found = case_schema()
    _say(json.dumps(found, indent=2, ensure_ascii=False))
    return OK


@cli.command()
@click.option(
    "--host", default="127.0.0.1", show_default=True, help="Address to listen on; the default is this machine only."
)
@click.option(
    "--port", default=8000, show_default=True, type=click.IntRange(0, 65535), help="Port; 0 takes a free one."
)
@debug_option
def serve(host: str, port: int) -> int:
    """Answer over HTTP until interrupted."""
    from api.server import serve_forever

    # To interrupt a server is the way to end it, and no failure.
    with contextlib.suppress(KeyboardInterrupt):
        serve_forever(host, port, say=_say)
    return OK


def _solved(case: Path, out: Path, maps: bool, advice: bool | None = None, judge: bool = False) -> tuple[Any, Any]:
    """The answer to a case file, written into its folder, and the units of the case."""
    with _ending_cleanly():
        from api.workers import one_blas_thread

        one_blas_thread()
        from api.case import check_judged, load_case
        from api.maps import MapError
        from api.progress import TerminalProgress
        from api.store import solve_into

        progress = TerminalProgress()
        try:
            read = load_case(case)
            if judge:
                check_judged(read)
            return solve_into(read, out, maps=maps, progress=progress, advice=advice, judge=judge), read.units
        except MapError as error:
            raise error if click.get_current_context().obj["debug"] else _ToldError(str(error)) from error
        finally:
            progress.close()


@contextlib.contextmanager
def _ending_cleanly() -> Iterator[None]:
    """A polite request to end (SIGTERM) is taken like Ctrl-C, so that nothing half-written stays behind."""

    def end(number: int, frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    try:
        before = signal.signal(signal.SIGTERM, end)
    except ValueError:  # not the main thread: whoever runs us there looks after signals
        yield
        return
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def _say(text: str) -> None:
    """Print a line; a reader that has gone away ("| head") is no failure."""
    try:
        click.echo(text)
        sys.stdout.flush()
    except BrokenPipeError:
        # What is still in the buffer would raise again when Python ends.
        sys.stdout = open(os.devnull, "w", encoding="utf-8")


def _faults(error: CaseError) -> str:
    """Every fault at once: where it is, what it is, what puts it right."""
    count = len(error.problems)
    lines = ["1 thing to put right:" if count == 1 else f"{count} things to put right:"]
    for problem in error.problems:
        lines.append(f"\n  {problem.where}\n    {problem.what}" if problem.where else f"\n  {problem.what}")
        if problem.fix:
            lines.append(f"    -> {problem.fix}")
    return "\n".join(lines)


def _one_line(error: Exception) -> str:
    text = str(error).strip().splitlines()
    return f"{type(error).__name__}: {text[0]}" if text else type(error).__name__


def _width() -> int:
    """Columns to fill: the terminal's, within reason; 120 where there is none."""
    if not sys.stdout.isatty():
        return 120
    return min(max(shutil.get_terminal_size().columns, 72), 140)
