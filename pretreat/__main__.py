"""The program as a terminal starts it: `pretreat`, or `python -m pretreat`."""

import gc
import os
import sys

GARBAGE_AFTER = 200_000  # objects made since the last look


def console() -> None:
    """Run the program, and end the process with it."""
    # Modules, and what a study holds, live to the end: looking for garbage finds none.
    gc.set_threshold(GARBAGE_AFTER, 50, 50)
    from pretreat.cli import main

    try:
        main()
    except SystemExit as end:
        if _is_last() and isinstance(end.code, int | None):
            _leave(end.code or 0)
        raise


def _is_last() -> bool:
    """Tell that nobody waits for the program inside its process: no debugger, thread or meter."""
    import threading

    script = sys._getframe(2)  # of this, `console` is one and who called it the other
    watched = sys.gettrace() or sys.getprofile() or sys.flags.inspect
    return script.f_back is None and not watched and threading.active_count() == 1


def _leave(code: int) -> None:
    """End the process as the interpreter does, but for taking its objects down one by one.

    That takes 25 ms of a run of one second, and gives the system no more than the end of the
    process does: files are closed where they are written.
    """
    import atexit

    atexit._run_exitfuncs()
    try:
        for stream in (sys.stdout, sys.stderr):
            if stream is not None:
                stream.flush()
    except (OSError, ValueError):
        return  # the interpreter says what is lost
    os._exit(code)


if __name__ == "__main__":
    console()
