"""A few worker processes: each can be ended, and is then replaced by a fresh one."""

import asyncio
import contextlib
import os
import shutil
import subprocess
import sys
import tempfile
import threading
from pathlib import Path

from anyio import to_thread

from pretreat.page.settings import Settings
from pretreat.page.task import Answer, Task
from pretreat.page.workers.worker import put, take

# A second thread of the library only waits for the first.
_ENVIRONMENT = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
_MOST_TASKS = 500  # until a worker is replaced, so that memory cannot creep
_ENDED = "the computation was ended before it was done; try once more"
_PREFIX = "pretreat-{}-"
_BUSY = "the program is busy with others; try again in a minute"
# Soon done: they need not wait behind somebody's whole run.
QUICK = frozenset({"view_curve", "site", "named", "form", "texts", "log"})
Lane = asyncio.Queue["Worker | None"]


class Worker:
    """One process that computes; tasks go in at its input, answers come out at its output."""

    def __init__(self, megabytes: int, home: str) -> None:
        self.tasks = 0
        self.ended = False
        code = f"from pretreat.page.workers.worker import begin; begin({megabytes})"
        path = os.pathsep.join(one or str(Path.cwd()) for one in sys.path)
        self.process = subprocess.Popen(  # noqa: S603 - our own program, no word of a client
            [sys.executable, "-P", "-c", code],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            start_new_session=True,  # Ctrl-C is for the server, which ends its workers
            env={**os.environ, **_ENVIRONMENT, "PYTHONPATH": path, "TMPDIR": home, "TEMP": home},
        )

    def run(self, task: Task, seconds: float) -> Answer:
        """Compute a task; end the process where it takes too long."""
        self.tasks += 1
        folder = tempfile.mkdtemp(prefix=_PREFIX.format(os.getpid()))
        late = threading.Event()
        clock = threading.Timer(seconds, self._stop, (late,))
        clock.start()
        try:
            assert self.process.stdin is not None  # noqa: S101 - both are pipes
            assert self.process.stdout is not None  # noqa: S101
            put(self.process.stdin, (task, folder))
            answer: Answer = take(self.process.stdout)
        except (EOFError, OSError, ValueError):
            self.end()
            said = f"this took longer than {seconds:g} seconds and was ended"
            return Answer("ended", faults=(said if late.is_set() else _ENDED,))
        else:
            return answer
        finally:
            clock.cancel()
            shutil.rmtree(folder, ignore_errors=True)

    def _stop(self, late: threading.Event) -> None:
        late.set()
        self.process.kill()

    def end(self) -> None:
        """End the process at once."""
        self.ended = True
        self.process.kill()
        self.process.wait()
        for pipe in (self.process.stdin, self.process.stdout):
            with contextlib.suppress(OSError):
                if pipe is not None:
                    pipe.close()

    @property
    def alive(self) -> bool:
        """Whether the process still takes tasks."""
        fresh = self.tasks < _MOST_TASKS
        return fresh and not self.ended and self.process.poll() is None


class Pool:
    """Workers that are idle, and the tasks that wait for one; those soon done have their own."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self.idle: Lane = asyncio.Queue()
        self.quick: Lane = asyncio.Queue()
        self.workers: set[Worker] = set()
        self.home = tempfile.mkdtemp(prefix="pretreat_page_")  # letters of the PDF, no customer's
        self._warming: asyncio.Task[None] | None = None
        for lane, places in ((self.idle, settings.workers), (self.quick, settings.quick)):
            for _ in range(places):
                lane.put_nowait(None)  # a place for a worker, filled when it is first needed

    def warm(self) -> None:
        """Start the workers in the background."""
        self._warming = asyncio.create_task(self._warm())

    async def _warm(self) -> None:
        if self.settings.quick:
            await self.run(Task("form"))  # what the page shows first
        places = [self.idle.get_nowait() for _ in range(self.idle.qsize())]
        for place in places:
            self.idle.put_nowait(place or await self._started())

    async def _started(self) -> Worker:
        worker = await to_thread.run_sync(Worker, self.settings.megabytes, self.home)
        self.workers.add(worker)
        return worker

    async def run(self, task: Task) -> Answer:
        """Compute a task in the next worker that is idle."""
        lane = self._lane(task)
        try:
            async with asyncio.timeout(self.settings.waiting_seconds):
                worker = await lane.get()
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
            lane.put_nowait(worker)

    def _lane(self, task: Task) -> Lane:
        if task.job not in QUICK or not self.settings.quick:
            return self.idle
        return self.idle if self.quick.empty() and not self.idle.empty() else self.quick

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
        shutil.rmtree(self.home, ignore_errors=True)


def leftover_folders() -> list[Path]:
    """Return the folders of tasks of this process that are on disk now."""
    return sorted(Path(tempfile.gettempdir()).glob(f"{_PREFIX.format(os.getpid())}*"))
