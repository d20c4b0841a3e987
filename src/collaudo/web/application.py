"""The whole of the bench in the browser, put together."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib import import_module
from pkgutil import iter_modules

from fastapi import APIRouter, Depends, FastAPI
from fastapi.routing import APIRoute
from starlette.types import ASGIApp, Lifespan

import collaudo.web.http_api
import collaudo.web.pages
from collaudo.reports.wording import version
from collaudo.web.asking.faults import tell_faults
from collaudo.web.asking.files import KeptFiles
from collaudo.web.asking.problems import Refusal
from collaudo.web.guard.door import Door, DoorGuard
from collaudo.web.guard.headers import SafeHeaders
from collaudo.web.guard.origin import OriginGuard
from collaudo.web.guard.tokens import FormTokens, own_form
from collaudo.web.options import Options
from collaudo.web.pages import home
from collaudo.web.small_answers import SmallAnswers

ABOUT = (
    "What the bench in the browser can do, for other programs. What changes something needs the form token: "
    "ask `/api/token`, then send the cookie back with the header `X-Form-Token`. The name of every quantity "
    "ends in its unit. Faults come as `problems`: what is wrong, where, what would be right."
)


def make_application(options: Options) -> FastAPI:
    """The application: every module of `pages` and `http_api` brings the routes in its ``router``."""
    from collaudo.web.upkeep import Upkeep  # brings the twin and its compiler: see `doorstep`

    @asynccontextmanager
    async def life(app: FastAPI) -> AsyncIterator[None]:
        async with app.state.upkeep:
            yield

    app = _guarded(options, life)
    app.state.upkeep = Upkeep(options)
    for package in (collaudo.web.http_api, collaudo.web.pages):
        for module in iter_modules(package.__path__, f"{package.__name__}."):
            router = getattr(import_module(module.name), "router", None)
            if isinstance(router, APIRouter):
                _name_operations(router)
                app.include_router(router)
    return app


def make_front(options: Options) -> FastAPI:
    """The first page alone, which needs nothing that takes long to load; guarded as all of it."""
    app = _guarded(options)
    app.include_router(home.router)
    return app


def _name_operations(router: APIRouter) -> None:
    """The first sentence of what an operation says of itself is its name for other programs."""
    for route in router.routes:
        if isinstance(route, APIRoute) and route.description:
            first, _, _ = " ".join(route.description.split("\n\n")[0].split()).partition(". ")
            route.summary = first.removesuffix(".")


def _guarded(options: Options, life: Lifespan[FastAPI] | None = None) -> FastAPI:
    """An application without pages: how faults are told, and the layers round it."""
    app = _Application(
        title="collaudo",
        summary="A twin of the espresso machine on the bench, and the diagnosis built on it",
        description=ABOUT,
        version=version(),
        lifespan=life,
        dependencies=[Depends(own_form)],
        docs_url=None,  # both pages would fetch their scripts from elsewhere
        redoc_url=None,
        openapi_url="/api/openapi.json",
        responses={"4XX": {"model": Refusal, "description": "What is wrong, and what would be right"}},
        max_body_size=options.allowed_bytes,
    )
    app.state.options = options
    app.state.door = Door(options.pass_phrase)
    app.mount("/static", KeptFiles())
    tell_faults(app)
    # The last one added is the first to be asked.
    app.add_middleware(SmallAnswers)
    app.add_middleware(FormTokens)
    app.add_middleware(DoorGuard, door=app.state.door)
    app.add_middleware(OriginGuard, hosts=options.hosts)
    return app


class _Application(FastAPI):
    """Puts the headers on everything, what is answered when something went wrong outside the routes too."""

    def build_middleware_stack(self) -> ASGIApp:
        """All layers, the headers outermost."""
        return SafeHeaders(super().build_middleware_stack())
