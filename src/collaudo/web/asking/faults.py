"""How faults are told: what is wrong, where, what would be right; never how the program looks inside."""

from __future__ import annotations

import logging
import secrets
from dataclasses import asdict
from pathlib import Path

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException

from collaudo.bench.machines.shelf import ENDING, Shelf
from collaudo.errors import CollaudoError, InputError, Problem, QuantityError, RunError, UnknownNameError
from collaudo.web.asking.pages import show
from collaudo.web.asking.problems import Refusal, told_problems

LOG = logging.getLogger("collaudo.web")


def tell_faults(app: FastAPI) -> None:
    """Every fault of the application is told as pages and programs can read it."""
    app.add_exception_handler(CollaudoError, _known)
    app.add_exception_handler(HTTPException, _refused)
    app.add_exception_handler(RequestValidationError, _unfit)
    app.add_exception_handler(Exception, _unknown)


def problems_of(fault: CollaudoError) -> list[Problem]:
    """Everything that is wrong, also of errors that name one thing only."""
    if isinstance(fault, InputError):
        return list(fault.problems)
    message, _, remedy = str(fault).partition(" -- ")
    return [Problem(message, remedy)]


async def _known(request: Request, fault: Exception) -> Response:
    assert isinstance(fault, CollaudoError)  # noqa: S101  # as registered above
    if isinstance(fault, UnknownNameError):
        status = 404
    elif isinstance(fault, InputError | QuantityError):
        status = 422
    else:
        status = 409 if isinstance(fault, RunError) else 500
    return _answer(request, status, problems_of(fault))


async def _refused(request: Request, fault: Exception) -> Response:
    assert isinstance(fault, HTTPException)  # noqa: S101  # as registered above
    message = "There is no such page here." if fault.status_code == 404 else str(fault.detail)
    return _answer(request, fault.status_code, [Problem(message)])


async def _unfit(request: Request, fault: Exception) -> Response:
    assert isinstance(fault, RequestValidationError)  # noqa: S101  # as registered above
    problems = [
        Problem(f"{'.'.join(str(word) for word in error['loc'])[:80]}: {error['msg']}")
        for error in fault.errors()[:20]
    ]
    return _answer(request, 422, problems)


async def _unknown(request: Request, fault: Exception) -> Response:
    number = secrets.token_hex(4)
    LOG.error("fault %s in %s %s", number, request.method, request.url.path, exc_info=fault)
    message = f"Something went wrong inside; it is written down under {number}. What was entered is kept."
    return _answer(request, 500, [Problem(message, "go back and try again; if it stays, tell us the number")])


def _answer(request: Request, status: int, problems: list[Problem]) -> Response:
    if request.url.path.startswith("/api/"):
        return JSONResponse(asdict(Refusal(told_problems(problems))), status)
    told = {"problems": problems, "status": status, "own_file": _own_file(request, problems)}
    return show(request, "fault.html", told, status)


def _own_file(request: Request, problems: list[Problem]) -> str:
    """The machine of one's own whose file is at fault; empty where it is none."""
    shelf = Shelf(request.app.state.options.data)
    names = (Path(problem.file).stem for problem in problems if problem.file.endswith(ENDING))
    return next((name for name in names if shelf.is_own(name)), "")
