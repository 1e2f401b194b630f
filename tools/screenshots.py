"""Pictures of every page for people to look at: light, dark, phone and print, into out/screenshots.

    python tools/screenshots.py [FOLDER]

Draws the invented bench, starts the pages on it, and follows every link from the first page; of
pages that differ only in the name of a record one is taken. Needs the development set-up and a
Chromium (tools/browser.py finds or fetches it).
"""

from __future__ import annotations

import html
import os
import re
import sys
import threading
from collections import deque
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import parse_qsl, unquote, urlsplit

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator

VIEWS = {
    "phone": {"width": 360, "height": 740, "scheme": "light", "media": "screen"},
    "phone-dark": {"width": 360, "height": 740, "scheme": "dark", "media": "screen"},
    "desk": {"width": 1280, "height": 900, "scheme": "light", "media": "screen"},
    "desk-dark": {"width": 1280, "height": 900, "scheme": "dark", "media": "screen"},
    "print": {"width": 720, "height": 1020, "scheme": "light", "media": "print"},
}
"""How each page is looked at; print is A4 without its margins at 96 pixels to the inch."""
_LINK = re.compile(r"<a\b[^>]*?\bhref=\"(/[^\"]*)\"[^>]*>")
_NO_PAGE = (".svg", ".csv", ".zip", ".pdf", ".html", ".jpg")
_MOST = 400


def key(place: str, names: Collection[str]) -> str:
    """What pages of one sort have in common: names of records and what is asked are left out.

    >>> key("/runs/T1%20loads?x=1", {"T1 loads"})
    '/runs/*?x'
    """
    parts = urlsplit(place)
    path = "/".join("*" if unquote(p) in names else p for p in parts.path.split("/"))
    path = re.sub(r"^/history/[^/]+/", "/history/*/", path)
    asked = sorted({name for name, _ in parse_qsl(parts.query)})
    return path + (f"?{','.join(asked)}" if asked else "")


def reachable(
    get: Callable[[str], tuple[int, str]], names: Collection[str]
) -> Iterator[tuple[str, int]]:
    """Every sort of page that links lead to from the first one, with the status of its answer.

    Parameters
    ----------
    get : callable
        Asks for a path of the site: status and text.
    names : collection of str
        Names of records.
    """
    waiting, seen = deque(["/"]), {"/"}
    while waiting and len(seen) < _MOST:
        place = waiting.popleft()
        status, text = get(place)
        yield place, status
        for tag in _LINK.finditer(text):
            link = html.unescape(tag[1]).split("#")[0]
            if not link or " download" in tag[0] or urlsplit(link).path.endswith(_NO_PAGE):
                continue
            if link.startswith(("/static/", "/json/")) or key(link, names) in seen:
                continue
            seen.add(key(link, names))
            waiting.append(link)


def names_on(bench: str) -> set[str]:
    """Every name of a record on a bench."""
    from aerode.records import KINDS
    from aerode.store.bench_file import BenchFile

    with BenchFile.open(bench, read_only=True) as store:
        named = {kind: store.names(cls) for kind, cls in KINDS.items()}
    return {text for kind, names in named.items() for n in names for text in (n, f"{kind}:{n}")}


def file_name(place: str) -> str:
    """The name of a picture: the path in words."""
    words = re.sub(r"[^A-Za-z0-9]+", "-", unquote(place)).strip("-")
    return (words or "first-page")[:90]


def main(folder: str) -> None:
    """Take all pictures."""
    import uvicorn
    from playwright.sync_api import sync_playwright

    from aerode.store.bench_file import now
    from aerode.usecases.demo import run_demo
    from aerode.web.app import create_app
    from aerode.web.guard.doors import Doors
    from aerode.web.serving import free_port
    from aerode.web.settings import Settings

    out = Path(folder)
    bench = str(out / "bench" / "tern-sound.aerode")
    run_demo(str(out / "bench"), seed=1, clock=now, step=lambda what, share: None)
    door = free_port(8700)
    settings, doors = Settings(bench=bench, port=door.getsockname()[1]), Doors(clock=now)
    server = uvicorn.Server(
        uvicorn.Config(create_app(settings, doors), log_level="error", access_log=False)
    )
    running = threading.Thread(target=server.run, kwargs={"sockets": [door]}, daemon=True)
    running.start()
    site = f"http://127.0.0.1:{settings.port}"
    names = names_on(bench)
    arguments = ["--disable-gpu", *(["--no-sandbox"] if os.geteuid() == 0 else [])]
    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path=_browser(), args=arguments)
        places: list[str] = []
        for view, how in VIEWS.items():
            (out / view).mkdir(parents=True, exist_ok=True)
            size = {"width": how["width"], "height": how["height"]}
            page = browser.new_context(viewport=size, color_scheme=how["scheme"]).new_page()
            page.emulate_media(media=how["media"], color_scheme=how["scheme"])
            page.goto(f"{site}/enter?link={doors.new_link()}")

            def get(place: str, page: object = page) -> tuple[int, str]:
                answer = page.request.get(site + place)  # type: ignore[attr-defined]
                return answer.status, answer.text()

            places = places or [place for place, _ in reachable(get, names)]
            for place in places:
                page.goto(site + place, wait_until="load")
                if page.locator("[data-fetch]").count():  # more comes once the page is read
                    page.wait_for_load_state("networkidle")
                page.screenshot(path=out / view / f"{file_name(place)}.png", full_page=True)
            print(f"{view}: {len(places)} pages")
        browser.close()
    server.should_exit = True
    running.join()
    print(f"They lie in {out}")


def _browser() -> str:
    import subprocess

    found = subprocess.run(
        [sys.executable, Path(__file__).with_name("browser.py")], stdout=subprocess.PIPE, check=True
    )
    return found.stdout.decode().strip()


if __name__ == "__main__":
    if sys.argv[1:] and sys.argv[1].startswith("-"):
        print(__doc__)
    else:
        main(sys.argv[1] if len(sys.argv) > 1 else "out/screenshots")
