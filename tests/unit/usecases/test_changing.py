"""Two who change one thing at the same moment: both changes stand."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from aerode.errors import BusyError, NotFoundError
from aerode.records.electrodes import Electrode
from aerode.records.runs import Unsorted
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_attach import attach_photos
from aerode.usecases.changing import change_record
from aerode.usecases.electrode_page_acts import add_coat, add_weighing, later_state
from aerode.usecases.log_reading import file_reading

if TYPE_CHECKING:
    from collections.abc import Generator
    from pathlib import Path

NOW = datetime(2026, 3, 7, 10, tzinfo=UTC)


@pytest.fixture
def bench(tmp_path: Path) -> Generator[BenchFile]:
    """A bench with one electrode."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as made:
        made.put(Electrode(name="T6"))
        yield made


@pytest.fixture
def overtaken(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """What another program stores just before the next `put_onto`, one after the other."""
    real, others = BenchFile.put_onto, list[object]()

    def put_onto(self: BenchFile, record: object, base: str, **said: str) -> object:
        if others:
            self.put(others.pop(0))
        return real(self, record, base, **said)

    monkeypatch.setattr(BenchFile, "put_onto", put_onto)
    return others


def test_a_coat_and_a_note_at_the_same_moment(bench: BenchFile, overtaken: list[object]) -> None:
    """The note came between reading and storing: it is still there, and so is the coat."""
    overtaken.append(Electrode(name="T6", note="thin at one edge"))
    assert add_coat(bench, "T6", {"wet_mass": "0.42 g"}, at=NOW.isoformat()).record is not None
    stored = bench.get(Electrode, "T6")
    assert stored.note == "thin at one edge"
    assert [coat.wet_mass for coat in stored.layers[0].coats] == [pytest.approx(0.42e-3)]


def test_as_many_weighings_as_were_sent(bench: BenchFile) -> None:
    """Eight phones at once, none of them lost."""
    masses = [f"12.{number} g" for number in range(10, 18)]
    with ThreadPoolExecutor(4) as pool:
        list(pool.map(lambda m: add_weighing(bench, "T6", {"mass": m}, at=""), masses))
    stored = bench.get(Electrode, "T6").weighings
    assert sorted(round(1e3 * one.mass, 2) for one in stored) == [12.0 + n / 100 for n in range(10, 18)]  # fmt: skip


def test_as_many_readings_in_the_tray_as_were_sent(bench: BenchFile) -> None:
    """Each gets a number of its own."""
    texts = [f"0.7{number} V" for number in range(10, 18)]
    with ThreadPoolExecutor(4) as pool:
        answers = list(
            pool.map(lambda text: file_reading(bench, [text], note="", moment=NOW), texts)
        )
    assert len({answer.tray for answer in answers}) == 8
    assert sorted(one.text for one in bench.all(Unsorted)) == texts


def test_a_later_state_whose_name_is_given_away_meanwhile(
    bench: BenchFile, overtaken: list[object]
) -> None:
    """The other piece is not turned into this one; the form asks for another name."""
    overtaken.append(Electrode(name="T6 washed", note="another piece"))
    acted = later_state(
        bench, "T6", new="T6 washed", state="washed", rinsed=True, note="", at=NOW.isoformat()
    )
    assert [fault.field for fault in acted.faults] == ["new"]
    assert bench.get(Electrode, "T6 washed").note == "another piece"


def test_who_is_never_first_is_told(bench: BenchFile, overtaken: list[object]) -> None:
    """After some tries nothing is stored, and it is said."""
    overtaken.extend(Electrode(name="T6", note=str(number)) for number in range(100))
    with pytest.raises(BusyError, match="others write to T6 all the time"):
        change_record(bench, Electrode, "T6", lambda one: replace(one, recipe="A"), why="")
    assert bench.get(Electrode, "T6").recipe == ""


def test_a_thing_that_is_not_there(bench: BenchFile) -> None:
    """It is said with the names that come near."""
    with pytest.raises(NotFoundError, match="T7"):
        change_record(bench, Electrode, "T7", lambda one: one, why="")


def test_a_change_of_nothing_is_no_new_state(bench: BenchFile) -> None:
    """The history says only what was done."""
    change_record(bench, Electrode, "T6", lambda one: replace(one, note=""), why="nothing")
    assert len(bench.history(Electrode, "T6")) == 1


def test_photos_and_a_note_at_the_same_moment(
    bench: BenchFile, overtaken: list[object], photo: bytes
) -> None:
    """The photo is among those of the electrode, and the note stands."""
    overtaken.append(Electrode(name="T6", note="crack"))
    attach_photos(bench, "T6", [("edge.png", photo)])
    stored = bench.get(Electrode, "T6")
    assert stored.note == "crack"
    assert len(stored.photos) == 1


@pytest.fixture
def photo() -> bytes:
    """A small picture."""
    from io import BytesIO

    from PIL import Image

    content = BytesIO()
    Image.new("RGB", (8, 8), "white").save(content, "PNG")
    return content.getvalue()
