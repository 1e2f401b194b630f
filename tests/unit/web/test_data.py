"""Data: a file is shown before it is taken, the bench goes out whole and comes back, copies, check."""

from __future__ import annotations

import io
import zipfile
from typing import TYPE_CHECKING

import pytest

from aerode.errors import InputError
from aerode.records.electrodes import Electrode
from aerode.records.materials import PowderLot
from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.offered import Sort, recognise

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient

TABLE = b"time (s);U (mV)\r\n0;612,0\r\n60;598,5\r\n120;595,0\r\n"
"""A meter's log with decimal commas, as a spreadsheet of a country with commas writes it."""


def _zip(**files: str) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, text in files.items():
            archive.writestr(name.replace("__", "."), text)
    return out.getvalue()


def _hand_in(browser: TestClient, name: str, data: bytes) -> str:
    sent = browser.post("/data/import", files={"file": (name, data)}, follow_redirects=False)
    assert sent.status_code == 303, sent.text
    return sent.headers["location"]


def test_a_table_is_shown_and_taken_only_when_confirmed(
    on_tern_sound: TestClient, tern_place: Path
) -> None:
    """Columns, units and the run it becomes; taken by a second act, once."""
    place = _hand_in(on_tern_sound, "log.csv", TABLE)
    asked = on_tern_sound.get(place)
    with BenchFile.open(tern_place) as bench:
        before = set(bench.names(Run))
    said = {"electrode": "T1", "meter": "yellow meter"}
    seen = on_tern_sound.get(place, params=said)

    assert asked.status_code == 400  # whose readings they are is not told yet
    assert seen.status_code == 200, seen.text
    assert "voltage" in seen.text
    with BenchFile.open(tern_place) as bench:
        assert set(bench.names(Run)) == before

    taken = on_tern_sound.post(f"{place}/take", data={**said, "once": "x"}, follow_redirects=False)
    again = on_tern_sound.post(f"{place}/take", data={**said, "once": "x"}, follow_redirects=False)
    with BenchFile.open(tern_place) as bench:
        new = set(bench.names(Run)) - before
        run = bench.get(Run, new.pop())
    assert not new
    assert taken.headers["location"] == again.headers["location"]
    assert run.electrode == "T1"
    assert on_tern_sound.get(place).status_code == 404


def test_a_folder_of_notes_as_a_zip(inside: TestClient, bench_place: Path) -> None:
    """Counts of what would come in; then it is in."""
    notes = _zip(powders__csv="name,substance,function\nchar B,biochar,conductor\n")
    place = _hand_in(inside, "notes.zip", notes)
    seen = inside.get(place)

    assert seen.status_code == 200, seen.text
    assert "1 new" in seen.text
    with BenchFile.open(bench_place) as bench:
        assert "char B" not in bench.names(PowderLot)
    inside.post(f"{place}/take", data={})
    with BenchFile.open(bench_place) as bench:
        assert "char B" in bench.names(PowderLot)


def test_faults_name_file_line_and_column(inside: TestClient) -> None:
    """Every one of them, and no button to take it."""
    notes = _zip(powders__csv="name,substance,function\n,biochar,conductor\nB,biochar,magic\n")
    page = inside.get(_hand_in(inside, "notes.zip", notes))

    assert page.status_code == 400
    assert "powders.csv" in page.text
    assert "/take" not in page.text


def test_the_bench_goes_out_and_comes_back(
    on_tern_sound: TestClient, inside: TestClient, tern_place: Path, bench_place: Path
) -> None:
    """An exported bench, handed in elsewhere, is tried on a copy first and then taken whole."""
    package = on_tern_sound.get("/data/export.zip")
    place = _hand_in(inside, "other.zip", package.content)
    seen = inside.get(place)

    assert package.headers["content-type"] == "application/zip"
    assert "a whole bench, as exported" in seen.text
    with BenchFile.open(bench_place) as bench:
        assert bench.names(Electrode) == []
    inside.post(f"{place}/take", data={})
    with BenchFile.open(bench_place) as bench, BenchFile.open(tern_place) as other:
        assert set(bench.names(Electrode)) == set(other.names(Electrode))


def test_what_is_withheld_does_not_go_out(on_tern_sound: TestClient) -> None:
    """Notes asked to be left out are in no file of the package."""
    package = on_tern_sound.get("/data/export.zip?withhold=note&withhold=who")
    with zipfile.ZipFile(io.BytesIO(package.content)) as archive:
        described = archive.read("datapackage.json").decode()

    assert '"withheld"' in described


def test_another_bench_file_is_merged(
    inside: TestClient, bench_place: Path, tern_place: Path
) -> None:
    """What is not here yet comes in; nothing is chosen."""
    place = _hand_in(inside, "other.aerode", tern_place.read_bytes())
    assert "another bench file" in inside.get(place).text
    inside.post(f"{place}/take", data={})

    with BenchFile.open(bench_place) as bench:
        assert "T1" in bench.names(Electrode)
        assert "char A" in bench.names(PowderLot)


def test_edited_tables_come_back_as_new_states(on_tern_sound: TestClient, tern_place: Path) -> None:
    """One cell changed in a spreadsheet: the change is shown, then stored, the old state kept."""
    package = on_tern_sound.get("/data/export.zip")
    with zipfile.ZipFile(io.BytesIO(package.content)) as archive:
        name = next(n for n in archive.namelist() if n.endswith("powders.csv"))
        text = archive.read(name).decode()
    assert "biochar" in text
    edited = text.replace("conductor", "catalyst", 1)
    place = _hand_in(on_tern_sound, "powders.csv", edited.encode())
    seen = on_tern_sound.get(place)

    assert "exported tables, edited" in seen.text
    assert "catalyst" in seen.text
    on_tern_sound.post(f"{place}/take", data={})
    with BenchFile.open(tern_place) as bench:
        assert any(len(bench.history(PowderLot, n)) == 2 for n in bench.names(PowderLot))


def test_leaving_a_file_leaves_nothing(inside: TestClient) -> None:
    """It is gone, and the page says so when asked again."""
    place = _hand_in(inside, "log.csv", TABLE)
    inside.post(f"{place}/leave")

    assert inside.get(place).status_code == 404


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("a.bin", b"\x00\x01\x02\x00"),
        ("a.zip", b"PK\x03\x04 and then nonsense"),
        ("a.tar", b"x" * 600),
    ],
)
def test_what_is_not_understood_is_refused_with_what_is(
    inside: TestClient, name: str, data: bytes
) -> None:
    """The page says what can be handed in; the bench is as it was."""
    page = inside.post("/data/import", files={"file": (name, data)})

    assert page.status_code == 400
    assert 'role="alert"' in page.text


def test_names_lead_nowhere(tmp_path: Path) -> None:
    """A file is kept under the last part of its name, below its own folder."""
    offered = recognise("../../etc/log:1.csv", TABLE, tmp_path)

    assert offered.place.parent == tmp_path
    assert offered.sort is Sort.READINGS


def test_an_archive_that_leads_out_is_refused(tmp_path: Path) -> None:
    """Nothing is written beside the folder."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("../powders.csv", "name\nx\n")

    with pytest.raises(InputError, match="leads out"):
        recognise("a.zip", out.getvalue(), tmp_path)


def test_no_file_chosen_is_said(inside: TestClient) -> None:
    """An empty press of the button."""
    page = inside.post("/data/import", data={})

    assert page.status_code == 400
    assert "No file was chosen" in page.text


def test_a_backup_is_made_once_and_listed(inside: TestClient, bench_place: Path) -> None:
    """A second press makes no second copy."""
    first = inside.post("/data/backup", data={"once": "b"}, follow_redirects=False)
    inside.post("/data/backup", data={"once": "b"})
    page = inside.get(first.headers["location"]).text

    assert "Backed up and checked" in page
    assert page.count("<li>2026-05-09T12:00:00Z") == 1


def test_the_check_says_what_was_looked_at(inside: TestClient) -> None:
    """A whole bench."""
    assert "All 7 records read back just as they were written" in inside.get("/data/check").text
