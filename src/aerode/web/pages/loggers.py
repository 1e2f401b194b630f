"""Keys of loggers: made, shown once, listed, taken back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, Response

from aerode.errors import AerodeError, InputError
from aerode.records.runs import Run
from aerode.usecases.run_page import listed_runs
from aerode.web.bench import OpenBench
from aerode.web.forms import Filled, go
from aerode.web.guard.doors import Scope
from aerode.web.rendering import address, page

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["router"]

router = APIRouter()
_SCOPES = {
    Scope.READINGS.name: "readings to one run, no more",
    Scope.ALL.name: "all that a program can do here",
}
"""What a key opens, for whoever gives one away."""


@router.get("/loggers")
def loggers(request: Request, bench: OpenBench, run: str = "") -> HTMLResponse:
    """Keys that are out, and the form of a new one."""
    return _loggers_page(request, bench, run=run)


def _loggers_page(
    request: Request,
    bench: BenchFile,
    *,
    run: str = "",
    secret: str = "",
    label: str = "",
    wrong: str = "",
) -> HTMLResponse:
    settings = request.app.state.settings
    host = settings.phone_at or request.url.hostname
    place = address("json", "runs", run, "readings") if run else ""
    return page(
        request, "loggers/loggers.html", status=422 if wrong else 200, stage="more",
        keys=request.app.state.doors.keys(), runs=[one for one in listed_runs(bench) if one.open],
        run=run, secret=secret, label=label, wrong=wrong, scopes=_SCOPES,
        target=f"http://{host}:{settings.port}{place}", only_here=not settings.phone_at and settings.users is None,
    )  # fmt: skip


@router.post("/loggers")
def make_key(request: Request, bench: OpenBench, form: Filled) -> Response:
    """Make a key; it is shown on this page and nowhere else."""
    run, label = form.text("run"), form.text("label")[:60]
    whole = form.text("scope") == "all"
    try:
        if not label:
            raise InputError("give it a name, so that you know later which one it is")
        if not whole:
            bench.get(Run, run)
        visitor = request.scope["state"]["visitor"]
        scope = Scope.ALL if whole else Scope.READINGS
        name = f"{visitor.who}, {label}" if visitor.who else label
        secret = request.app.state.doors.new_key(label=label, scope=scope, run="" if whole else run, who=name)  # fmt: skip
    except AerodeError as error:
        said = f"{error.what[0].upper()}{error.what[1:]}."
        return _loggers_page(request, bench, run=run, label=label, wrong=said)
    return _loggers_page(request, bench, run="" if whole else run, label=label, secret=secret)


@router.post("/loggers/{number}/drop")
def take_back(request: Request, number: int) -> Response:
    """Take a key back."""
    if not request.app.state.doors.drop_key(number):
        raise HTTPException(404)
    return go("/loggers")
