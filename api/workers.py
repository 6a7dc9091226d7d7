"""Processes that do one task at a time and may be ended at any moment: a batch and the server both work through them.

A pool of the standard library loses every waiting task when one of its processes dies and cannot end one task early.
Here each process has its own pipe, so that a death, a time bound or a cancellation belongs to one task and the next
task gets a fresh process. A process is spawned, never forked (gmsh and BLAS keep threads and global state), leads its
own process group, so that what it started ends with it, and computes on one BLAS thread.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import pkgutil
import signal
import threading
import time
import traceback
import weakref
from collections.abc import Iterator
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess
from types import TracebackType
from typing import Any, Self

from api.errors import CaseError
from api.progress import Progress, silent

__all__ = ["Crew", "TaskFailedError", "TooSlowError", "Worker", "WorkerDiedError", "one_blas_thread", "usable_cores"]

_BLAS_VARIABLES = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS")
NAME = "tensionlay worker"
LOADING = 120.0
"""Seconds that a process may take to load what a task needs."""
_SPAWN = multiprocessing.get_context("spawn")


class WorkerDiedError(RuntimeError):
    """The process ended before its task did."""


class TooSlowError(RuntimeError):
    """The task took longer than its bound, and its process was ended."""


class TaskFailedError(RuntimeError):
    """The task raised something that is not a fault of the case; details holds the traceback as text."""

    def __init__(self, what: str, details: str) -> None:
        """Keep the one line and the traceback apart."""
        super().__init__(what)
        self.details = details


class Worker:
    """A child process that does one task at a time: run() from one thread, kill() from any."""

    def __init__(self) -> None:
        """Start the process; it waits for its first task."""
        ours, theirs = _SPAWN.Pipe()
        self._connection: Connection[Any, Any] = ours
        # What a worker starts stays in the worker's group, so that it ends with it.
        leads = multiprocessing.current_process().name != NAME
        self._process: SpawnProcess = _SPAWN.Process(target=_work, args=(theirs, leads), name=NAME)
        self._process.start()
        theirs.close()
        self._ending = threading.Lock()
        self.tasks = 0
        # A parent that leaves without close() must not wait for ever for a child that waits for a task.
        self._finalizer = weakref.finalize(self, _end, self._process, self._ending)

    @property
    def pid(self) -> int:
        """The process's number."""
        return self._process.pid or 0

    @property
    def alive(self) -> bool:
        """Whether the process can take another task."""
        return self._finalizer.alive and self._process.is_alive()

    def run(self, task: str, *args: Any, progress: Progress = silent, limit: float | None = None) -> Any:
        """What a task returns in the process: "module:function" is called there with args and progress=....

        The task goes by its name, so that the process here need not load what the work needs; args must pickle.

        CaseError crosses as it is; anything else raised there comes as TaskFailedError. TooSlowError after limit [s],
        counted from when what the task needs is loaded; WorkerDiedError if the process ends or is killed. After either
        of these two the worker is of no more use.
        """
        end = None if limit is None else time.monotonic() + LOADING
        self.tasks += 1
        try:
            self._connection.send((task, args))
            while True:
                if end is not None and not self._connection.poll(max(end - time.monotonic(), 0)):
                    self.kill()
                    raise TooSlowError(f"it took longer than {limit:g} s")
                kind, *content = self._connection.recv()
                if kind == "begun":
                    end = None if limit is None else time.monotonic() + limit
                elif kind == "progress":
                    progress(*content)
                elif kind == "done":
                    return content[0]
                elif kind == "case":
                    raise CaseError(content[0])
                else:
                    raise TaskFailedError(*content)
        except (EOFError, OSError) as error:
            raise WorkerDiedError(self._how_it_ended()) from error

    def kill(self) -> None:
        """End the process and whatever it started, now; harmless if it has ended."""
        self._finalizer()

    def __enter__(self) -> Self:
        """The worker itself."""
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, tb: TracebackType | None) -> None:
        """End the process."""
        self.kill()

    def _how_it_ended(self) -> str:
        with self._ending:
            self._process.join(5)
            code = self._process.exitcode
        if code is not None and code < 0:
            with contextlib.suppress(ValueError):
                name = signal.Signals(-code).name
                hint = "; the machine may be short of memory" if name == "SIGKILL" else ""
                return f"the process that worked on it was ended by {name}{hint}"
        return f"the process that worked on it ended with code {code}"


class Crew:
    """A few workers, started when first needed and replaced when they end; any number of threads may ask for one.

    A worker that has done `most_tasks` is replaced too, so that no library's leak grows without end.
    """

    def __init__(self, size: int, most_tasks: int = 200) -> None:
        """Nobody is hired yet."""
        self._places = threading.Semaphore(size)
        self._most_tasks = most_tasks
        self._lock = threading.Lock()
        self._idle: list[Worker] = []
        self._all: set[Worker] = set()
        self._closed = False

    @property
    def dismissed(self) -> bool:
        """Whether the crew has been dismissed."""
        return self._closed

    @contextlib.contextmanager
    def worker(self) -> Iterator[Worker]:
        """A worker for the time of the block; waits while all are busy. WorkerDiedError once the crew is dismissed."""
        with self._places:
            worker = self._hire()
            try:
                yield worker
            finally:
                self._return(worker)

    def dismiss(self) -> None:
        """End every worker now, busy or not, and hire no more."""
        with self._lock:
            self._closed = True
            leaving = list(self._all)
        for worker in leaving:
            worker.kill()

    def _hire(self) -> Worker:
        with self._lock:
            if self._closed:
                raise WorkerDiedError("the program is ending")
            while self._idle:
                worker = self._idle.pop()
                if worker.alive:
                    return worker
                self._all.discard(worker)
            worker = Worker()
            self._all.add(worker)
            return worker

    def _return(self, worker: Worker) -> None:
        spent = not worker.alive or worker.tasks >= self._most_tasks
        if spent:
            worker.kill()
        with self._lock:
            if spent or self._closed:
                self._all.discard(worker)
            else:
                self._idle.append(worker)


def usable_cores() -> int:
    """Cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def one_blas_thread() -> None:
    """Ask BLAS for one thread here and in what is started from here; without effect once NumPy is loaded."""
    for variable in _BLAS_VARIABLES:
        os.environ[variable] = "1"


def _end(process: SpawnProcess, ending: threading.Lock) -> None:
    with ending:
        if process.is_alive() and process.pid:
            with contextlib.suppress(ProcessLookupError, PermissionError):
                if os.getpgid(process.pid) == process.pid:
                    os.killpg(process.pid, signal.SIGKILL)
            process.kill()
        process.join()


def _work(connection: Connection[Any, Any], leads: bool) -> None:
    """The process's life: take a task, answer it, until nobody is left at the other end."""
    if leads:
        os.setpgrp()
    one_blas_thread()
    with contextlib.suppress(EOFError, BrokenPipeError, ConnectionResetError):
        while True:
            task, args = connection.recv()
            connection.send(_answer(task, args, connection))


def _answer(task: str, args: tuple[Any, ...], connection: Connection[Any, Any]) -> tuple[Any, ...]:
    def progress(step: int, of: int, what: str) -> None:
        connection.send(("progress", step, of, what))

    try:
        function = pkgutil.resolve_name(task)
        connection.send(("begun",))
        return ("done", function(*args, progress=progress))
    except CaseError as error:
        return ("case", error.problems)
    except (BrokenPipeError, ConnectionResetError):
        raise
    except MemoryError:
        return ("failed", "there was not enough memory", traceback.format_exc())
    except Exception as error:
        return ("failed", f"{type(error).__name__}: {error}", traceback.format_exc())
