"""The report from the page: the same bytes as from the command line, and the PDF."""

from __future__ import annotations

import base64
import hashlib
import re
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from aerode.report import pdf as printing
from aerode.report.page import html
from aerode.store.bench_file import BenchFile
from aerode.usecases.report import compare_and_report

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient

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
