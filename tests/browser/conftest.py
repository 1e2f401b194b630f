"""The browser of the journeys: the distribution's own Chromium, found or fetched by `make test`."""

from __future__ import annotations

import os
import shutil
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import Browser

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")


def browser_path() -> str:
    """The browser to use, or "" where there is none or none is wanted."""
    if os.environ.get("NO_BROWSER") == "1":
        return ""
    named = os.environ.get("AERODE_BROWSER") or os.environ.get("AERODE_CHROMIUM")
    return named or next((path for name in NAMES if (path := shutil.which(name))), "")


collect_ignore_glob = [] if browser_path() else ["test_*.py"]


def pytest_report_header() -> str:
    """Say whether the journeys run."""
    return (
        f"browser journeys with {browser_path()}" if browser_path() else "browser journeys NOT run"
    )


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One browser for all journeys."""
    from playwright.sync_api import sync_playwright

    arguments = [
        "--disable-gpu",
        "--disable-quic",
        "--disable-background-networking",
        "--disable-component-update",
    ]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        arguments.append("--no-sandbox")
    with sync_playwright() as player:
        started = player.chromium.launch(executable_path=browser_path(), args=arguments)
        yield started
        started.close()


@pytest.fixture(scope="session")
def report(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's report, made once."""
    from aerode.report.page import html
    from aerode.store.bench_file import now
    from aerode.usecases.demo import run_demo

    out = tmp_path_factory.mktemp("report")
    made = run_demo(str(out), seed=1, clock=now, step=lambda what, share: None)
    place = out / "report.html"
    place.write_text(html(made.report), "utf-8")
    return place
