"""Starting the page: a free port, the address printed, the browser opened."""

import socket
import threading
import tomllib
import webbrowser
from collections.abc import Callable
from pathlib import Path

from pretreat.core.errors import PretreatError
from pretreat.page.settings import LOCAL_HOSTS, Opening, Settings

HOME = "127.0.0.1"
_BROWSER_AFTER_S = 0.3


def listening(host: str, port: int) -> socket.socket:
    """Return a socket that listens.

    Parameters
    ----------
    host : str
        Address of this machine. [-]
    port : int
        Port; 0 takes one that is free. [-]

    Returns
    -------
    socket
        The socket. [-]

    Raises
    ------
    PretreatError
        If the address cannot be had.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    found = socket.socket(family, socket.SOCK_STREAM)
    try:
        found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        found.bind((host, port))
        found.listen(128)
    except OSError as problem:
        found.close()
        raise PretreatError(
            f"the page cannot listen on {host}:{port} ({problem.strerror}); choose another with "
            "--port, or --port 0 for one that is free"
        ) from None
    return found


def serve(
    opening: Opening | None,
    address: tuple[str, int],
    hosts: tuple[str, ...],
    *,
    browser: bool,
    say: Callable[[str], None],
) -> None:
    """Serve the page until it is stopped.

    Parameters
    ----------
    opening : Opening or None
        A site to open with. [-]
    address : tuple of str and int
        Address of this machine and port. [-]
    hosts : tuple of str
        More names that the page answers to. [-]
    browser : bool
        Open the browser. [-]
    say : callable
        Prints a line. [-]
    """
    import uvicorn

    from pretreat.page.app import create_app

    host, port = address
    held = listening(host, port)
    shown = f"[{host}]" if ":" in host else host
    url = f"http://{shown}:{held.getsockname()[1]}"
    app = create_app(Settings(hosts=(*LOCAL_HOSTS, shown, *hosts), opening=opening))
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        timeout_keep_alive=20,
        timeout_graceful_shutdown=3,
        lifespan="on",
        ws="none",
    )
    say(url)
    if browser:
        threading.Timer(_BROWSER_AFTER_S, webbrowser.open, (url,)).start()
    uvicorn.Server(config).run(sockets=[held])


def opening_of(site: Path) -> Opening:
    """Return a site file and the report that it names, to open the page with.

    Parameters
    ----------
    site : Path
        The site file. [-]

    Returns
    -------
    Opening
        Texts and files. [-]

    Raises
    ------
    PretreatError
        If the site file cannot be read.
    """
    try:
        text = site.read_text("utf-8-sig")
        water = tomllib.loads(text).get("water", {})
    except FileNotFoundError:
        raise PretreatError(
            f"{site}: no such file; check the name, or make one with 'new'"
        ) from None
    except (OSError, UnicodeDecodeError, ValueError, RecursionError) as problem:
        raise PretreatError(f"{site}: cannot be read ({problem})") from None
    named = water.get("analysis") if isinstance(water, dict) else None
    report = site.parent / named if isinstance(named, str) else None
    files = ((report.name, report.read_bytes()),) if report and report.is_file() else ()
    return Opening(site.name, text, files)
