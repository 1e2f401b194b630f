"""A bench shared by a lab: name and password, roles, a brake on guessing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from starlette.testclient import TestClient
from tests.unit.web.conftest import NOON, ORIGIN, PORT

from aerode.web.app import create_app
from aerode.web.guard.doors import Doors, Role
from aerode.web.guard.users import Brake, User, Users, hashed
from aerode.web.settings import Settings

if TYPE_CHECKING:
    from pathlib import Path

_CHEAP = {"n": 16, "r": 1, "p": 1}


@pytest.fixture
def lab(bench_place: Path, doors: Doors) -> TestClient:
    """A lab of an owner and a reader."""
    known = {
        name: User(name, role, hashed(f"password of {name}", cost=_CHEAP))
        for name, role in (("ann", Role.OWNER), ("ben", Role.READER))
    }
    settings = Settings(
        bench=str(bench_place), port=PORT, clock=lambda: NOON, users=Users(known, hashed("x", cost=_CHEAP)),
        brake=Brake(lambda: 0.0),
    )  # fmt: skip
    return TestClient(create_app(settings, doors), base_url=ORIGIN, headers={"origin": ORIGIN})


def test_who_is_not_in_is_led_to_the_login(lab: TestClient) -> None:
    """The refusal carries the way in."""
    page = lab.get("/runs")

    assert page.status_code == 401
    assert 'href="/login"' in page.text
    assert "Who are you?" in lab.get("/login").text


def test_the_right_password_lets_in_with_its_role(lab: TestClient, doors: Doors) -> None:
    """A reader reads; the history would hold the name."""
    lab.post("/login", data={"name": "ben", "password": "password of ben"})

    assert lab.get("/runs").status_code == 200
    assert lab.post("/runs/quick", data={"reading": "742"}).status_code == 403
    assert [(v.who, v.role) for v in doors.visitors()] == [("ben", Role.READER)]


def test_a_wrong_one_is_told_no_more_than_that(lab: TestClient) -> None:
    """The same words for a wrong name and a wrong password; after five one has to wait, even with the right one."""
    wrong = [
        lab.post("/login", data={"name": name, "password": "wrong"}) for name in ("ann", "eve")
    ]
    for _ in range(4):
        lab.post("/login", data={"name": "ann", "password": "wrong"})
    braked = lab.post("/login", data={"name": "ann", "password": "password of ann"})

    assert [one.status_code for one in wrong] == [401, 401]
    assert all("do not belong together" in one.text for one in wrong)
    assert braked.status_code == 429
    assert int(braked.headers["retry-after"]) > 0
    assert "set-cookie" not in braked.headers


def test_logging_in_needs_our_own_origin(lab: TestClient) -> None:
    """Another page cannot log a browser in under a name of its own."""
    sent = {"name": "ann", "password": "password of ann"}
    answer = lab.post("/login", data=sent, headers={"origin": "http://evil.example"})

    assert answer.status_code == 403


def test_where_no_lab_is_there_is_no_login(outside: TestClient) -> None:
    """The page does not exist."""
    assert outside.get("/login").status_code == 404
    assert outside.post("/login", data={}).status_code == 404
