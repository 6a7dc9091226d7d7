"""How long the L-shaped case takes, part by part; run by hand: python tests/bench_solve.py [CASE] [--rounds N].

Parts up to the answer are timed in this process after one round that warms caches, and the best round is shown. The
whole command runs in processes of its own, with its pictures and without; memory is that of the largest of them.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

PROJECT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(PROJECT))

from api.workers import one_blas_thread, usable_cores  # noqa: E402 (the project must be findable first)

one_blas_thread()
IMPORTS = "import time; t = time.perf_counter(); import {}; print(time.perf_counter() - t)"
COMMAND = "import sys; sys.path.insert(0, {!r}); from api.command import main; sys.exit(main())"

PARTS = {
    "bending the free slab under every support and load": "factor, columns of supports and loads",
    "reading the moments": "moments, peaks and error bars",
}
Parts = dict[str, float]
T = TypeVar("T")


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("case", nargs="?", type=Path, default=PROJECT / "cases" / "l-island-with-sink.toml")
    parser.add_argument("--rounds", type=int, default=5)
    asked = parser.parse_args()
    case = asked.case.resolve()
    os.chdir(PROJECT)
    print(f"{case.name}, {usable_cores()} cores, one BLAS thread")
    _print(
        "importing, in a fresh process",
        {name: _import_time(name) for name in ("api.command", "api.solve", "api.store")},
    )
    rounds = [_computing(case) for _ in range(asked.rounds + 1)][1:]
    best = min(rounds, key=lambda parts: sum(parts.values()))
    _print("computing, after imports", best | {"all of it": sum(best.values())})
    _print("whole command", _whole(case))
    largest = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"  {'largest process':<44} {largest:8.0f} MB")


def _computing(case: Path) -> Parts:
    """Seconds of each part, from the file to the answer."""
    from api.answer import answer_from
    from api.case import load_case
    from api.solve import mesh_of, trace_paths
    from api.translate import piece_from
    from fem.plate.analysis import analyse

    clock = _Clock()
    read = clock.time("reading the case", lambda: load_case(case))
    piece = clock.time("true shape, supports and loads", lambda: piece_from(read))
    mesh = clock.time("mesh", lambda: mesh_of(piece))
    steps = _Steps()
    analysis = analyse(mesh, piece.plate, piece.stages, piece.probes, step=steps)
    for name, seconds in steps.parts().items():
        clock.add(PARTS.get(name, "contact of all stages"), seconds)
    paths = clock.time("tension paths", lambda: trace_paths(piece, analysis))
    clock.time("answer", lambda: answer_from(read, piece, analysis, paths))
    return clock.parts


def _whole(case: Path) -> Parts:
    """Seconds of the whole command, as a user waits for it."""
    parts: Parts = {}
    with tempfile.TemporaryDirectory() as folder:
        for name, more in (("without maps", ["--no-maps"]), ("with maps of every stage and face", [])):
            args = ["solve", str(case), "--out", f"{folder}/out", *more]
            begin = time.perf_counter()
            done = subprocess.run([sys.executable, "-c", COMMAND.format(str(PROJECT)), *args], capture_output=True)
            parts[name] = time.perf_counter() - begin
            if done.returncode > 1:
                sys.exit(done.stderr.decode())
        answer = json.loads(Path(folder, "out", "result.json").read_text())
    begin = time.perf_counter()
    subprocess.run([sys.executable, "-c", COMMAND.format(str(PROJECT)), "--help"], capture_output=True, check=True)
    parts["tensionlay --help"] = time.perf_counter() - begin
    print(f"{answer['mesh']['nodes']} nodes, {answer['mesh']['triangles']} triangles, {len(answer['stages'])} stages")
    return parts


def _import_time(module: str) -> float:
    done = subprocess.run([sys.executable, "-c", IMPORTS.format(module)], capture_output=True, text=True, check=True)
    return float(done.stdout)


def _print(title: str, parts: Parts) -> None:
    print(title)
    for name, seconds in parts.items():
        print(f"  {name:<44} {seconds:8.3f} s")


class _Clock:
    """Seconds of named parts."""

    def __init__(self) -> None:
        self.parts: Parts = {}
        self._begun = 0.0

    def begin(self) -> None:
        self._begun = time.perf_counter()

    def end(self) -> float:
        return time.perf_counter() - self._begun

    def add(self, name: str, seconds: float) -> None:
        self.parts[name] = self.parts.get(name, 0.0) + seconds

    def time(self, name: str, work: Callable[[], T]) -> T:
        self.begin()
        result = work()
        self.parts[name] = self.end()
        return result


class _Steps:
    """Seconds between what the analysis says it does."""

    def __init__(self) -> None:
        self._marks: list[tuple[str, float]] = []

    def __call__(self, what: str) -> None:
        self._marks.append((what, time.perf_counter()))

    def parts(self) -> Parts:
        ends = [begun for _, begun in self._marks[1:]] + [time.perf_counter()]
        return {what: end - begun for (what, begun), end in zip(self._marks, ends, strict=True)}


if __name__ == "__main__":
    main()
