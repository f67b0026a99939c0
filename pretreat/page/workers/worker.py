"""The process that computes: one task after another, within limits, in a folder of its own."""

import os
import pickle
import sys
import sysconfig
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import IO, Any

from pretreat.core.errors import PretreatError
from pretreat.page.documents import FONT_FOLDER
from pretreat.page.task import Answer, Task

_LENGTH = 8  # bytes that say how long a message is
_DENIED = (
    "socket.connect",
    "socket.bind",
    "subprocess.Popen",
    "os.system",
    "os.exec",
    "os.posix_spawn",
    "os.fork",
)
_DEVICES = ("/dev/null", "/dev/urandom", "/proc/self/", "/usr/share/zoneinfo/", "/etc/localtime")
_CODE = (".py", ".pyc", ".so", ".pyd")
_PACKAGE = str(Path(__file__).resolve().parents[2])


class _Fence:
    """Lets a task read and write in its own folder, and read the program, and nothing else."""

    def __init__(self) -> None:
        paths = sysconfig.get_paths()
        known = (*(paths[k] for k in ("stdlib", "platstdlib", "purelib", "platlib")), _PACKAGE)
        roots = {os.path.realpath(root) for root in (*known, sys.prefix, sys.base_prefix)}
        letters = Path(os.path.realpath(tempfile.gettempdir()), FONT_FOLDER)
        self.program = (
            *(f"{root}{os.sep}" for root in roots if len(Path(root).parts) > 2),
            str(letters),
        )
        self.folder: str | None = None

    def __call__(self, event: str, arguments: tuple[Any, ...]) -> None:
        if self.folder is None:
            return
        if event == "open":
            self._opened(*arguments[:3])
        elif event in _DENIED:
            raise PermissionError(f"{event} is not allowed here")

    def _opened(self, path: Any, mode: Any, flags: Any) -> None:
        if isinstance(path, int):
            return
        name = os.path.realpath(os.fsdecode(path))
        if name == self.folder or name.startswith(f"{self.folder}{os.sep}"):
            return
        writes = os.O_WRONLY | os.O_RDWR | os.O_CREAT
        reads_only = not (isinstance(flags, int) and flags & writes) and not (
            isinstance(mode, str) and set(mode) & set("wax+")
        )
        if reads_only and (name.startswith((*self.program, *_DEVICES)) or name.endswith(_CODE)):
            return
        raise PermissionError(1, "only files that were sent along are read", Path(name).name)


def limit_memory(megabytes: int) -> None:
    """Bound what this process may take, where the system can.

    Parameters
    ----------
    megabytes : int
        Address space. [MB]
    """
    try:
        import resource
    except ImportError:
        return
    wanted = megabytes * 1024 * 1024
    for what, amount in (
        (resource.RLIMIT_AS, wanted),
        (resource.RLIMIT_CORE, 0),
        (resource.RLIMIT_FSIZE, wanted),
    ):
        _, hard = resource.getrlimit(what)
        ceiling = amount if hard == resource.RLIM_INFINITY else min(amount, hard)
        resource.setrlimit(what, (ceiling, hard))


def put(pipe: IO[bytes], value: Any) -> None:
    """Send a value through a pipe, its length before it.

    Parameters
    ----------
    pipe : file
        Pipe to one of our own processes. [-]
    value : object
        What is sent. [-]
    """
    content = pickle.dumps(value)
    pipe.write(len(content).to_bytes(_LENGTH))
    pipe.write(content)
    pipe.flush()


def take(pipe: IO[bytes]) -> Any:
    """Return the next value of a pipe of one of our own processes.

    Parameters
    ----------
    pipe : file
        The pipe. [-]

    Returns
    -------
    object
        The value. [-]

    Raises
    ------
    EOFError
        If the other end is gone.
    """
    size = int.from_bytes(pipe.read(_LENGTH))
    content = pipe.read(size)
    if not size or len(content) < size:
        raise EOFError
    return pickle.loads(content)  # noqa: S301 - the server and its workers alone write here


def begin(megabytes: int) -> None:
    """Compute the tasks that come in at the input until it closes; answers go to the output.

    Parameters
    ----------
    megabytes : int
        Address space allowed. [MB]
    """
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())  # what a library prints is no answer
    work(sys.stdin.buffer, answers, megabytes)


def work(tasks: IO[bytes], answers: IO[bytes], megabytes: int) -> None:
    """Compute one task after the other.

    Parameters
    ----------
    tasks : file
        Gives pairs of a task and its folder. [-]
    answers : file
        Takes the answers. [-]
    megabytes : int
        Address space allowed. [MB]
    """
    from pretreat.page.jobs import JOBS, unknown
    from pretreat.page.view_jobs import VIEW_JOBS
    from pretreat.page.workers import preload

    preload.ready()
    limit_memory(megabytes)
    fence = _Fence()
    sys.addaudithook(fence)
    known = {**JOBS, **VIEW_JOBS}
    while True:
        try:
            task, folder = take(tasks)
        except (EOFError, OSError):
            return
        os.chdir(folder)
        tempfile.tempdir = fence.folder = os.path.realpath(folder)
        answer = _answered(known.get(task.job, unknown), task)
        fence.folder = None
        os.chdir(os.sep)
        put(answers, answer)


def _answered(job: Callable[[Task], tuple[bytes, str]], task: Task) -> Answer:
    try:
        content, kind = job(task)
    except PretreatError as problem:
        return Answer("fault", faults=problem.faults)
    except MemoryError:
        return Answer("ended", faults=("this takes more memory than allowed; send less at once",))
    except RecursionError:
        return Answer("fault", faults=("the document is nested too deeply to be read",))
    except Exception as problem:  # noqa: BLE001 - a client gets one line, never a traceback
        print(f"pretreat page: {task.job}: {problem!r}", file=sys.stderr)  # noqa: T201
        return Answer(
            "broken", faults=(f"{task.job} failed ({type(problem).__name__}): report it",)
        )
    return Answer("done", content, kind)
