"""A few worker processes: each can be ended, and is then replaced by a fresh one."""

import asyncio
import contextlib
import multiprocessing
import os
import shutil
import tempfile
from multiprocessing.connection import Connection
from multiprocessing.context import BaseContext
from multiprocessing.process import BaseProcess
from pathlib import Path

from anyio import to_thread

from pretreat.page.settings import Settings
from pretreat.page.task import Answer, Task
from pretreat.page.worker import work

_MOST_TASKS = 500  # until a worker is replaced, so that memory cannot creep
_ENDED = "the computation was ended before it was done; try once more"
_PREFIX = "pretreat-{}-"
_BUSY = "the program is busy with others; try again in a minute"


class Worker:
    """One process that computes, and the pipe to it."""

    def __init__(self, context: BaseContext, megabytes: int) -> None:
        self.tasks = 0
        here, there = multiprocessing.Pipe()
        self.pipe: Connection = here
        self.process: BaseProcess = context.Process(  # type: ignore[attr-defined]
            target=work, args=(there, megabytes), daemon=True
        )
        self.process.start()
        there.close()

    def run(self, task: Task, seconds: float) -> Answer:
        """Compute a task; end the process where it takes too long."""
        self.tasks += 1
        folder = tempfile.mkdtemp(prefix=_PREFIX.format(os.getpid()))
        try:
            self.pipe.send((task, folder))
            if self.pipe.poll(seconds):
                answer: Answer = self.pipe.recv()
                return answer
        except (EOFError, OSError):
            self.end()
            return Answer("ended", faults=(_ENDED,))
        else:
            self.end()
            return Answer(
                "ended", faults=(f"this took longer than {seconds:g} seconds and was ended",)
            )
        finally:
            shutil.rmtree(folder, ignore_errors=True)

    def end(self) -> None:
        """End the process at once."""
        with contextlib.suppress(OSError):
            self.pipe.close()
        self.process.kill()
        self.process.join()

    @property
    def alive(self) -> bool:
        """Whether the process still takes tasks."""
        fresh = self.tasks < _MOST_TASKS
        return fresh and not self.pipe.closed and self.process.is_alive()


class Pool:
    """Workers that are idle, and the tasks that wait for one."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self.idle: asyncio.Queue[Worker | None] = asyncio.Queue()
        self.workers: set[Worker] = set()
        self._warming: asyncio.Task[None] | None = None
        self._context = _context()
        for _ in range(settings.workers):
            self.idle.put_nowait(None)  # a place for a worker, filled when it is first needed

    def warm(self) -> None:
        """Start the workers in the background."""
        self._warming = asyncio.create_task(self._warm())

    async def _warm(self) -> None:
        places = [self.idle.get_nowait() for _ in range(self.idle.qsize())]
        for place in places:
            self.idle.put_nowait(place or await self._started())

    async def _started(self) -> Worker:
        worker = await to_thread.run_sync(Worker, self._context, self.settings.megabytes)
        self.workers.add(worker)
        return worker

    async def run(self, task: Task) -> Answer:
        """Compute a task in the next worker that is idle."""
        try:
            async with asyncio.timeout(self.settings.waiting_seconds):
                worker = await self.idle.get()
        except TimeoutError:
            return Answer("busy", faults=(_BUSY,))
        try:
            if worker is not None and not worker.alive:
                self._forget(worker)
                worker = None
            if worker is None:
                worker = await self._started()
            return await to_thread.run_sync(
                worker.run, task, self.settings.seconds, abandon_on_cancel=True
            )
        except asyncio.CancelledError:
            if worker is not None:
                worker.process.kill()
            raise
        finally:
            self.idle.put_nowait(worker)

    def _forget(self, worker: Worker) -> None:
        self.workers.discard(worker)
        worker.end()

    async def close(self) -> None:
        """End all workers."""
        if self._warming is not None:
            await self._warming
        for worker in list(self.workers):
            await to_thread.run_sync(worker.end)
        self.workers.clear()


def _context() -> BaseContext:
    """Return how processes are begun: forked from one that has imported all, where that is known.

    That one has a single thread, so that a fork is safe.
    """
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # a second thread only waits for the first
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["pretreat.page.preload"])
    return context


def leftover_folders() -> list[Path]:
    """Return the folders of tasks of this process that are on disk now."""
    return sorted(Path(tempfile.gettempdir()).glob(f"{_PREFIX.format(os.getpid())}*"))
