"""The application: routes, the guard before them, the workers behind them."""

import asyncio
import contextlib
from collections.abc import AsyncIterator

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import Response

from pretreat.page.guard import Guard
from pretreat.page.routes import api_routes, faults
from pretreat.page.settings import Settings, settings_from_environment
from pretreat.page.views import view_routes
from pretreat.page.workers.pool import Pool

_WORDS = {404: "there is nothing at this address", 405: "this address takes another method"}


def create_app(settings: Settings | None = None) -> Starlette:
    """Return the application, as `uvicorn --factory` takes it.

    Parameters
    ----------
    settings : Settings, optional
        Names, limits and the site to open with; from the environment if omitted. [-]

    Returns
    -------
    Starlette
        The application. [-]
    """
    chosen = settings or settings_from_environment()

    @contextlib.asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        pool = Pool(chosen)
        app.state.pool = pool
        app.state.bodies = asyncio.Semaphore(chosen.most_bodies)
        pool.warm()
        try:
            yield
        finally:
            await pool.close()

    app = Starlette(
        routes=[*api_routes(), *view_routes()],
        middleware=[Middleware(Guard, settings=chosen)],
        exception_handlers={HTTPException: _http_fault},  # type: ignore[dict-item]
        lifespan=lifespan,
    )
    app.state.settings = chosen
    return app


async def _http_fault(_request: Request, problem: HTTPException) -> Response:
    words = _WORDS.get(problem.status_code, problem.detail)
    answer = faults(problem.status_code, words)
    answer.headers.update(problem.headers or {})
    return answer
