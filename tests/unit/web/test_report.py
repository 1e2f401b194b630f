"""The report from the page: the same bytes as from the command line, and the PDF."""

from __future__ import annotations

import base64
import hashlib
import re
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest
from starlette.testclient import TestClient
from tests.unit.web.conftest import ORIGIN

from aerode.records.electrodes import Electrode
from aerode.records.marks import Entry
from aerode.records.runs import Reading, Run
from aerode.report import pdf as printing
from aerode.report.page import html
from aerode.store.bench_file import BenchFile
from aerode.usecases.report import compare_and_report

if TYPE_CHECKING:
    from pathlib import Path

    from aerode.web.guard.doors import Doors

NOON = datetime(2026, 5, 9, 12, 0, tzinfo=UTC)
"""The clock of the pages in these tests."""
ASKED = {"at": "0.45 V", "by": "binder", "room": "net shed"}


def test_the_file_is_the_one_of_the_command_line(looking: TestClient, tern_sound: Path) -> None:
    """Byte for byte what the verb writes from the same bench on the same day."""
    sent = looking.get("/report/report.html", params=ASKED)
    with BenchFile.open(tern_sound, read_only=True) as bench:
        made = compare_and_report(
            bench, (), at="0.45 V", by="binder", claim="", room="net shed", moment=NOON,
            step=lambda what, share: None,
        )  # fmt: skip

    assert sent.content == html(made).encode()
    assert 'filename="report.html"' in sent.headers["content-disposition"]

    looked_at = looking.get("/report/whole", params=ASKED)
    policy = looked_at.headers["content-security-policy"]
    style = re.search(r"<style>(.*?)</style>", looked_at.text, re.DOTALL)
    assert style
    digest = base64.b64encode(hashlib.sha256(style[1].encode()).digest()).decode()
    assert f"style-src 'sha256-{digest}'" in policy
    assert "unsafe-inline" not in policy
    assert '<nav class="way-back"><a href="/report?at=0.45' in looked_at.text
    assert b"way-back" not in sent.content

    printed = looking.get("/report/report.pdf", params=ASKED)
    assert printed.headers["content-type"] == "application/pdf"
    assert printed.content.startswith(b"%PDF-")
    assert printed.content == printing.pdf(made)


def test_the_page_begins_with_the_verdict_and_offers_the_ways(looking: TestClient) -> None:
    """What is asked goes on into every link."""
    page = looking.get("/report", params=ASKED).text

    query = "?at=0.45+V&amp;by=binder&amp;room=net+shed"
    assert "It is shown that raising the binder" in page
    for way in ("whole", "report.html", "report.pdf"):
        assert f"/report/{way}{query}" in page


def test_without_the_typesetter_the_page_says_how_to_get_it(
    looking: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No dead link; the line to type; printing from the browser is named."""
    monkeypatch.setattr("aerode.web.pages.report.can_make_pdf", lambda: False)
    monkeypatch.setattr(printing, "can_make_pdf", lambda: False)
    page = looking.get("/report", params=ASKED).text
    refused = looking.get("/report/report.pdf", params=ASKED)

    assert "/report/report.pdf" not in page
    assert "aerode[pdf]" in page
    assert refused.status_code == 400
    assert "aerode[pdf]" in refused.text


def test_an_empty_bench_has_nothing_to_report(inside: TestClient) -> None:
    """It says what a report needs."""
    page = inside.get("/report")

    assert page.status_code == 200
    assert "two measured electrodes" in page.text


@pytest.fixture
def apart(inside: TestClient, bench_place: Path) -> TestClient:
    """Two recipes of two builds each whose temperatures nobody read: no verdict before something is said."""
    area = Entry(value=9.5e-4, how="photo")
    with BenchFile.open(bench_place) as bench:
        for k, (name, volts) in enumerate({"A1": 0.60, "A2": 0.61, "B1": 0.50, "B2": 0.51}.items()):
            bench.put(Electrode(name=name, recipe=name[0], wetted_area=area))
            loads = {"open": 0.75, "100 ohm": volts, "33 ohm": volts - 0.1, "10 ohm": volts - 0.25}
            readings = tuple(
                Reading(load=load, voltage=v, text=f"{v}") for load, v in loads.items()
            )
            bench.put(
                Run(name=f"{name} loads", electrode=name, meter="meter 1", readings=readings,
                    session="2026-05-09", order=k + 1, finished=True)
            )  # fmt: skip
    return inside


def test_the_report_takes_up_what_was_said_to_be_the_same(apart: TestClient, doors: Doors) -> None:
    """Said on the comparison, carried to the report of the same visitor, in its links and its file; let go of again."""
    before = apart.get("/report")
    assert str(before.url).endswith("/report")
    apart.get("/compare", params={"same": "rest", "at": "1 mA/cm2"})
    led = apart.get("/report", follow_redirects=False)
    assert led.status_code == 303
    assert led.headers["location"] == "/report?at=1+mA%2Fcm2&same=rest"
    page = apart.get("/report").text
    assert '/report/whole?at=1+mA%2Fcm2&amp;same=rest"' in page
    assert re.search(r'value="rest" checked', page)

    other = TestClient(apart.app, base_url=ORIGIN, headers={"origin": ORIGIN})
    other.get("/enter", params={"link": doors.new_link()})
    assert other.get("/report", follow_redirects=False).status_code == 200

    unsaid = apart.get("/report", params={"at": "", "by": ""}, follow_redirects=False)
    assert unsaid.status_code == 200
    assert 'value="rest" checked' not in unsaid.text
