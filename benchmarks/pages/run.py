"""How long the pages take on a bench of 10,000 electrodes, beside a bare page of the same server.

The bench holds 10,000 electrodes and 100,000 readings. A server of its own process answers; four
clients ask at once, each page in turn with the bare one, so that both meet the same machine. The
95th percentile of each page stands beside its ratio to the bare page, with the weight of the page;
the figures of three pages are asked for as files in the same way.
Goals: at most 100 ms with four clients, at most 200 kB. What a page takes the very first time, when
nothing is remembered and sixteen curves are fitted, stands apart.
"""

from __future__ import annotations

import http.client
import multiprocessing
import re
import sys
import tempfile
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from aerode.records.electrodes import Cell, Electrode
from aerode.records.instruments import Instrument, MeterRange, Sort
from aerode.records.marks import Entry
from aerode.records.runs import Reading, Run, Settling
from aerode.store.bench_file import BenchFile, now
from aerode.web.app import create_app
from aerode.web.guard.doors import Doors
from aerode.web.serving import free_port
from aerode.web.settings import Settings

ELECTRODES = 10_000
READINGS = 10
ASKED = 40
CLIENTS = 4
BARE = "/hello"
PAGES = (
    "/more",
    "/shelf",
    "/electrodes",
    "/electrodes/T9000",
    "/things/electrode/new",
    "/runs",
    "/mixes",
    "/symptoms",
    "/",
    "/runs/run%209000",
    "/compare",
    "/data",
)
DRAWN = ("/runs/run%209000", "/compare", "/electrodes/T9000")
"""Pages whose figures are asked for as files too, each by its own address."""
FIGURE = re.compile(r'href="(/figures/[^"?#]+\.svg)"')
FIRST = ("/", "/compare")
"""Asked once in this order before all others: the fits of the first serve the second."""
LOADS = (220.0, 100.0, 68.0, 47.0, 33.0, 22.0, 15.0, 10.0, 6.8, 4.7)


def fill(place: Path) -> None:
    """The bench: curves of a plain cell, each electrode a little different."""
    volts = MeterRange(name="2 V", full_scale=2.0, count=1e-3, of_reading=0.005, counts=2.0)
    with BenchFile.create(place, title="A large bench") as bench:
        bench.put(Instrument(name="meter", sort=Sort.MULTIMETER, ranges=(volts,)))
        bench.put_all(
            Instrument(name=f"{r:g} ohm", sort=Sort.RESISTOR, nominal_resistance=r, tolerance=0.01)
            for r in LOADS
        )
        area = Entry(value=9.5e-4, standard_uncertainty=1e-5)
        bench.put_all(Electrode(name=f"T{k}", recipe=f"R{k % 40}", wetted_area=area) for k in range(ELECTRODES))  # fmt: skip
        bench.put_all(Cell(name=f"cell {k}", electrode=f"T{k}") for k in range(ELECTRODES))
        bench.put_all(run(k) for k in range(ELECTRODES))


def run(k: int) -> Run:
    """Readings on a line of 0.8 V and some ohms."""
    inner = 8.0 + (k % 17) / 10
    readings = tuple(
        Reading(load=f"{r:g} ohm", voltage=0.8 * r / (r + inner), settling=Settling.SETTLED)
        for r in LOADS[:READINGS]
    )
    return Run(name=f"run {k}", cell=f"cell {k}", electrode=f"T{k}", meter="meter", readings=readings, finished=True)  # fmt: skip


def answer(place: str, port: int, link: str, ready: object) -> None:
    """The server, in a process of its own."""
    import uvicorn

    doors = Doors(clock=now, secret=lambda: link)
    doors.new_link()
    guard = create_app(Settings(bench=place, port=port), doors)
    guard.app.add_api_route(BARE, lambda: "hello")  # type: ignore[attr-defined]
    door = free_port(port)
    server = uvicorn.Server(uvicorn.Config(guard, log_level="error", access_log=False))
    threading.Thread(target=lambda: _tell(server, ready), daemon=True).start()
    server.run(sockets=[door])


def _tell(server: object, ready: object) -> None:
    while not server.started:  # type: ignore[attr-defined]
        time.sleep(0.05)
    ready.set()  # type: ignore[attr-defined]


class Client:
    """One browser that keeps its connection and its cookie."""

    def __init__(self, port: int, cookie: str) -> None:
        self.line = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        self.headers = {"cookie": cookie}

    def ask(self, path: str) -> tuple[float, int, int]:
        """Seconds, status, bytes."""
        start = time.perf_counter()
        status, body = self.read(path)
        return time.perf_counter() - start, status, len(body)

    def read(self, path: str) -> tuple[int, bytes]:
        """Status and body."""
        self.line.request("GET", path, headers=self.headers)
        reply = self.line.getresponse()
        return reply.status, reply.read()


def enter(port: int, link: str) -> str:
    """Come in by the one-time link; the cookie."""
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    line.request("GET", f"/enter?link={link}")
    reply = line.getresponse()
    reply.read()
    return reply.headers["set-cookie"].partition(";")[0]


def percentile(values: list[float]) -> float:
    """The 95th percentile: the value that 5 of 100 exceed."""
    return sorted(values)[int(0.95 * (len(values) - 1))]


def measure(port: int, cookie: str, path: str) -> tuple[float, float, int, int]:
    """The 95th percentiles of a page and of the bare one, asked in turn by all clients; status, bytes."""
    Client(port, cookie).ask(path)  # what is remembered is made once

    def one(_: int) -> tuple[list[float], list[float], int, int]:
        client, page, bare, status, size = Client(port, cookie), [], [], 0, 0
        for _ in range(ASKED):
            seconds, status, size = client.ask(path)
            page.append(seconds)
            bare.append(client.ask(BARE)[0])
        return page, bare, status, size

    with ThreadPoolExecutor(CLIENTS) as pool:
        found = list(pool.map(one, range(CLIENTS)))
    pages = [s for page, _, _, _ in found for s in page]
    bares = [s for _, bare, _, _ in found for s in bare]
    return percentile(pages), percentile(bares), found[0][2], found[0][3]


def figures(port: int, cookie: str) -> tuple[str, ...]:
    """The addresses of the figures of the pages that have some."""
    client = Client(port, cookie)
    found = [client.read(page)[1].decode() for page in DRAWN]
    return tuple(dict.fromkeys(place for html in found for place in FIGURE.findall(html)))


def main() -> None:
    """Fill the bench, start the server, ask, print."""
    port, link = 8900, "benchmark-link"
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "large.aerode"
        fill(place)
        context = multiprocessing.get_context("spawn")
        ready = context.Event()
        server = context.Process(target=answer, args=(str(place), port, link, ready), daemon=True)
        server.start()
        ready.wait(60)
        cookie = enter(port, link)
        first = [(path, Client(port, cookie).ask(path)[0]) for path in FIRST]
        print(f"pages on a bench of {ELECTRODES:,} electrodes and {ELECTRODES * READINGS:,} readings; {CLIENTS} clients at once\n")  # fmt: skip
        print(f"  {'page':<34} {'p95 ms':>8} {'bare ms':>8} {'ratio':>7} {'kB':>6}  status")
        for path, seconds in first:
            print(f"  {path:<34} {1e3 * seconds:>8.0f} for the first time, nothing remembered")
        for path in sys.argv[1:] or (*PAGES, *figures(port, cookie)):
            page, bare, status, size = measure(port, cookie, path)
            print(f"  {path:<34} {1e3 * page:>8.1f} {1e3 * bare:>8.1f} {page / bare:>7.1f} {size / 1e3:>6.0f}  {status}")  # fmt: skip
        server.terminate()


if __name__ == "__main__":
    main()
