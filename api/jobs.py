"""Analyses that were asked for: a bounded queue, a few worker processes, and what is kept of the finished ones.

All in memory, and on one event loop, except the waiting for a worker, which has a thread of its own. A case that
takes too long, or is cancelled, loses its process; the next one gets a fresh process.
"""

from __future__ import annotations

import asyncio
import contextlib
import secrets
import threading
import time
from collections.abc import AsyncIterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from typing import Any, Literal, Self

from api.problems import problem_of
from api.progress import Progress, silent
from api.workers import Crew, TaskFailedError, TooSlowError, Worker, WorkerDiedError, usable_cores

__all__ = ["BodyRefusedError", "Bounds", "BusyError", "Job", "Jobs"]

CHECK, SOLVE, DRAW = "api.checking:check_body", "api.tasks:solve_body", "api.tasks:draw_body"
STEEL = "api.tasks:steel_body"
"""What is asked of the worker processes, by name (api/workers.py)."""
State = Literal["queued", "running", "done", "failed", "cancelled"]


@dataclass(frozen=True, slots=True)
class Bounds:
    """What one server takes on. Times in seconds, sizes in bytes."""

    workers: int = field(default_factory=usable_cores)
    waiting: int = 32
    """Analyses that may wait, besides those that run."""
    reading: int = 16
    """Cases that may be checked or wait for it."""
    drawing: int = 64
    """Pictures that may be drawn or wait for it."""
    read_time: float = 15.0
    work_time: float = 120.0
    draw_time: float = 120.0
    body: int = 1_000_000
    body_time: float = 30.0
    kept: int = 200
    """Finished analyses kept; the oldest go first, also by the next two bounds."""
    kept_time: float = 24 * 3600.0
    kept_size: int = 300_000_000
    warm: bool = True
    """Start the processes with the server, so that the first case need not wait for them."""


class BusyError(RuntimeError):
    """A bound on work that waits is reached; the text names it."""


class BodyRefusedError(ValueError):
    """The body of a request is no JSON as we take it."""


@dataclass(eq=False)
class Job:
    """One analysis: the body that asked for it, how far it is, what came of it."""

    body: bytes
    advice: bool | None = None
    """Whether what would help is tried; None: where the case has [life]."""
    judge: bool = False
    """Whether the case's own layout of steel is judged."""
    id: str = field(default_factory=lambda: secrets.token_hex(16))
    state: State = "queued"
    progress: tuple[int, int, str] = (0, 1, "waiting for a free worker")
    result: bytes | None = None
    stages: tuple[str, ...] = ()
    files: tuple[str, ...] = ()
    """What may be asked for of its steel, by the names in the answer."""
    problem: dict[str, Any] | None = None
    finished: float = 0.0
    over: asyncio.Event = field(default_factory=asyncio.Event)
    maps: dict[tuple[str, str], bytes] = field(default_factory=dict)
    drawn: dict[str, bytes] = field(default_factory=dict)
    """The files about its steel, once one of them was asked for."""
    worker: Worker | None = None
    holding: threading.Lock = field(default_factory=threading.Lock)
    """Held where worker changes, so that nobody ends a process that has gone on to another's work."""

    @property
    def size(self) -> int:
        """Bytes that are kept of it."""
        files = (*self.maps.values(), *self.drawn.values())
        return len(self.body) + len(self.result or b"") + sum(len(file) for file in files)


class _Desk:
    """A crew and as many threads, which wait for its workers in place of the event loop."""

    def __init__(self, name: str, size: int) -> None:
        self.crew, self.size = Crew(size), size
        self._threads = ThreadPoolExecutor(size, thread_name_prefix=f"tensionlay {name}")

    async def do(self, task: str, *args: Any, limit: float, progress: Progress = silent, job: Job | None = None) -> Any:
        """What a task returns; errors as Worker.run. A job that is cancelled meanwhile loses its worker."""
        call = partial(self._do, task, args, limit, progress, job)
        return await asyncio.get_running_loop().run_in_executor(self._threads, call)

    def close(self) -> None:
        """End the workers and the threads that waited for them."""
        self.crew.dismiss()
        self._threads.shutdown(wait=True, cancel_futures=True)

    def _do(self, task: str, args: tuple[Any, ...], limit: float, progress: Progress, job: Job | None) -> Any:
        with self.crew.worker() as worker:
            if job is None:
                return worker.run(task, *args, progress=progress, limit=limit)
            with job.holding:
                if job.state == "cancelled":
                    raise WorkerDiedError("it was cancelled")
                job.worker = worker
            try:
                return worker.run(task, *args, progress=progress, limit=limit)
            finally:
                with job.holding:
                    job.worker = None


class Jobs:
    """Takes analyses, runs them, keeps them: `async with Jobs(bounds) as jobs` within a running event loop."""

    def __init__(self, bounds: Bounds) -> None:
        """Nothing is started before the block is entered."""
        self.bounds = bounds
        self._kept: dict[str, Job] = {}
        self._queue: asyncio.Queue[Job] = asyncio.Queue()
        self._reading = self._drawing = 0
        self._readers, self._solvers, self._artists = (
            _Desk("reader", 1),
            _Desk("solver", bounds.workers),
            _Desk("artist", 1),
        )
        self._easel = asyncio.Lock()
        self._tasks: list[asyncio.Task[None]] = []

    async def __aenter__(self) -> Self:
        """Start to take work."""
        self._tasks = [asyncio.create_task(self._run_jobs()) for _ in range(self._solvers.size)]
        if self.bounds.warm:
            desks = [(self._readers, "api.checking:ready"), *[(self._solvers, "api.tasks:ready")] * self._solvers.size]
            self._tasks += [asyncio.create_task(self._warm(desk, task)) for desk, task in desks]
        return self

    async def __aexit__(self, *_: object) -> None:
        """End every worker and whatever runs."""
        for task in self._tasks:
            task.cancel()
        for desk in (self._readers, self._solvers, self._artists):
            await asyncio.to_thread(desk.close)
        await asyncio.gather(*self._tasks, return_exceptions=True)

    def get(self, id: str) -> Job | None:
        """The analysis of this id, if it is kept."""
        self._forget()
        return self._kept.get(id)

    async def submit(self, body: bytes, advice: bool | None = None, judge: bool = False) -> Job:
        """Check a case and queue it, with or without advice; judge: its own layout of steel.

        BodyRefusedError: no JSON; CaseError: wrong; BusyError: a bound is reached.
        """
        self._room()
        if self._reading >= self.bounds.reading:
            raise BusyError(f"{self.bounds.reading} cases, the most at a time, are being read")
        self._reading += 1
        try:
            refusal = await self._readers.do(CHECK, body, judge, limit=self.bounds.read_time)
        finally:
            self._reading -= 1
        if refusal:
            raise BodyRefusedError(refusal)
        self._room()
        job = Job(body, advice, judge)
        self._kept[job.id] = job
        self._queue.put_nowait(job)
        self._forget()
        return job

    async def wait(self, job: Job, seconds: float) -> None:
        """Until the job is over, or so long."""
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(job.over.wait(), seconds)

    async def cancel(self, job: Job) -> None:
        """End the job if it is not over."""
        if job.over.is_set():
            return
        job.state, job.progress = "cancelled", (*job.progress[:2], "cancelled")
        self._finish(job)
        await asyncio.to_thread(_take_worker_away, job)

    async def draw(self, job: Job, stage: int | None, view: str) -> bytes:
        """A picture of a stage, or of the whole life (None), as PNG: a face or the shape of a job that is done.

        BusyError at a bound, errors as Worker.run.
        """
        key = ("" if stage is None else job.stages[stage], view)
        if key not in job.maps:
            async with self._at_the_easel():
                if key not in job.maps:
                    limit = self.bounds.draw_time
                    job.maps[key] = await self._artists.do(DRAW, job.body, stage, view, limit=limit)
            self._forget()
        return job.maps[key]

    async def file(self, job: Job, name: str) -> bytes:
        """A file about the steel of a job that is done, by its name in the answer; all are made when one is asked for.

        KeyError for an unknown name; BusyError at a bound, errors as Worker.run.
        """
        if name not in job.files:
            raise KeyError(name)
        if name not in job.drawn:
            async with self._at_the_easel():
                if name not in job.drawn:
                    limit = self.bounds.draw_time
                    job.drawn.update(await self._artists.do(STEEL, job.body, job.judge, limit=limit))
            self._forget()
        return job.drawn[name]

    @contextlib.asynccontextmanager
    async def _at_the_easel(self) -> AsyncIterator[None]:
        """One draws at a time; BusyError if too many wait for it."""
        if self._drawing >= self.bounds.drawing:
            raise BusyError(f"{self.bounds.drawing} pictures, the most at a time, are waiting to be drawn")
        self._drawing += 1
        try:
            async with self._easel:
                yield
        finally:
            self._drawing -= 1

    def _room(self) -> None:
        waiting = sum(job.state == "queued" for job in self._kept.values())
        if waiting >= self.bounds.waiting:
            raise BusyError(f"{self.bounds.waiting} analyses, the most at a time, are waiting")

    async def _run_jobs(self) -> None:
        while True:
            job = await self._queue.get()
            if job.state == "queued":
                await self._run(job)

    async def _run(self, job: Job) -> None:
        def progress(step: int, of: int, what: str) -> None:
            if job.state == "running":
                job.progress = (step, of, what)

        job.state, job.progress = "running", (0, 1, "starting")
        limit = self.bounds.work_time
        try:
            result, stages, files = await self._solvers.do(
                SOLVE, job.body, job.advice, job.judge, limit=limit, progress=progress, job=job
            )
        except Exception as error:
            if job.state == "running":
                job.state, job.problem = "failed", problem_of(error, f"/api/analyses/{job.id}")
                self._finish(job)
            return
        if job.state == "running":
            job.state, job.result, job.stages = "done", result, tuple(stages)
            job.files = tuple(files)
            job.progress = (job.progress[1], job.progress[1], "done")
            self._finish(job)

    async def _warm(self, desk: _Desk, task: str) -> None:
        with contextlib.suppress(WorkerDiedError, TooSlowError, TaskFailedError):
            await desk.do(task, limit=60)

    def _finish(self, job: Job) -> None:
        job.finished = time.monotonic()
        job.over.set()
        self._forget()

    def _forget(self) -> None:
        """Drop the oldest of what is over, by number, age and size."""
        over = sorted((job for job in self._kept.values() if job.over.is_set()), key=lambda job: job.finished)
        size, count, now = sum(job.size for job in over), len(over), time.monotonic()
        for job in over:
            old = now - job.finished > self.bounds.kept_time
            if not (old or count > self.bounds.kept or (size > self.bounds.kept_size and count > 1)):
                break
            del self._kept[job.id]
            size, count = size - job.size, count - 1


def _take_worker_away(job: Job) -> None:
    with job.holding:
        if job.worker is not None:
            job.worker.kill()
