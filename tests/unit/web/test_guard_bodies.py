"""What comes in: counted while it streams, timed, capped; and what leaves carries our headers."""

from __future__ import annotations

import asyncio
import re
from typing import TYPE_CHECKING, Any

import pytest
from starlette.testclient import TestClient
from tests.unit.web.alone import to_its_end
from tests.unit.web.conftest import NOON, ORIGIN, PORT

from aerode.web.app import create_app
from aerode.web.guard.doors import Doors, Role, Ways
from aerode.web.guard.rules import HEADERS, Limits, body_limit
from aerode.web.settings import Settings

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable
    from pathlib import Path

    from aerode.web.guard.middleware import Guard

COOKIE = f"aerode-{PORT}"


@pytest.fixture
def tight(bench_place: Path, doors: Doors) -> Guard:
    """The pages with small caps."""
    limits = Limits(body=2_000, file_body=4_000, fields=20, files=2, seconds=0.05)
    settings = Settings(bench=str(bench_place), port=PORT, clock=lambda: NOON, limits=limits)
    return create_app(settings, doors)


def _ask(app: Guard, doors: Doors, receive: Callable[[], Awaitable[Any]], headers: dict[str, str]) -> list[Any]:  # fmt: skip
    """One POST with a body that a test feeds by hand."""
    cookie = doors.let_in(who="", way=Ways.COMPUTER, role=Role.OWNER)
    told = {
        "host": f"127.0.0.1:{PORT}",
        "origin": ORIGIN,
        "cookie": f"{COOKIE}={cookie}",
        **headers,
    }
    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "POST",
        "scheme": "http", "path": "/runs/quick", "raw_path": b"/runs/quick", "query_string": b"",
        "root_path": "", "client": ("127.0.0.1", 1), "server": ("127.0.0.1", PORT),
        "headers": [(k.encode(), v.encode()) for k, v in told.items()],
    }  # fmt: skip
    sent: list[Any] = []

    async def send(message: Any) -> None:
        sent.append(message)

    to_its_end(app(scope, receive, send))
    return sent


FORM = {"content-type": "application/x-www-form-urlencoded"}


@pytest.mark.parametrize("length", [{}, {"content-length": "10"}, {"transfer-encoding": "chunked"}])
def test_bodies_are_counted_as_they_come(
    tight: Guard, doors: Doors, length: dict[str, str]
) -> None:
    """Without a length, or with one that lies, the body is cut off at the cap and not read on."""
    pieces = 0

    async def endless() -> Any:
        nonlocal pieces
        pieces += 1
        return {"type": "http.request", "body": b"reading=" + b"7" * 500, "more_body": True}

    sent = _ask(tight, doors, endless, {**FORM, **length})

    assert sent[0]["status"] == 413
    assert pieces <= 5


@pytest.mark.parametrize("length", ["2001", "9" * 30, "9" * 5000, "-1", "1e3", "²"])
def test_a_body_that_says_it_is_too_long_is_not_read(
    tight: Guard, doors: Doors, length: str
) -> None:
    """Nor one whose length is no length."""

    async def never() -> Any:
        raise AssertionError("the body was read")

    sent = _ask(tight, doors, never, {**FORM, "content-length": length})

    assert sent[0]["status"] == 413


def test_a_slow_body_is_not_waited_for(tight: Guard, doors: Doors) -> None:
    """What has not arrived in time is answered with 408."""

    async def stalling() -> Any:
        await asyncio.Event().wait()

    sent = _ask(tight, doors, stalling, FORM)

    assert sent[0]["status"] == 408


def test_fields_and_files_are_capped(tight: Guard, doors: Doors) -> None:
    """Too many fields of either kind of form, or too many files, are refused."""
    browser = TestClient(tight, base_url=ORIGIN, headers={"origin": ORIGIN})
    browser.cookies.set(COOKIE, doors.let_in(who="", way=Ways.COMPUTER, role=Role.OWNER))
    plain = browser.post("/runs/quick", data={f"f{k}": "" for k in range(30)})
    parts = browser.post("/runs/quick", files=[(f"f{k}", (None, "")) for k in range(21)])
    files = browser.post("/runs/quick", files=[(f"f{k}", ("a.txt", b"")) for k in range(3)])

    assert [one.status_code for one in (plain, parts, files)] == [413, 400, 400]


def test_files_are_let_in_only_where_they_are_asked_for() -> None:
    """A form has a small cap; only what takes files has a large one."""
    limits = Limits()

    assert body_limit("/runs/quick", limits) == limits.body
    assert body_limit("/data/import", limits) == limits.file_body
    assert body_limit("/data", limits) == limits.body


def test_every_answer_carries_our_headers(outside: TestClient, doors: Doors) -> None:
    """The page, the refusal at the door, the missing page, the wrong method, the wrong host, the style."""
    answers = [outside.get("/"), outside.get("/", headers={"host": "x"}), outside.get("/enter"), outside.get("/login")]  # fmt: skip
    page = outside.get("/enter", params={"link": doors.new_link()})
    style = re.search(r'href="(/static/[^"]+)"', page.text)
    assert style is not None
    answers += [
        page, outside.get("/nothing"), outside.put("/"), outside.get("/json/nothing"), outside.get(style[1]),
        outside.post("/runs/quick", data={"reading": "x"}), outside.get("/runs/nobody"), outside.options("/"),
    ]  # fmt: skip

    assert {one.status_code for one in answers} >= {200, 401, 403, 404, 405, 421, 422}
    for answer in answers:
        for name, value in HEADERS.items():
            if name == "cache-control" and answer.status_code == 200 and "/static/" in str(answer.url):  # fmt: skip
                continue
            assert answer.headers[name] == value, (answer.url, name)
        assert "access-control-allow-origin" not in answer.headers
        assert "server" not in answer.headers


def test_the_policy_lets_no_outside_and_no_evaluation() -> None:
    """Content Security Policy: own files only, nothing inline, nothing evaluated, never framed."""
    policy = HEADERS["content-security-policy"]

    assert "default-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    for never in ("unsafe-inline", "unsafe-eval", "http:", "https:", "*"):
        assert never not in policy


def test_a_fault_shows_a_mark_and_no_trace(
    app: Guard, doors: Doors, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """The person sees the mark, the local log holds the trace under it."""
    from aerode.web.pages import tray

    def broken(*_: object) -> None:
        raise ZeroDivisionError("secret detail")

    monkeypatch.setattr(tray, "_quick_page", broken)
    browser = TestClient(app, base_url=ORIGIN, raise_server_exceptions=False)
    browser.cookies.set(COOKIE, doors.let_in(who="", way=Ways.COMPUTER, role=Role.OWNER))
    answer = browser.get("/runs/quick")

    assert answer.status_code == 500
    assert "secret detail" not in answer.text
    assert "Traceback" not in answer.text
    mark = re.search(r"fault ([0-9a-f]{8})", answer.text)
    assert mark is not None
    told = [r for r in caplog.records if mark[1] in r.getMessage()]
    assert told
    assert told[0].exc_info is not None


def test_a_fault_before_any_page_is_answered_too(doors: Doors) -> None:
    """Even where the program itself gives way, the answer has our headers and no trace."""
    from aerode.web.guard.middleware import Guard as Door

    async def broken(*_: object) -> None:
        raise ZeroDivisionError("secret detail")

    door = Door(
        broken, doors=doors, hosts=lambda: frozenset({f"127.0.0.1:{PORT}"}), cookie=COOKIE,
        limits=Limits(), refused=lambda _, refusal: ("text/plain", refusal.what.encode()),
    )  # fmt: skip
    browser = TestClient(door, base_url=ORIGIN)
    browser.cookies.set(COOKIE, doors.let_in(who="", way=Ways.COMPUTER, role=Role.OWNER))
    answer = browser.get("/")

    assert answer.status_code == 500
    assert "secret detail" not in answer.text
    assert answer.headers["x-content-type-options"] == "nosniff"


def test_there_are_no_web_sockets(app: Guard) -> None:
    """A socket is let drop without a word."""
    sent: list[Any] = []

    async def receive() -> Any:
        return {"type": "websocket.connect"}

    async def send(message: Any) -> None:
        sent.append(message)

    to_its_end(app({"type": "websocket", "path": "/", "headers": []}, receive, send))
    assert sent == []
