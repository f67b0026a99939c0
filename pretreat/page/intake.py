"""From a request to a task: the form or the document that was sent, held in memory."""

import asyncio
import contextlib
from collections.abc import AsyncGenerator

from python_multipart.exceptions import FormParserError
from python_multipart.multipart import parse_options_header
from starlette.datastructures import FormData, UploadFile
from starlette.formparsers import FormParser, MultiPartException, MultiPartParser
from starlette.requests import ClientDisconnect, Request

from pretreat.page.folder import harmless
from pretreat.page.settings import Settings
from pretreat.page.task import Sent, Task

_DOCUMENT = "study"


class IntakeError(Exception):
    """A request that cannot be read; ``status`` says what the answer is."""

    def __init__(self, status: int, text: str) -> None:
        super().__init__(text)
        self.status = status


async def task_of(request: Request, job: str, settings: Settings, *, document: bool) -> Task:
    """Read what was sent with a request.

    Parameters
    ----------
    request : Request
        The request. [-]
    job : str
        What is asked. [-]
    settings : Settings
        Limits. [-]
    document : bool
        The body is one document rather than a form. [-]

    Returns
    -------
    Task
        The task; it holds no path that the client gave. [-]

    Raises
    ------
    IntakeError
        If it cannot be read, or does not come in time.
    """
    try:
        async with asyncio.timeout(settings.upload_seconds):
            return await (_document if document else _form)(request, job, settings)
    except TimeoutError:
        raise IntakeError(408, "what was sent did not come in time; try again") from None
    except ClientDisconnect:
        raise IntakeError(400, "the connection was closed before all was sent") from None


async def _document(request: Request, job: str, _settings: Settings) -> Task:
    body = await request.body()
    if not body.strip():
        raise IntakeError(422, "nothing was sent; send the JSON of a run, as --json prints it")
    asked = {name: (value,) for name, value in request.query_params.items()}
    return Task(job, asked, (Sent(_DOCUMENT, "study.json", body),))


async def _form(request: Request, job: str, settings: Settings) -> Task:
    fields: dict[str, tuple[str, ...]] = {}
    files: list[Sent] = []
    form = await _parsed(request, settings)
    try:
        for name, value in form.multi_items():
            if isinstance(value, UploadFile):
                files.append(Sent(name, harmless(value.filename), await value.read()))
            elif name in {"report", "limits", "k_chart"}:  # text in place of a file
                files.append(Sent(name, f"{name}.csv", value.encode(errors="replace")))
            else:
                fields[name] = (*fields.get(name, ()), value)
    finally:
        with contextlib.suppress(OSError):
            await form.close()
    return Task(job, fields, tuple(files))


async def _parsed(request: Request, settings: Settings) -> FormData:
    kind, options = parse_options_header(request.headers.get("content-type", ""))
    body = await request.body()
    if kind == b"multipart/form-data" and _cut_short(body, options.get(b"boundary", b"\n")):
        raise IntakeError(422, "the form cannot be read: it ends before it is complete")
    try:
        if kind == b"multipart/form-data":
            parser = MultiPartParser(
                request.headers,
                _whole(body),
                max_files=settings.most_files,
                max_fields=settings.most_fields,
                max_part_size=settings.most_bytes,
            )
            parser.spool_max_size = 2 * settings.most_bytes  # never to disk
            return await parser.parse()
        if kind == b"application/x-www-form-urlencoded":
            return await FormParser(request.headers, _whole(body)).parse()
        if not body:
            return FormData()
    except (MultiPartException, FormParserError, KeyError, ValueError, LookupError) as problem:
        said = getattr(problem, "message", "") or type(problem).__name__
        raise IntakeError(422, f"the form cannot be read: {said}") from None
    raise IntakeError(422, "send a form (multipart/form-data) with the fields of this request")


def _cut_short(body: bytes, boundary: bytes) -> bool:
    return b"--" + boundary + b"--" not in body


async def _whole(body: bytes) -> AsyncGenerator[bytes, None]:
    yield body
    yield b""  # the end
