"""The report from the page: the same bytes as from the command line, to look at, to keep, as a PDF."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from starlette.responses import Response

from aerode.errors import AerodeError
from aerode.records.places import Room
from aerode.report.page import html
from aerode.report.pdf import HOW_TO_GET_IT, can_make_pdf, pdf
from aerode.usecases.compare_view import choices
from aerode.usecases.report import compare_and_report
from aerode.web.bench import OpenBench
from aerode.web.forms import go
from aerode.web.pages.compare import asked_of, report_query, seen
from aerode.web.pages.unread import unread_with_places, way_out
from aerode.web.rendering import own_page, page

if TYPE_CHECKING:
    from aerode.records.reports import Report
    from aerode.store.bench_file import BenchFile

__all__ = ["router"]

router = APIRouter()


def _made(request: Request, bench: BenchFile) -> Report:
    """The record of the report, remembered until the bench changes or the day ends."""
    asked, _, _ = asked_of(request)
    room = request.query_params.get("room", "")
    moment = request.app.state.settings.clock()
    return request.app.state.remembered.of(
        bench,
        ("report", *asked.key, room, moment.date()),
        lambda: compare_and_report(
            bench, asked.electrodes, at=asked.at, by=asked.by, claim=asked.claim, room=room,
            same=asked.same, moment=moment, step=lambda what, share: None,
        ),
    )  # fmt: skip


@router.get("/report")
def report(request: Request, bench: OpenBench) -> Response:
    """What the report will say first, and the ways to have it.

    Asked for without a word, it takes up what was asked of the comparison last.
    """
    last = "" if request.url.query else request.app.state.last_asked.of(request)
    if last:
        return go(f"/report{last}")
    asked, faults, typed = asked_of(request)
    room = request.query_params.get("room", "")
    possible = request.app.state.remembered.of(bench, ("choices",), lambda: choices(bench))
    shown, refusal = None, None
    if possible.electrodes and not faults:
        try:
            shown = seen(request, bench, asked)
        except AerodeError as told:
            refusal = told
    return page(
        request, "report/report.html", status=422 if faults else 200, stage="more", shown=shown,
        refusal=refusal, unread=unread_with_places(refusal), way=way_out(refusal), all=possible, asked=asked, faults=faults, typed={**typed, "room": room},
        rooms=[(one, one) for one in bench.names(Room)], query=report_query(asked, room),
        can_pdf=can_make_pdf(), how=HOW_TO_GET_IT,
    )  # fmt: skip


@router.get("/report/whole")
def whole(request: Request, bench: OpenBench) -> Response:
    """The report itself, to look at."""
    back = f"/report?{request.url.query}" if request.url.query else "/report"
    return own_page(html(_made(request, bench)), back=back)


@router.get("/report/report.html")
def kept(request: Request, bench: OpenBench) -> Response:
    """The report as a file: what the command line writes, to the byte."""
    made = html(_made(request, bench)).encode()
    return Response(made, media_type="text/html; charset=utf-8", headers=_as("report.html"))


@router.get("/report/report.pdf")
def printed(request: Request, bench: OpenBench) -> Response:
    """The report as a PDF."""
    return Response(pdf(_made(request, bench)), media_type="application/pdf", headers=_as("report.pdf"))  # fmt: skip


def _as(name: str) -> dict[str, str]:
    return {"content-disposition": f'attachment; filename="{name}"'}
