"""The pages and what they are made of."""

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route

from pretreat.page.openapi import description


def view_routes() -> list[BaseRoute]:
    """Return the routes of pages and static files."""
    return [Route("/api/openapi.json", _described, methods=["GET"])]


async def _described(_request: Request) -> Response:
    return JSONResponse(description())
