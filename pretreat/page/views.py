"""The page and what it is made of."""

import base64
import gzip
import hashlib
import json
from functools import lru_cache
from pathlib import Path
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from pretreat import __version__
from pretreat.page.openapi import description
from pretreat.page.routes import faults, response
from pretreat.page.settings import Settings
from pretreat.page.task import Task
from pretreat.page.workers.pool import Pool

_HERE = Path(__file__).parent
_STATIC = _HERE / "static"
_KINDS = {
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".svg": "image/svg+xml",
    ".txt": "text/plain; charset=utf-8",
}
_FOREVER = "public, max-age=31536000, immutable"


def view_routes() -> list[BaseRoute]:
    """Return the routes of the page and of its files."""
    return [
        Route("/", _page),
        Route("/interface", _interface),
        Route("/favicon.ico", _icon),
        Route("/sw.js", _keeper),
        Route("/static/{mark}/{name:path}", _static),
        Route("/page/opening", _opening),
        Route("/page/form", _form),
        Route("/api/openapi.json", _described),
    ]


@lru_cache(maxsize=1)
def static_files() -> dict[str, bytes]:
    """Return the files that the page is made of, by name."""
    return {
        path.relative_to(_STATIC).as_posix(): path.read_bytes()
        for path in sorted(_STATIC.rglob("*"))
        if path.suffix in _KINDS
    }


@lru_cache(maxsize=1)
def _mark() -> str:
    """Return a word that changes when a file does, so that browsers may keep the files."""
    whole = hashlib.sha256(__version__.encode())
    shown = {path.name: path.read_bytes() for path in sorted((_HERE / "templates").iterdir())}
    for name, content in {**static_files(), **shown}.items():
        whole.update(name.encode() + content)
    return whole.hexdigest()[:12]


@lru_cache(maxsize=8)
def _rendered(name: str) -> str:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    made = Environment(
        loader=FileSystemLoader(_HERE / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    paths = description()["paths"] if name == "interface.html" else {}
    return made.get_template(name).render(
        static=f"/static/{_mark()}", version=__version__, paths=paths
    )


async def _page(_request: Request) -> Response:
    return Response(_rendered("page.html"), media_type="text/html")


async def _interface(_request: Request) -> Response:
    return Response(_rendered("interface.html"), media_type="text/html")


@lru_cache(maxsize=1)
def _keeping() -> bytes:
    """Return the script that lets the page open without a connection, with what it keeps."""
    files = [f"/static/{_mark()}/{name}" for name in static_files() if not name.endswith(".txt")]
    text = (_HERE / "templates" / "sw.js").read_text("utf-8").replace("__MARK__", _mark())
    return text.replace("__FILES__", json.dumps(["/", "/page/form", *files])).encode()


async def _keeper(_request: Request) -> Response:
    return Response(_keeping(), media_type=_KINDS[".js"])


async def _icon(_request: Request) -> Response:
    return RedirectResponse(f"/static/{_mark()}/mark.svg")


async def _static(request: Request) -> Response:
    name = request.path_params["name"]
    content = static_files().get(name)
    if content is None:
        return faults(404, "there is nothing at this address")
    headers = {"Cache-Control": _FOREVER, "Vary": "Accept-Encoding"}
    if "gzip" in request.headers.get("accept-encoding", ""):
        content = _packed(name)
        headers["Content-Encoding"] = "gzip"
    return Response(content, headers=headers, media_type=_KINDS[Path(name).suffix])


@lru_cache(maxsize=64)
def _packed(name: str) -> bytes:
    return gzip.compress(static_files()[name], mtime=0)


async def _opening(request: Request) -> Response:
    settings: Settings = request.app.state.settings
    found = settings.opening
    body: dict[str, Any] = {"name": "", "site": "", "files": []}
    if found is not None:
        files = [
            {"name": name, "content": base64.b64encode(content).decode()}
            for name, content in found.files
        ]
        body = {"name": found.name, "site": found.site, "files": files}
    return JSONResponse(body)


async def _form(request: Request) -> Response:
    pool: Pool = request.app.state.pool
    answer = await pool.run(Task("form"))
    return response(answer)


async def _described(_request: Request) -> Response:
    return JSONResponse(description())
