"""The routes of the HTTP interface: a request in, a task done in a worker, an answer out."""

import asyncio
from collections.abc import Awaitable, Callable, Mapping
from types import MappingProxyType

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from pretreat.page.guard import faults_json
from pretreat.page.intake import IntakeError, task_of
from pretreat.page.task import Answer, Task
from pretreat.page.workers.pool import Pool

_STATUS: Mapping[str, int] = MappingProxyType(
    {"done": 200, "fault": 422, "busy": 503, "ended": 503, "broken": 500}
)
_TOLD = "x-faults"  # sent by the page, which looks into the answer for faults
FORMS = ("check", "scaling", "size", "rate")
DOCUMENTS: Mapping[str, str] = MappingProxyType(
    {"workbook": "study.xlsx", "quote": "quote.pdf", "card": "card.pdf"}
)


_PAGE_FORMS = (
    *(f"view_{name}" for name in (*FORMS, "curve", "record")),
    "site",
    "correct",
    "log",
    "strike",
)


def api_routes() -> list[Route]:
    """Return the routes of the interface, and those that the page alone uses."""
    return [
        *(_route(f"/api/{job}", job, document=False) for job in FORMS),
        *(_route(f"/api/{job}", job, document=True) for job in DOCUMENTS),
        *(_route(f"/page/{job}", job, document=False) for job in _PAGE_FORMS),
        _route("/page/texts", "texts", document=True),
    ]


def _route(path: str, job: str, *, document: bool) -> Route:
    return Route(path, _endpoint(job, document=document), methods=["POST"])


def _endpoint(job: str, *, document: bool) -> Callable[[Request], Awaitable[Response]]:
    async def endpoint(request: Request) -> Response:
        pool: Pool = request.app.state.pool
        bodies: asyncio.Semaphore = request.app.state.bodies
        async with bodies:  # so many bodies are in memory at once, and no more
            try:
                task = await task_of(request, job, pool.settings, document=document)
            except IntakeError as problem:
                return faults(problem.status, str(problem))
            answer = await pool.run(task)
            if answer.outcome == "fault" and request.headers.get(_TOLD) == "told":
                # a browser writes each 422 into its console as an error of the page
                told = await pool.run(Task("words", {"line": answer.faults}))
                if told.outcome == "done":
                    return response(told)
            return response(answer, DOCUMENTS.get(job))

    return endpoint


def response(answer: Answer, name: str | None = None) -> Response:
    """Return an answer of a worker as a response; a file is given its name."""
    status = _STATUS[answer.outcome]
    if answer.outcome != "done":
        return faults(status, *answer.faults)
    headers = {"Content-Disposition": f'attachment; filename="{name}"'} if name else None
    return Response(answer.content, media_type=answer.kind, headers=headers)


def faults(status: int, *lines: str) -> Response:
    """Return faults as a response, one line each."""
    more = {"Retry-After": "10"} if status == _STATUS["busy"] else None
    return Response(faults_json(lines), status, more, "application/json")
