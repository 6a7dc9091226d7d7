"""Maps on disk: every scene of a solved case drawn into a PNG file by processes of their own.

A pool opened before solving is warm when the scenes arrive: loading the drawing library takes longer than solving.
"""

from __future__ import annotations

import contextlib
import queue
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path
from types import TracebackType
from typing import Self

from api.map_life import life_scene
from api.map_scene import Scene, scene_from
from api.map_shape import ShapeScene, shape_scene
from api.map_worker import LIBRARIES
from api.progress import Progress, silent
from api.steel.use_scene import UseScene, use_scene
from api.workers import TaskFailedError, TooSlowError, Worker, WorkerDiedError

__all__ = [
    "PIXELS_WIDE",
    "MapError",
    "MapPool",
    "Picture",
    "Scene",
    "check_drawing",
    "draw_maps",
    "life_scene",
    "scene_from",
    "shape_scene",
    "use_scene",
]

Picture = Scene | ShapeScene | UseScene
"""What a picture may be of."""

PIXELS_WIDE = 2200
"""220 dots an inch on the page's 10 inches."""

SLOWEST = 300.0
"""Time that one picture may take [s] before its process is given up: a thousand times what it needs."""

READY, DRAW = "api.map_worker:make_ready", "api.map_worker:draw_map"


class MapError(RuntimeError):
    """The pictures could not be drawn: what happened, and the fix."""

    def __init__(self, what: str, fix: str) -> None:
        """Keep both halves of the message."""
        self.what, self.fix = what, fix
        super().__init__(f"{what}; {fix}" if fix else what)

    def __reduce__(self) -> tuple[type[MapError], tuple[str, str]]:
        """Pickle by both halves."""
        return type(self), (self.what, self.fix)


class MapPool:
    """Processes that draw: they start and warm up when the block is entered, and end with it."""

    def __init__(self, jobs: int = 2, wide: int = PIXELS_WIDE) -> None:
        """As many processes as jobs, pictures wide pixels wide; nothing starts yet."""
        if jobs < 1:
            raise ValueError(f"at least one process is needed to draw, not {jobs}")
        self._jobs, self._wide = jobs, wide
        self._workers: list[Worker] = []
        self._ready: list[Future[None]] = []
        self._threads: ThreadPoolExecutor | None = None
        self._begun = 0
        self._waiting: queue.SimpleQueue[tuple[Picture, Path]] = queue.SimpleQueue()
        self._finished: queue.SimpleQueue[Path | Exception] = queue.SimpleQueue()

    def __enter__(self) -> Self:
        """Start the processes; they load their libraries while the caller does something else."""
        self._threads = ThreadPoolExecutor(self._jobs, thread_name_prefix="drawing")
        self._workers = [Worker() for _ in range(self._jobs)]
        self._ready = [self._threads.submit(_make_ready, worker, self._wide) for worker in self._workers]
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, tb: TracebackType | None) -> None:
        """End the processes at once, whatever they do."""
        for worker in self._workers:
            worker.kill()
        if self._threads is not None:
            self._threads.shutdown(wait=True, cancel_futures=True)

    def wait(self) -> None:
        """Wait until every process is ready to draw; MapError if one cannot be."""
        with _told():
            for ready in self._ready:
                ready.result()

    def draw(self, scenes: Sequence[tuple[Picture, Path]], progress: Progress = silent) -> None:
        """Draw each scene into its file, in a folder that exists; progress is told from this thread after each picture.

        MapError if a picture cannot be drawn; those done before it are on disk, and the pool is of no more use.
        """
        self.start(scenes)
        self.finish(progress)

    def start(self, scenes: Sequence[tuple[Picture, Path]]) -> None:
        """Begin to draw and return; the caller does something else and then waits by finish()."""
        if self._threads is None:
            raise RuntimeError("a pool draws only inside its block: with MapPool() as pool: ...")
        for entry in scenes:
            self._waiting.put(entry)
        self._begun += len(scenes)
        for worker, ready in zip(self._workers, self._ready, strict=True):
            self._threads.submit(self._serve, worker, ready)

    def finish(self, progress: Progress = silent) -> None:
        """Wait for what start() began; as draw() does."""
        count, self._begun = self._begun, 0
        for k in range(count):
            progress(k, count, "drawing the maps")
            outcome = self._finished.get()
            if isinstance(outcome, Exception):
                _empty(self._waiting)
                with _told():
                    raise outcome
        progress(count, count, "maps drawn")

    def _serve(self, worker: Worker, ready: Future[None]) -> None:
        """Let one process draw until nothing waits, or until it fails."""
        try:
            ready.result()
            while True:
                scene, path = self._waiting.get_nowait()
                worker.run(DRAW, scene, path, self._wide, limit=SLOWEST)
                self._finished.put(path)
        except queue.Empty:
            return
        # Whatever it is, finish() waits for it and raises it.
        except Exception as error:
            self._finished.put(error)


def draw_maps(scenes: Sequence[tuple[Picture, Path]], jobs: int = 2, progress: Progress = silent) -> None:
    """Draw each scene into its file with a pool of its own; MapError if that cannot be done."""
    if scenes:
        with MapPool(min(jobs, len(scenes))) as pool:
            pool.draw(scenes, progress)


def check_drawing() -> None:
    """Whether pictures can be drawn on this machine: MapError, with the fix, if not. Takes some seconds."""
    with MapPool(1, 400) as pool:
        pool.wait()


def _make_ready(worker: Worker, wide: int) -> None:
    missing = worker.run(READY, wide)
    if missing:
        packages = " ".join(LIBRARIES[library] for library in missing)
        raise MapError(f"the maps cannot be drawn: {' and '.join(missing)} cannot be loaded", _install(packages))


@contextlib.contextmanager
def _told() -> Iterator[None]:
    """Failures of a drawing process as MapError."""
    try:
        yield
    except WorkerDiedError as error:
        packages = " ".join(LIBRARIES.values())
        fix = f"mostly a system library for OpenGL is missing or broken: {_install(packages)}"
        raise MapError(f"the maps could not be drawn: {error}", fix) from error
    except (TaskFailedError, TooSlowError) as error:
        raise MapError(f"the maps could not be drawn: {error}", "leave them out with --no-maps") from error


def _install(packages: str) -> str:
    return f"apt-get install {packages} (Debian's names), or leave the maps out with --no-maps"


def _empty(waiting: queue.SimpleQueue[tuple[Picture, Path]]) -> None:
    with contextlib.suppress(queue.Empty):
        while True:
            waiting.get_nowait()
