"""Who may come in: hosts, origins, links, cookies, keys, roles. Each rule is a test."""

from __future__ import annotations

import logging
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from starlette.testclient import TestClient
from tests.unit.web.conftest import NOON, ORIGIN, PORT

from aerode.errors import InputError
from aerode.records.places import People, Room
from aerode.store.bench_file import BenchFile
from aerode.web.app import create_app
from aerode.web.guard import doors as doors_module
from aerode.web.guard.doors import Doors, Role, Scope, Ways
from aerode.web.guard.rules import is_for_owners, is_open
from aerode.web.settings import Settings

if TYPE_CHECKING:
    from pathlib import Path

    from aerode.web.guard.middleware import Guard

COOKIE = f"aerode-{PORT}"


@pytest.mark.parametrize(
    "host",
    ["evil.example:8642", "127.0.0.1", "127.0.0.1:80", "localhost.:8642", "127.0.0.1:8642.evil.example", "[::1]:8642", ""],
)  # fmt: skip
def test_an_unknown_host_is_misdirected(inside: TestClient, host: str) -> None:
    """A name that points here from elsewhere (DNS rebinding) gets 421, whoever asks (RFC 9110, 15.5.20)."""
    assert inside.get("/", headers={"host": host}).status_code == 421
    assert inside.get("/static/x/pages.css", headers={"host": host}).status_code == 421


@pytest.mark.parametrize("host", ["127.0.0.1:8642", "localhost:8642", "LOCALHOST:8642"])
def test_our_own_hosts_are_answered(outside: TestClient, host: str) -> None:
    """Both names of this computer, in any case of letters."""
    assert outside.get("/", headers={"host": host}).status_code == 401


@pytest.mark.parametrize(
    "origin",
    ["null", "", "http://evil.example", "http://127.0.0.1:9999", "http://127.0.0.1:8642.evil.example", "http://x@127.0.0.1:8642", "http://127.0.0.1:8642/x", "file://"],
)  # fmt: skip
def test_an_unsafe_method_needs_our_own_origin(inside: TestClient, origin: str) -> None:
    """A form of another page, or of a page without origin, changes nothing."""
    answer = inside.post("/runs/quick", data={"reading": "742"}, headers={"origin": origin})

    assert answer.status_code == 403
    assert "The tray is empty" in inside.get("/runs/tray").text


def test_a_missing_origin_is_refused(app: Guard, doors: Doors) -> None:
    """No Origin on an unsafe method is no proof of anything."""
    browser = TestClient(app, base_url=ORIGIN)
    browser.get("/enter", params={"link": doors.new_link()})

    assert browser.post("/runs/quick", data={"reading": "742"}).status_code == 403


def test_a_link_opens_once(outside: TestClient, doors: Doors) -> None:
    """The second browser with the same link is not let in; the cookie is strict and out of reach of scripts."""
    link = doors.new_link()
    first = outside.get("/enter", params={"link": link}, follow_redirects=False)
    second = outside.get("/enter", params={"link": link}, follow_redirects=False)

    assert first.status_code == 303
    cookie = first.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert "path=/" in cookie
    assert "expires" not in cookie
    assert "max-age" not in cookie
    assert second.status_code == 403
    assert "set-cookie" not in second.headers


def test_a_look_with_head_does_not_use_a_link_up(outside: TestClient, doors: Doors) -> None:
    """A preview of an address is not a person."""
    link = doors.new_link()
    outside.head("/enter", params={"link": link})

    assert doors.link(link) is not None


def test_a_phone_is_asked_before_its_link_is_used(outside: TestClient, doors: Doors) -> None:
    """Opening the code shows a question; only the button lets the phone in, as a member."""
    link = doors.new_link(way=Ways.PHONE, role=Role.MEMBER)
    outside.get("/enter", params={"link": link})
    seen = outside.get("/enter", params={"link": link})
    entered = outside.post("/enter", data={"link": link, "who": "Ann"})

    assert "Let this phone in?" in seen.text
    assert entered.status_code == 200
    assert [(v.who, v.way, v.role) for v in doors.visitors()] == [("Ann", Ways.PHONE, Role.MEMBER)]


@pytest.mark.parametrize(("said", "kept"), [("Ann", ""), ("eel", "eel"), ("", ""), ("Eel Ann", "")])
def test_a_phone_of_a_class_says_a_code_in_place_of_a_name(
    outside: TestClient, doors: Doors, bench_place: Path, said: str, kept: str
) -> None:
    """Where the room is a class's the door offers codes, and a name that is sent all the same is not kept."""
    with BenchFile.open(bench_place) as bench:
        bench.put(Room(name="kitchen", people=(People.CLASS,)))
    link = doors.new_link(way=Ways.PHONE, role=Role.MEMBER)
    page = outside.get("/enter", params={"link": link}).text
    outside.post("/enter", data={"link": link, "who": said})

    assert "Name, or group code" not in page
    assert '<option value="eel">' in page
    assert [one.who for one in doors.visitors()] == [kept]


def test_only_an_owner_shows_others_out(outside: TestClient, doors: Doors) -> None:
    """A phone can leave; it cannot show the computer out."""
    computer = doors.let_in(who="", way=Ways.COMPUTER, role=Role.OWNER)
    phone = doors.let_in(who="", way=Ways.PHONE, role=Role.MEMBER)
    number = doors.visitors()[0].number

    outside.cookies.set(COOKIE, phone)
    refused = outside.post(f"/visitors/{number}/out")
    left = outside.post("/leave")
    outside.cookies.clear()
    outside.cookies.set(COOKIE, computer)
    assert refused.status_code == 403
    assert left.status_code == 200
    assert len(doors.visitors()) == 1
    assert outside.get("/visitors").status_code == 200


def test_who_is_shown_out_is_out(inside: TestClient, doors: Doors) -> None:
    """The cookie opens nothing any more."""
    phone = doors.let_in(who="", way=Ways.PHONE, role=Role.MEMBER)
    number = doors.visitors()[-1].number
    inside.post(f"/visitors/{number}/out")

    assert doors.visitor(phone) is None
    assert inside.post("/visitors/999/out").status_code == 404


def test_a_reader_changes_nothing(outside: TestClient, doors: Doors) -> None:
    """Reading is let pass, every unsafe method but leaving is not."""
    outside.cookies.set(COOKIE, doors.let_in(who="r", way=Ways.NETWORK, role=Role.READER))

    assert outside.get("/").status_code == 200
    assert outside.post("/runs/quick", data={"reading": "742"}).status_code == 403
    assert outside.post("/leave").status_code == 200


def test_a_cookie_of_another_port_does_not_lock_out(inside: TestClient, doors: Doors) -> None:
    """Browsers share cookies between ports: a false one of the same name beside the right one, or garbage, does no harm."""
    right = inside.cookies[COOKIE]
    inside.cookies.clear()
    for line in (f"{COOKIE}=false; {COOKIE}={right}", f'a="\\; x y=z; {COOKIE}={right}', f"\x01;{COOKIE}={right}"):  # fmt: skip
        assert inside.get("/more", headers={"cookie": line}).status_code == 200
    many = "; ".join(f"{COOKIE}={k}" for k in range(2000))
    assert inside.get("/more", headers={"cookie": many}).status_code == 401


@pytest.mark.parametrize(
    ("path", "opened"),
    [("/enter", True), ("/login", True), ("/favicon.ico", True), ("/static/0123456789ab/run.js", True), ("/static/../runs", False), ("/static/0123456789ab/../../runs.css", False), ("/enter/", False), ("//enter", False), ("/ENTER", False), ("/static/0123456789ab/run.js/", False)],
)  # fmt: skip
def test_only_the_door_and_our_style_are_open(path: str, opened: bool) -> None:
    """Nothing that looks like an open path is one."""
    assert is_open(path) is opened


@pytest.mark.parametrize("path", ["/", "/runs", "/runs/a/stream", "/json/openapi.json", "/json", "/figures/runs/a/b.csv", "/static/../runs", "/enter/", "/%65nter/../runs"])  # fmt: skip
def test_nobody_sees_anything_without_being_in(outside: TestClient, path: str) -> None:
    """Every place but the door says 401 and nothing of the bench."""
    answer = outside.get(path)

    assert answer.status_code == 401
    assert "Net shed" not in answer.text


def test_a_key_opens_only_what_it_is_for(outside: TestClient, doors: Doors) -> None:
    """A logger's key posts readings of its own run; no page, no other run, no reading of anything."""
    secret = doors.new_key(label="pico", scope=Scope.READINGS, run="a/b 1")
    bearer = {"authorization": f"Bearer {secret}", "origin": "null"}
    for method, path in (
        ("GET", "/"), ("POST", "/runs/quick"), ("GET", "/json/bench"), ("POST", "/json/runs/other/readings"),
        ("GET", "/json/runs/a%2Fb%201/readings"),
        ("POST", "/json/runs/a/b 1/readings/"), ("DELETE", "/json/runs/a%2Fb%201/readings"),
    ):  # fmt: skip
        assert outside.request(method, path, headers=bearer).status_code == 403, (method, path)
    assert outside.post("/json/runs/a%2Fb%201/readings", headers=bearer, json=[]).status_code != 403
    assert doors.drop_key(doors.keys()[0].number)
    assert outside.post("/json/runs/a%2Fb%201/readings", headers=bearer, json=[]).status_code == 401


def test_a_false_key_is_told_so(inside: TestClient) -> None:
    """A key that opens nothing is 401 even beside a good cookie: the sender should know."""
    assert inside.get("/json", headers={"authorization": "Bearer x"}).status_code == 401


def test_secrets_are_never_logged_nor_kept(
    inside: TestClient, doors: Doors, caplog: pytest.LogCaptureFixture
) -> None:
    """Neither a link nor a cookie nor a key stands in a log line or in what the door remembers."""
    with caplog.at_level(logging.DEBUG):
        link, key = doors.new_link(), doors.new_key(label="k", scope=Scope.ALL)
        inside.get("/enter", params={"link": link})
        inside.get("/json/nothing", headers={"authorization": f"Bearer {key}"})
        inside.get("/nothing", params={"link": link})
    ours = "\n".join(r.getMessage() for r in caplog.records if not r.name.startswith("httpx"))

    for secret in (link, key, inside.cookies[COOKIE]):
        assert secret not in ours
        assert secret not in repr(doors)


def test_secrets_are_compared_in_constant_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every kept hash is compared, by the function that does not stop at the first difference."""
    asked: list[bytes] = []
    real = doors_module.hmac.compare_digest

    def counting(kept: bytes, given: bytes) -> bool:
        asked.append(kept)
        return real(kept, given)

    doors = Doors(clock=lambda: NOON)
    cookies = [doors.let_in(who=str(k), way=Ways.COMPUTER, role=Role.OWNER) for k in range(5)]
    monkeypatch.setattr(doors_module.hmac, "compare_digest", counting)
    doors.visitor(cookies[0])
    doors.visitor("wrong")

    assert len(asked) == 10
    assert len(cookies[0]) >= 43  # 256 bits in base64


def test_links_and_sessions_end_by_themselves() -> None:
    """A link after half an hour, a session after half a day without a request."""
    now = [NOON]
    doors = Doors(clock=lambda: now[0])
    link = doors.new_link()
    cookie = doors.let_in(who="", way=Ways.COMPUTER, role=Role.OWNER)
    now[0] += timedelta(minutes=31)
    assert doors.enter(link) is None
    assert doors.visitor(cookie) is not None
    now[0] += timedelta(hours=11)
    assert doors.visitor(cookie) is not None
    now[0] += timedelta(hours=12)
    assert doors.visitor(cookie) is None
    assert doors.visitors() == []


def test_nothing_grows_without_end() -> None:
    """Links, sessions and keys are bounded: the oldest go, and a key more is refused."""
    now = [NOON]
    doors = Doors(clock=lambda: now[0])
    first = doors.new_link()
    for _ in range(doors_module.MOST_LINKS):
        doors.new_link()
    assert doors.link(first) is None
    cookies: list[str] = []
    for _ in range(doors_module.MOST_VISITORS + 1):
        now[0] += timedelta(seconds=1)
        cookies.append(doors.let_in(who="", way=Ways.NETWORK, role=Role.READER))
    assert len(doors.visitors()) == doors_module.MOST_VISITORS
    assert doors.visitor(cookies[0]) is None
    assert doors.visitor(cookies[-1]) is not None
    for k in range(doors_module.MOST_KEYS):
        doors.new_key(label=str(k), scope=Scope.ALL)
    with pytest.raises(InputError, match="keys are out"):
        doors.new_key(label="one more", scope=Scope.ALL)


def test_what_a_key_stores_carries_its_name(
    outside: TestClient, doors: Doors, bench_place: Path
) -> None:
    """The history says which logger wrote."""
    secret = doors.new_key(label="pico 1", scope=Scope.ALL)
    sent = {"reading": "742", "note": ""}
    bearer = {"authorization": f"Bearer {secret}"}
    outside.post("/json/tray", headers=bearer, json=sent)

    with BenchFile.open(bench_place) as bench:
        assert bench.history()[-1].who == "pico 1"


def test_what_owners_alone_may_do() -> None:
    """Who is in, and who may come, is the owner's."""
    assert is_for_owners("/visitors/3/out")
    assert is_for_owners("/phone")
    assert not is_for_owners("/runs/quick")


def test_two_programs_do_not_share_a_cookie(bench_place: Path) -> None:
    """The name of the cookie holds the port."""
    one, two = Doors(clock=lambda: NOON), Doors(clock=lambda: NOON)
    here = create_app(Settings(bench=str(bench_place), port=PORT), one)
    there = create_app(Settings(bench=str(bench_place), port=PORT + 1), two)

    assert here.cookie != there.cookie


def test_whoever_stands_before_a_used_link_is_told_both_ways_in(outside: TestClient) -> None:
    """The link that the window prints opens nothing on a phone: another code does."""
    for place in ("/enter?link=used", "/runs"):
        page = outside.get(place).text
        assert "Let a phone in" in page
        assert "press Enter" in page


def test_show_out_stands_only_before_those_who_may(outside: TestClient, doors: Doors) -> None:
    """An owner sees the button beside the phone; a member on the phone sees none."""
    phone = doors.let_in(who="gull", way=Ways.PHONE, role=Role.MEMBER)
    owner = doors.let_in(who="", way=Ways.COMPUTER, role=Role.OWNER)
    seen: dict[str, str] = {}
    for name, cookie in (("phone", phone), ("owner", owner)):
        outside.cookies.clear()
        outside.cookies.set(COOKIE, cookie)
        seen[name] = outside.get("/visitors").text
        assert "A phone is in: gull, since" in outside.get("/phone").text

    assert "Show out" not in seen["phone"]
    assert seen["owner"].count("Show out") == 1
