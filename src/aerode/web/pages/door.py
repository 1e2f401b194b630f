"""Coming in and going out, and our own style and script files."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, RedirectResponse, Response

from aerode.web.guard.rules import STATIC_AGE
from aerode.web.rendering import asset_text, page, refusal_page

__all__ = ["router"]

router = APIRouter()


@router.get("/enter")
def enter(request: Request, link: str = "") -> Response:
    """Exchange a one-time link for a cookie and go to the first page."""
    cookie = request.app.state.doors.enter(link)
    if cookie is None:
        lines = [
            "This link was used already, or it is from an earlier start of the program.",
            "In the window where aerode runs, press Enter: it prints a fresh link. Open that one here.",
        ]
        return HTMLResponse(refusal_page("The link does not open any more", lines), status_code=403)
    answer = RedirectResponse("/", status_code=303)
    _give(answer, request, cookie)
    return answer


def _give(answer: Response, request: Request, cookie: str) -> None:
    answer.set_cookie(
        request.app.state.settings.cookie, cookie, httponly=True, samesite="strict", path="/",
        secure=request.url.scheme == "https",
    )  # fmt: skip


@router.post("/leave")
def leave(request: Request) -> Response:
    """End this session."""
    visitor = request.scope["state"]["visitor"]
    request.app.state.doors.show_out(visitor.number)
    body = refusal_page("You are out", ["What you entered is on the bench."])
    answer = HTMLResponse(body)
    answer.delete_cookie(request.app.state.settings.cookie, path="/")
    return answer


@router.get("/visitors")
def visitors(request: Request) -> HTMLResponse:
    """Who is in."""
    return page(request, "visitors.html", visitors=request.app.state.doors.visitors())


@router.post("/visitors/{number}/out")
def show_out(request: Request, number: int) -> Response:
    """Show somebody out."""
    if not request.app.state.doors.show_out(number):
        raise HTTPException(404)
    return RedirectResponse("/visitors", status_code=303)


@router.get("/static/{digest}/{name}")
def static(digest: str, name: str) -> Response:
    """A style or script file of our own; the address holds its digest."""
    text = asset_text(name)
    if text is None:
        raise HTTPException(404)
    media = "text/css" if name.endswith(".css") else "text/javascript"
    return Response(text, media_type=media, headers={"cache-control": STATIC_AGE})


@router.get("/favicon.ico")
def icon() -> Response:
    """Two bars and the air between them."""
    drawn = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 32 32">'
        '<rect x="5" y="5" width="7" height="22" rx="2" fill="#0b6e69"/>'
        '<rect x="20" y="5" width="7" height="22" rx="2" fill="#a3491b"/></svg>'
    )
    return Response(drawn, media_type="image/svg+xml", headers={"cache-control": STATIC_AGE})
