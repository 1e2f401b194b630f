"""Coming in and going out, who is in, and our own style and script files."""

from __future__ import annotations

from contextlib import suppress

from fastapi import APIRouter, Request
from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, RedirectResponse, Response

from aerode.errors import AerodeError
from aerode.store.bench_file import BenchFile
from aerode.usecases.group_codes import CODES_SAID, is_class
from aerode.web.bench import Passing
from aerode.web.forms import Filled, go
from aerode.web.guard.doors import Role, Visitor, Ways
from aerode.web.guard.rules import STATIC_AGE
from aerode.web.page_words import HOW_TO_COME_IN
from aerode.web.rendering import asset_text, page, plain_page, refusal_page

__all__ = ["router"]

router = APIRouter()


@router.get("/enter")
def enter(request: Request, passed: Passing, link: str = "") -> Response:
    """Exchange a one-time link for a cookie and go to the first page.

    A phone is asked first, because its camera may look at an address before a person does. Where the
    bench is a class's, it may say the code of its group, never a name.
    """
    doors = request.app.state.doors
    found = doors.link(link)
    if found is None:
        return _used_up()
    if found.way is Ways.PHONE:
        return plain_page("door/let_in.html", link=link, codes=_codes(request))
    return _in(request, doors.enter(link))


@router.post("/enter")
def come_in(request: Request, passed: Passing, form: Filled) -> Response:
    """The same, after a person on a phone said yes."""
    doors = request.app.state.doors
    link, who = form.text("link"), form.text("who")[:60]
    codes = _codes(request) if who and doors.link(link) is not None else ()
    return _in(request, doors.enter(link, who=who if not codes or who in codes else ""))


def _codes(request: Request) -> tuple[str, ...]:
    """What may stand in place of a name; nothing where this bench is no class's, and names are kept."""
    settings = request.app.state.settings
    with suppress(AerodeError), BenchFile.open(settings.bench, read_only=True) as bench:
        return CODES_SAID if is_class(bench, class_mode=False, room="") else ()
    return ()


def _used_up() -> Response:
    lines = [
        "This link was used already, has ended, or is from an earlier start of the program.",
        *HOW_TO_COME_IN,
    ]
    return HTMLResponse(refusal_page("The link does not open any more", lines), status_code=403)


def _in(request: Request, cookie: str | None) -> Response:
    if cookie is None:
        return _used_up()
    answer = RedirectResponse("/", status_code=303)
    answer.set_cookie(
        request.app.state.settings.cookie, cookie, httponly=True, samesite="strict", path="/",
        secure=request.url.scheme == "https",
    )  # fmt: skip
    return answer


@router.get("/login")
def login(request: Request) -> Response:
    """Name and password, where the bench is shared by a lab."""
    if request.app.state.settings.users is None:
        raise HTTPException(404)
    return plain_page("door/login.html", wrong="", name="")


@router.post("/login")
def log_in(request: Request, form: Filled) -> Response:
    """Let somebody in who knows the password; after five wrong ones one has to wait."""
    settings, doors = request.app.state.settings, request.app.state.doors
    if settings.users is None:
        raise HTTPException(404)
    name = form.text("name")[:80]
    at = request.client.host if request.client else ""
    about = (f"name {name}", f"at {at}")
    wait = settings.brake.wait(*about)
    if wait > 0.0:
        wrong = f"Too many wrong passwords. Wait {wait / 60.0:.0f} minutes, then try again."
        made = plain_page("door/login.html", status=429, wrong=wrong, name=name)
        made.headers["retry-after"] = f"{wait:.0f}"
        return made
    user = settings.users.check(name, form.texts.get("password", ""))
    if user is None:
        settings.brake.note(*about)
        wrong = "This name and this password do not belong together."
        return plain_page("door/login.html", status=401, wrong=wrong, name=name)
    settings.brake.clear(*about)
    return _in(request, doors.let_in(who=user.name, way=Ways.NETWORK, role=user.role))


@router.post("/leave")
def leave(request: Request) -> Response:
    """Go out: the cookie opens nothing any more."""
    visitor = request.scope["state"]["visitor"]
    request.app.state.doors.show_out(visitor.number)
    body = refusal_page("You are out", ["What you entered is on the bench."])
    answer = HTMLResponse(body)
    answer.delete_cookie(request.app.state.settings.cookie, path="/")
    return answer


@router.get("/visitors")
def visitors(request: Request) -> HTMLResponse:
    """Who is in."""
    visitor = request.scope["state"].get("visitor")
    return page(
        request, "visitors.html", stage="more", visitors=request.app.state.doors.visitors(),
        may_show_out=visitor is None or visitor.role is Role.OWNER,
    )  # fmt: skip


@router.post("/visitors/{number}/out")
def show_out(request: Request, number: int) -> Response:
    """Show somebody out."""
    if not request.app.state.doors.show_out(number):
        raise HTTPException(404)
    return go("/visitors")


@router.get("/phone")
def phone(request: Request) -> HTMLResponse:
    """The way to let a phone in."""
    may = bool(request.app.state.settings.phone_at)
    return page(
        request,
        "door/phone.html",
        stage="more",
        may=may,
        code=None,
        link="",
        phones=_phones(request),
    )


def _phones(request: Request) -> list[Visitor]:
    """The phones that are in, the newest first."""
    found = [one for one in request.app.state.doors.visitors() if one.way is Ways.PHONE]
    return sorted(found, key=lambda one: one.since, reverse=True)


@router.post("/phone")
def phone_code(request: Request) -> HTMLResponse:
    """A one-time code on the page; it is gone when the page is left."""
    settings = request.app.state.settings
    if not settings.phone_at:
        raise HTTPException(404)
    link = phone_link(request)
    code = Markup(_drawn(link))  # our own drawing, of our own link
    return page(
        request,
        "door/phone.html",
        stage="more",
        may=True,
        code=code,
        link=link,
        phones=_phones(request),
    )


def phone_link(request: Request) -> str:
    """A fresh one-time address for a phone."""
    settings = request.app.state.settings
    secret = request.app.state.doors.new_link(way=Ways.PHONE, role=Role.MEMBER)
    return f"http://{settings.phone_at}:{settings.port}/enter?link={secret}"


def _drawn(link: str) -> str:
    import segno

    code = segno.make(link, error="m")
    return code.svg_inline(
        scale=6, border=4, light="#ffffff", dark="#000000", svgclass="code", title="One-time code"
    )


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
