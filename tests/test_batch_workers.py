"""Worker processes: what comes back from them, and how they end."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from api.errors import CaseError, Problem
from api.workers import Crew, TaskFailedError, TooSlowError, Worker, WorkerDiedError
from tests.processes import gone

TASKS = """
import os, signal, subprocess, sys, time
from api.errors import CaseError, Problem

def double(x, progress):
    progress(1, 2, "half way")
    return 2 * x

def threads(progress):
    return [os.environ[name] for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS")]

def pid(progress):
    return os.getpid()

def wrong(progress):
    raise CaseError([Problem("slab", "too thin", "thicker")])

def fail(progress):
    raise ZeroDivisionError("by nothing")

def die(progress):
    os.kill(os.getpid(), signal.SIGKILL)

def leave(progress):
    os._exit(7)

def sleep(progress):
    time.sleep(600)

def parent(progress):
    child = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(600)"])
    progress(child.pid, 0, "")
    time.sleep(600)
"""


@pytest.fixture(autouse=True)
def fragile(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A module of tasks that misbehave, which the processes can import."""
    (tmp_path / "fragile_tasks.py").write_text(TASKS)
    monkeypatch.syspath_prepend(tmp_path)


@pytest.fixture
def worker() -> Iterator[Worker]:
    with Worker() as one:
        yield one


def test_a_task_by_name_with_progress_and_result(worker: Worker) -> None:
    seen: list[tuple[int, int, str]] = []
    assert worker.run("fragile_tasks:double", 21, progress=lambda *step: seen.append(step)) == 42
    assert worker.run("fragile_tasks:double", 2) == 4
    assert seen == [(1, 2, "half way")]
    assert worker.run("fragile_tasks:threads") == ["1", "1"]


def test_faults_of_the_case_cross_whole(worker: Worker) -> None:
    with pytest.raises(CaseError) as caught:
        worker.run("fragile_tasks:wrong")
    assert caught.value.problems == (Problem("slab", "too thin", "thicker"),)
    assert worker.alive


def test_a_failure_comes_with_its_traceback_and_costs_no_worker(worker: Worker) -> None:
    with pytest.raises(TaskFailedError, match="ZeroDivisionError: by nothing") as caught:
        worker.run("fragile_tasks:fail")
    assert "in fail" in caught.value.details
    with pytest.raises(TaskFailedError, match="nosuch"):
        worker.run("nosuch:thing")
    assert worker.run("fragile_tasks:double", 1) == 2


def test_a_death_names_the_signal(worker: Worker) -> None:
    with pytest.raises(WorkerDiedError, match="SIGKILL; the machine may be short of memory"):
        worker.run("fragile_tasks:die")
    assert not worker.alive


def test_a_death_names_the_code(worker: Worker) -> None:
    with pytest.raises(WorkerDiedError, match="code 7"):
        worker.run("fragile_tasks:leave")


def test_a_time_bound_ends_the_process_and_what_it_started(worker: Worker) -> None:
    children: list[int] = []
    with pytest.raises(TooSlowError, match="longer than 1 s"):
        worker.run("fragile_tasks:parent", progress=lambda pid, *_: children.append(pid), limit=1)
    assert gone(worker.pid)
    assert [gone(child) for child in children] == [True]


def test_another_thread_may_end_it(worker: Worker) -> None:
    threading.Timer(0.5, worker.kill).start()
    with pytest.raises(WorkerDiedError):
        worker.run("fragile_tasks:sleep")


def test_a_crew_keeps_its_workers_and_replaces_the_dead() -> None:
    crew = Crew(1)
    pids = []
    for task in ("pid", "pid", "die", "pid"):
        try:
            with crew.worker() as worker:
                pids.append(worker.run(f"fragile_tasks:{task}"))
        except WorkerDiedError:
            pids.append(0)
    crew.dismiss()
    assert pids[0] == pids[1]
    assert pids[2] == 0
    assert pids[3] != pids[0]
    assert gone(pids[3])
    with pytest.raises(WorkerDiedError, match="ending"), crew.worker():
        pass


def test_a_crew_replaces_a_worker_that_has_done_its_share() -> None:
    crew = Crew(1, most_tasks=1)
    pids = []
    for _ in range(2):
        with crew.worker() as worker:
            pids.append(worker.run("fragile_tasks:pid"))
    crew.dismiss()
    assert pids[0] != pids[1]


def test_nobody_waits_for_a_worker_that_was_forgotten(project: Path, tmp_path: Path) -> None:
    code = (
        f"import sys; sys.path[:0] = [{str(project)!r}, {str(tmp_path)!r}]\n"
        "from api.workers import Worker\n"
        "worker = Worker()\n"
        "print(worker.run('fragile_tasks:pid'))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=30, check=True)
    assert gone(int(done.stdout))


def test_workers_end_when_their_parent_is_killed(project: Path, tmp_path: Path) -> None:
    code = (
        f"import sys, time; sys.path[:0] = [{str(project)!r}, {str(tmp_path)!r}]\n"
        "from api.workers import Worker\n"
        "worker = Worker()\n"
        "print(worker.run('fragile_tasks:pid'), flush=True)\n"
        "time.sleep(600)\n"
    )
    with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        pid = int(process.stdout.readline())
        os.kill(process.pid, signal.SIGKILL)
        process.wait()
    assert gone(pid)
