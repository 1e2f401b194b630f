"""Put the pages together: one program, one guard, the bench behind it."""

from __future__ import annotations

import logging
import secrets
import threading
from typing import TYPE_CHECKING, Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response

from aerode.errors import (
    AerodeError,
    BusyError,
    ConflictError,
    FieldFault,
    NewerFileError,
    NotFoundError,
    OlderFileError,
    RecordError,
    StoppedError,
)
from aerode.version import VERSION
from aerode.web import json as json_routes
from aerode.web import pages
from aerode.web.away import Away
from aerode.web.bench import LastAsked, Remembered, Sent
from aerode.web.gate import Gate
from aerode.web.guard.middleware import Guard, Refusal
from aerode.web.json.runs import Counted
from aerode.web.page_words import HOW_TO_COME_IN, way_for
from aerode.web.rendering import page, refusal_page

if TYPE_CHECKING:
    from collections.abc import MutableMapping

    from aerode.web.guard.doors import Doors
    from aerode.web.settings import Settings

__all__ = ["create_app"]

_LOG = logging.getLogger("aerode.web")

_STATUS: tuple[tuple[type[AerodeError], int], ...] = (
    (NotFoundError, 404),
    (ConflictError, 409),
    (StoppedError, 409),
    (NewerFileError, 409),
    (OlderFileError, 409),
    (BusyError, 503),
)


def create_app(settings: Settings, doors: Doors) -> Guard:
    """All pages and the JSON interface behind the guard, as one ASGI application.

    Parameters
    ----------
    settings : Settings
        The bench, the address, the clock.
    doors : Doors
        Who may come in.
    """
    app = FastAPI(
        title="aerode",
        version=VERSION,
        summary="The JSON interface of one bench: the same answers as the command line.",
        docs_url=None,
        redoc_url=None,
        openapi_url="/json/openapi.json",
    )
    app.state.settings = settings
    app.state.doors = doors
    app.state.remembered = Remembered()
    app.state.sent = Sent()
    app.state.away = Away()
    app.state.last_asked = LastAsked()
    app.state.turn = threading.Lock()
    app.state.gate = Gate()
    app.state.streams = 0
    app.state.counted = Counted()
    app.include_router(pages.router, include_in_schema=False)
    app.include_router(json_routes.router, prefix="/json")
    app.add_exception_handler(AerodeError, _refused)
    app.add_exception_handler(HTTPException, _not_there)
    app.add_exception_handler(RequestValidationError, _not_of_the_form)
    app.add_exception_handler(Exception, _broken)
    return Guard(
        app,
        doors=doors,
        hosts=settings.hosts,
        cookie=settings.cookie,
        limits=settings.limits,
        refused=_turned_away if settings.users is None else _to_the_login,
    )


def _wants_json(path: str) -> bool:
    return path.startswith("/json")


def _status(error: Exception) -> int:
    return next((status for kind, status in _STATUS if isinstance(error, kind)), 400)


def _refused(request: Request, error: Exception) -> Response:
    """A refusal on purpose: what, where, what is allowed, what to do next."""
    assert isinstance(error, AerodeError)
    if _wants_json(request.url.path):
        faults = [
            {"field": f.field, "what": f.what, "allowed": f.allowed, "raw": f.raw}
            for f in getattr(error, "faults", ())
        ]
        told: dict[str, Any] = {
            "schema": "aerode.refusal/1",
            "kind": type(error).__name__,
            "what": error.what,
            "where": error.where,
            "allowed": error.allowed,
            "next_step": error.next_step,
            "faults": faults,
        }
        return JSONResponse(told, status_code=_status(error))
    way = way_for(error)
    return page(request, "refusal.html", status=_status(error), error=error, mark="", way=way)


def _not_there(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    words = {404: "there is no page here", 405: "this page does not take that"}
    told = AerodeError(words.get(error.status_code, str(error.detail)))
    if _wants_json(request.url.path):
        body = {"schema": "aerode.refusal/1", "kind": "AerodeError", "what": told.what}
        return JSONResponse(body, status_code=error.status_code, headers=error.headers)
    made = page(request, "refusal.html", status=error.status_code, error=told, mark="", way=None)
    made.headers.update(error.headers or {})
    return made


def _not_of_the_form(request: Request, error: Exception) -> Response:
    """The request is not of the form that the route asks for: each bad part is named."""
    assert isinstance(error, RequestValidationError)
    faults = tuple(
        FieldFault(".".join(str(part) for part in one["loc"]), str(one["msg"]), "", repr(one.get("input"))[:200])
        for one in error.errors()
    )  # fmt: skip
    told = RecordError("the request is not of the form that is asked for here", faults)
    if _wants_json(request.url.path):
        plain = [{"field": f.field, "what": f.what, "allowed": "", "raw": f.raw} for f in faults]
        body = {
            "schema": "aerode.refusal/1",
            "kind": "RequestError",
            "what": told.what,
            "faults": plain,
        }
        return JSONResponse(body, status_code=422)
    return page(request, "refusal.html", status=422, error=told, mark="", way=None)


def _broken(request: Request, error: Exception) -> Response:
    """A fault of the program: a mark on the page, the trace in the local log only."""
    mark = secrets.token_hex(4)
    _LOG.error("fault %s at %s", mark, request.url.path, exc_info=error)
    what = "the program has a fault here; what was stored before stays stored"
    told = AerodeError(what, next_step=f"go back and try again; the log names it as fault {mark}")
    if _wants_json(request.url.path):
        body = {"schema": "aerode.refusal/1", "kind": "fault", "what": what, "mark": mark}
        return JSONResponse(body, status_code=500)
    return page(request, "refusal.html", status=500, error=told, mark=mark, way=None)


def _turned_away(scope: MutableMapping[str, Any], refusal: Refusal) -> tuple[str, bytes]:
    if _wants_json(scope["path"]):
        import json

        body = {"schema": "aerode.refusal/1", "kind": "door", "what": refusal.what}
        return "application/json", json.dumps(body).encode()
    lines = [f"{refusal.what[0].upper()}{refusal.what[1:]}."]
    if refusal.status == 401:
        lines += HOW_TO_COME_IN
    elif refusal.status == 421:
        lines.append(
            "Open the link just as it stands in the window where aerode runs: the address and the number behind it. Nothing was changed."
        )
    else:
        lines.append("Nothing was changed.")
    title = "Not in yet" if refusal.status == 401 else "Turned away"
    return "text/html; charset=utf-8", refusal_page(title, lines).encode()


def _to_the_login(scope: MutableMapping[str, Any], refusal: Refusal) -> tuple[str, bytes]:
    """The same where a lab shares the bench: somebody who is not in is led to name and password."""
    if refusal.status != 401 or _wants_json(scope["path"]):
        return _turned_away(scope, refusal)
    lines = [f"{refusal.what[0].upper()}{refusal.what[1:]}."]
    body = refusal_page("Not in yet", lines, way_out="/login", way_out_words="Name and password")
    return "text/html; charset=utf-8", body.encode()
