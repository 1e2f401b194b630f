"""A bench with its pages, asked without a network."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest
from starlette.testclient import TestClient

from aerode.records.electrodes import Electrode, Layer, Outcome
from aerode.records.instruments import Instrument, MeterRange, Sort
from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, Solution, SolventLot
from aerode.records.mixes import Ingredient, Mix, Portion
from aerode.records.places import Room
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile
from aerode.web.app import create_app
from aerode.web.guard.doors import Doors
from aerode.web.settings import Settings

if TYPE_CHECKING:
    from pathlib import Path

    from aerode.web.guard.middleware import Guard

PORT = 8642
ORIGIN = f"http://127.0.0.1:{PORT}"
NOON = datetime(2026, 5, 9, 12, 0, tzinfo=UTC)


@pytest.fixture
def bench_place(tmp_path: Path) -> Path:
    """A bench with a meter, three resistors, a powder and a solution."""
    place = tmp_path / "shed.aerode"
    volts = MeterRange(name="2 V", full_scale=2.0, count=0.001, of_reading=0.005, counts=2.0)
    with BenchFile.create(place, title="Net shed", clock=lambda: NOON) as bench:
        bench.put(Instrument(name="meter 1", sort=Sort.MULTIMETER, ranges=(volts,)))
        for ohms in (100.0, 33.0, 10.0):
            name = f"{ohms:g} ohm"
            bench.put(Instrument(name=name, sort=Sort.RESISTOR, nominal_resistance=ohms, tolerance=0.05))  # fmt: skip
        bench.put(PowderLot(name="char A", substance="biochar", function="conductor"))  # pyright: ignore[reportArgumentType]
        bench.put(Solution(name="jar 1", polymer="PVB"))
    return place


@pytest.fixture(scope="session")
def tern_sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The invented bench, drawn once; copy it before writing."""
    from aerode.records.places import Bench
    from aerode.virtual.tern_sound import draw

    place = tmp_path_factory.mktemp("tern-sound") / "tern-sound.aerode"
    invented = draw(1)
    title = next(r.title for r in invented.records if isinstance(r, Bench))
    with BenchFile.create(place, title=title, clock=lambda: NOON) as bench:
        bench.put_all([r for r in invented.records if not isinstance(r, Bench)])
    return place


@pytest.fixture(scope="session")
def looking(tern_sound: Path) -> TestClient:
    """A browser that only looks at the invented bench: answers are worked out once for all tests."""
    doors = Doors(clock=lambda: NOON)
    app = create_app(Settings(bench=str(tern_sound), port=PORT, clock=lambda: NOON), doors)
    browser = TestClient(app, base_url=ORIGIN, headers={"origin": ORIGIN})
    browser.get("/enter", params={"link": doors.new_link()})
    return browser


@pytest.fixture
def tern_place(tern_sound: Path, tmp_path: Path) -> Path:
    """A copy of the invented bench that a test may change."""
    place = tmp_path / "tern-sound.aerode"
    shutil.copyfile(tern_sound, place)
    return place


@pytest.fixture
def on_tern_sound(tern_place: Path, doors: Doors) -> TestClient:
    """A browser that is in, on the invented bench."""
    app = create_app(Settings(bench=str(tern_place), port=PORT, clock=lambda: NOON), doors)
    browser = TestClient(app, base_url=ORIGIN, headers={"origin": ORIGIN})
    browser.get("/enter", params={"link": doors.new_link()})
    return browser


@pytest.fixture
def doors() -> Doors:
    """Nobody is in yet."""
    return Doors(clock=lambda: NOON)


@pytest.fixture
def app(bench_place: Path, doors: Doors) -> Guard:
    """The whole program of pages."""
    return create_app(Settings(bench=str(bench_place), port=PORT, clock=lambda: NOON), doors)


@pytest.fixture
def outside(app: Guard) -> TestClient:
    """A browser that is not in."""
    return TestClient(app, base_url=ORIGIN, headers={"origin": ORIGIN})


@pytest.fixture
def inside(outside: TestClient, doors: Doors) -> TestClient:
    """A browser that came in by a link."""
    outside.get("/enter", params={"link": doors.new_link()})
    return outside


@pytest.fixture
def made(bench_place: Path) -> Path:
    """The bench with two electrodes, one of them measured."""
    with BenchFile.open(bench_place) as bench:
        area = Entry(value=9.5e-4, standard_uncertainty=1e-5)
        bench.put(Electrode(name="T1", recipe="T", wetted_area=area))
        bench.put(Electrode(name="T2", recipe="T", outcome=Outcome.LEAKED, layers=(Layer(),)))
        bench.put(
            Run(name="T1 loads", electrode="T1", readings=(Reading(load="100 ohm", voltage=0.7),))
        )
    return bench_place


@pytest.fixture
def begun(inside: TestClient) -> TestClient:
    """A run of a new electrode, begun with one typed field."""
    made = inside.post("/runs/start", data={"electrode": "T1"}, follow_redirects=False)
    assert made.headers["location"] == "/runs/T1%20loads"
    return inside


@pytest.fixture
def stocked(bench_place: Path) -> Path:
    """The bench with a binder of known solids, a bottle, a room and one weighed mix."""
    with BenchFile.open(bench_place) as bench:
        bench.put(
            Solution(
                name="jar 1", polymer="PVB", function=Function.BINDER,
                liquid=(Share(of="ethanol", fraction=1.0),), solids=Entry(value=0.10),
            )
        )  # fmt: skip
        bench.put(PowderLot(name="black B", substance="carbon black", function=Function.CONDUCTOR))
        dry = Entry(value=0.0, standard_uncertainty=0.0)
        bench.put(
            PowderLot(name="char A", substance="biochar", function=Function.CONDUCTOR, moisture=dry)
        )
        bench.put(SolventLot(name="bottle", substance="ethanol"))
        bench.put(Room(name="shed", volume=Entry(value=30.0)))
        bench.put(
            Mix(
                name="T5",
                portions=(
                    Portion(of="char A", mass=Entry(value=8.5e-3, text="8.50 g", how="kitchen scale")),
                    Portion(of="jar 1", shelf=Ingredient.SOLUTION, mass=Entry(value=15e-3, text="15.0 g")),
                ),
            )
        )  # fmt: skip
    return bench_place


def rows_of(*rows: tuple[str, str, str]) -> dict[str, str]:
    """The fields of so many rows of a mix or pot: what, amount, share."""
    told: dict[str, str] = {}
    for number, (of, amount, share) in enumerate(rows):
        told |= {f"rows.{number}.of": of, f"rows.{number}.amount": amount, f"rows.{number}.share": share}  # fmt: skip
    return told


@pytest.fixture
def empty_place(tmp_path: Path) -> Path:
    """A bench on which nothing stands."""
    place = tmp_path / "empty.aerode"
    BenchFile.create(place, title="shed", clock=lambda: NOON).close()
    return place


@pytest.fixture
def newcomer(empty_place: Path, doors: Doors) -> TestClient:
    """A browser that is in, on the empty bench."""
    app = create_app(Settings(bench=str(empty_place), port=PORT, clock=lambda: NOON), doors)
    browser = TestClient(app, base_url=ORIGIN, headers={"origin": ORIGIN})
    browser.get("/enter", params={"link": doors.new_link()})
    return browser
