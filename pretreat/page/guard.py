"""What stands before every route: who may ask, how much may be sent, what every answer says."""

import json
import sys
from collections.abc import Sequence
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from pretreat.page.settings import MEGABYTE, Settings

_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data:",
        "connect-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
_SAID = {
    "Content-Security-Policy": _POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}
_READS = {"GET", "HEAD", "OPTIONS"}
_OWN_SITE = {"same-origin", "none"}


class BodyTooLargeError(Exception):
    """The body of a request is larger than allowed."""


class _Answering:
    """Sends an answer with the headers that every answer has."""

    def __init__(self, send: Send) -> None:
        self.send = send
        self.begun = False

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.begun = True
            headers = MutableHeaders(scope=message)
            headers.update(_SAID)
            headers.setdefault("Cache-Control", "no-store")
        await self.send(message)


class Guard:
    """Refuses strangers and floods; sets the headers of every answer."""

    def __init__(self, app: ASGIApp, settings: Settings) -> None:
        self.app = app
        self.settings = settings

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] == "http":
            await self._guarded(scope, receive, _Answering(send))
        elif scope["type"] == "lifespan":
            await self.app(scope, receive, send)

    async def _guarded(self, scope: Scope, receive: Receive, answer: "_Answering") -> None:
        refused = self._refused(scope)
        if refused is None:
            try:
                await self.app(scope, self._counted(receive), answer)
            except BodyTooLargeError:
                refused = 413, self._too_large()
            except Exception as problem:  # noqa: BLE001 - one line for a client, no traceback
                print(f"pretreat page: {scope['path']!r}: {problem!r}", file=sys.stderr)  # noqa: T201
                refused = 500, f"this failed ({type(problem).__name__}): report it"
        if refused is not None and not answer.begun:
            await say(answer, *refused)

    def _refused(self, scope: Scope) -> tuple[int, str] | None:
        headers = Headers(scope=scope)
        named = headers.getlist("host")
        host = host_of(named[0]) if len(named) == 1 else ""
        if host not in self.settings.hosts:
            return 403, "this host name is not one that the page answers to"
        if scope["method"] not in _READS and not self._own(scope, headers, named[0]):
            return 403, "this request comes from another site; open the page itself"
        length = headers.get("content-length", "")
        if length.isdigit() and int(length[:20]) > self.settings.most_bytes:
            return 413, self._too_large()
        return None

    def _own(self, scope: Scope, headers: Headers, named: str) -> bool:
        """Tell whether a request that sends something comes from the page, or from a script."""
        if headers.get("sec-fetch-site", "same-origin") not in _OWN_SITE:
            return False
        origins = headers.getlist("origin")
        if not origins:
            return True
        return len(origins) == 1 and _same(origins[0], named)

    def _counted(self, receive: Receive) -> Receive:
        taken = 0

        async def counted() -> Message:
            nonlocal taken
            message = await receive()
            if message["type"] == "http.request":
                taken += len(message.get("body", b""))
                if taken > self.settings.most_bytes:
                    raise BodyTooLargeError
            return message

        return counted

    def _too_large(self) -> str:
        most = self.settings.most_bytes // MEGABYTE
        return f"what was sent is larger than {most} MB; send less at once"


def host_of(text: str) -> str:
    """Return the host name of a Host header without its port, empty where it is none."""
    name, _, port = text.strip().casefold().rpartition(":")
    if not name or not port.isdigit():
        name = text.strip().casefold()
    return name


def _same(origin: str, host: str) -> bool:
    parts = urlsplit(origin)
    return parts.scheme in {"http", "https"} and parts.netloc.casefold() == host.strip().casefold()


async def say(send: Send, status: int, *faults: str) -> None:
    """Send faults as the interface does: one object, a line each.

    Parameters
    ----------
    send : Send
        Takes the messages. [-]
    status : int
        Status of the answer. [-]
    *faults : str
        One line each. [-]
    """
    content = faults_json(faults)
    await send(
        {
            "type": "http.response.start",
            "status": status,
            "headers": [
                (b"content-type", b"application/json"),
                (b"content-length", str(len(content)).encode()),
                (b"connection", b"close"),
            ],
        }
    )
    await send({"type": "http.response.body", "body": content})


def faults_json(faults: Sequence[str]) -> bytes:
    """Return faults as the interface sends them."""
    return json.dumps({"errors": list(faults)}, ensure_ascii=False).encode(errors="replace")
