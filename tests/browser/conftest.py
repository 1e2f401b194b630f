"""The browser of the journeys: the distribution's own Chromium, found or fetched by `make test`."""

from __future__ import annotations

import os
import shutil
import threading
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from contextlib import AbstractContextManager
    from pathlib import Path

    from playwright.sync_api import Browser, Page

    from aerode.web.guard.doors import Doors

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


@dataclass
class Site:
    """Running pages of one bench: where they are, and a way in."""

    address: str
    bench: Path
    doors: Doors

    def enter(self, page: Page, place: str = "/") -> Page:
        """Come in by a fresh link and go to a place."""
        page.goto(f"{self.address}/enter?link={self.doors.new_link()}")
        if place != "/":
            page.goto(self.address + place)
        return page


@dataclass
class Watched:
    """A page, everything it asked for, and everything that went wrong in it."""

    page: Page
    asked: list[str] = field(default_factory=list[str])
    wrong: list[str] = field(default_factory=list[str])


@contextmanager
def running(bench: Path) -> Iterator[Site]:
    """The pages of a bench on a free port, in a thread of their own."""
    import uvicorn

    from aerode.store.bench_file import now
    from aerode.web.app import create_app
    from aerode.web.guard.doors import Doors
    from aerode.web.serving import free_port
    from aerode.web.settings import Settings

    door = free_port(8_900 + 25 * (os.getpid() % 80))
    settings, doors = Settings(bench=str(bench), port=door.getsockname()[1]), Doors(clock=now)
    config = uvicorn.Config(
        create_app(settings, doors),
        log_level="error",
        access_log=False,
        timeout_graceful_shutdown=1,
    )
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [door]}, daemon=True)
    thread.start()
    try:
        yield Site(f"http://127.0.0.1:{settings.port}", bench, doors)
    finally:
        server.should_exit = True
        thread.join(10)
        door.close()


@pytest.fixture(scope="session")
def invented(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The invented bench, drawn once; never written."""
    from aerode.records.places import Bench
    from aerode.store.bench_file import BenchFile, now
    from aerode.virtual.tern_sound import draw

    place = tmp_path_factory.mktemp("invented") / "tern-sound.aerode"
    drawn = draw(1)
    title = next(r.title for r in drawn.records if isinstance(r, Bench))
    with BenchFile.create(place, title=title, clock=now) as bench:
        bench.put_all([r for r in drawn.records if not isinstance(r, Bench)])
    return place


@pytest.fixture(scope="session")
def reading_site(invented: Path) -> Iterator[Site]:
    """Pages of the invented bench, for journeys that only look."""
    with running(invented) as site:
        yield site


@pytest.fixture
def site(invented: Path, tmp_path: Path) -> Iterator[Site]:
    """Pages of a copy of the invented bench that a journey may change."""
    place = tmp_path / "tern-sound.aerode"
    shutil.copyfile(invented, place)
    with running(place) as site:
        yield site


@pytest.fixture
def new_site(tmp_path: Path) -> Iterator[Site]:
    """Pages of a bench with nothing on it but its title."""
    from aerode.store.bench_file import BenchFile, now

    place = tmp_path / "new.aerode"
    BenchFile.create(place, title="A new bench", clock=now).close()
    with running(place) as site:
        yield site


@pytest.fixture
def look(browser: Browser) -> Callable[..., AbstractContextManager[Watched]]:
    """A window of a size: `with look(width=360) as seen:`; closed afterwards."""

    @contextmanager
    def opened(
        *, width: int = 1100, height: int = 800, scheme: str = "light", scripts: bool = True
    ) -> Iterator[Watched]:
        context = browser.new_context(
            viewport={"width": width, "height": height},
            color_scheme=scheme,  # pyright: ignore[reportArgumentType]
            java_script_enabled=scripts,
            accept_downloads=True,
        )
        seen = Watched(context.new_page())
        seen.page.set_default_timeout(60_000)
        context.on("request", lambda request: seen.asked.append(request.url))
        seen.page.on("console", lambda m: seen.wrong.append(m.text) if m.type == "error" else None)
        seen.page.on("pageerror", lambda error: seen.wrong.append(str(error)))
        yield seen
        context.close()

    return opened
