"""Data: a file is shown before it is taken, the bench goes out whole and comes back, copies, check."""

from __future__ import annotations

import io
import sqlite3
import zipfile
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from aerode.errors import InputError
from aerode.records.electrodes import Electrode
from aerode.records.materials import PowderLot
from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.offered import Sort, recognise

if TYPE_CHECKING:
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
    assert page.replace("\u00a0", " ").count("<li>9 May 2026, 12:00") == 1


def test_the_check_says_what_was_looked_at(inside: TestClient) -> None:
    """A whole bench."""
    assert "All 7 records read back just as they were written" in inside.get("/data/check").text


def test_a_list_that_does_not_agree_is_made_again_from_the_page(inside: TestClient, bench_place: Path) -> None:  # fmt: skip
    """The check names it, offers the button, and finds the bench whole after it; so for kept answers."""
    with BenchFile.open(bench_place) as bench:
        bench.put(Electrode(name="T1"))
    with sqlite3.connect(bench_place) as connection:
        connection.execute("DELETE FROM current WHERE kind = 'electrode'")
        connection.execute(
            "INSERT INTO result VALUES ('k','fit/1','T1','q','[]','c','t','2026-05-09','{}',?)", ("0" * 64,)
        )  # fmt: skip
    connection.close()
    page = inside.get("/data/check").text

    assert "Make the list again" in page
    assert "Forget the kept answers" in page
    assert "aerode bench" not in page
    inside.post("/data/check/forget")
    inside.post("/data/check/rebuild")
    assert "The bench is whole" in inside.get("/data/check").text
    with BenchFile.open(bench_place) as bench:
        assert bench.names(Electrode) == ["T1"]


def test_an_older_bench_is_brought_up_to_date_from_the_refusal(
    inside: TestClient, bench_place: Path
) -> None:
    """Put in the place of the bench by another program while the pages run: a button, a copy first, all pages again."""
    old = Path(__file__).resolve().parents[2] / "store" / "frozen" / "schema-1.aerode"
    for leftover in bench_place.parent.glob("shed.aerode*"):
        leftover.unlink()
    bench_place.write_bytes(old.read_bytes())
    refused = inside.get("/electrodes")

    assert refused.status_code == 409
    assert 'action="/data/up-to-date"' in refused.text
    assert "aerode bench" not in refused.text
    assert inside.post("/data/up-to-date").status_code == 200
    assert inside.get("/electrodes").status_code == 200
    assert len(list(bench_place.with_name("shed.backups").glob("*.aerode"))) == 1


@pytest.mark.parametrize(
    ("do", "words", "place"),
    [
        ("gone", "put a copy back in its place", "/data/restore"),
        ("spilled", "hand in a bench file", "/data"),
        ("flipped", "check the bench, under More, Data", "/data/check"),
    ],
)
def test_a_refusal_leads_to_the_page_that_helps(
    inside: TestClient, bench_place: Path, do: str, words: str, place: str
) -> None:
    """The file is gone, is none, or does not agree with itself: words, a button, and no command."""
    with BenchFile.open(bench_place) as bench:
        bench.put(Electrode(name="T1", note="thin"))
    if do == "gone":
        bench_place.unlink()
    elif do == "spilled":
        bench_place.write_bytes(b"spilled coffee")
    else:
        with sqlite3.connect(bench_place) as connection:
            connection.execute("DROP TRIGGER revision_no_update")
            connection.execute("UPDATE revision SET doc = replace(doc, 'thin', 'thim')")
            for table, act in (("revision", "UPDATE"),):
                connection.execute(
                    f"CREATE TRIGGER {table}_no_{act.lower()} BEFORE {act} ON {table} "
                    f"BEGIN SELECT RAISE(ABORT, '{table} is written once'); END"
                )
        connection.close()
    page = inside.get("/things/electrode/T1").text if do == "flipped" else inside.get("/runs").text

    assert words in page
    assert f'href="{place}"' in page
    assert "aerode bench" not in page


def test_a_refused_folder_speaks_of_the_persons_file_and_of_what_may_be_in_it(inside: TestClient) -> None:  # fmt: skip
    """The name of the zip, not the program's own folder; plain words for what is missing; an example."""
    notes = _zip(powders__csv="name;price\nbirch char;3\n", Z1_loads__csv="load;voltage\n100;0.8\n")
    page = inside.get(_hand_in(inside, "Notes Z.zip", notes)).text

    assert "Where: Notes Z.zip" in page
    assert "/tmp" not in page
    assert "aerode-" not in page
    assert "Field required" not in page
    assert "substance: this is needed" in page
    assert "orders.csv or claims.csv" not in page
    assert "runs/NAME.csv" in page
    assert "/data/example-folder.zip" in page


def test_the_example_folder_can_be_handed_in_as_it_is(inside: TestClient, bench_place: Path) -> None:  # fmt: skip
    """Every line that is shown as an example is taken, with the readings of its run."""
    example = inside.get("/data/example-folder.zip")
    place = _hand_in(inside, "example-folder.zip", example.content)
    seen = inside.get(place)
    inside.post(f"{place}/take", data={})

    assert seen.status_code == 200, seen.text
    with BenchFile.open(bench_place) as bench:
        assert {"E1", "E2"} <= set(bench.names(Electrode))
        assert len(bench.get(Run, "E1 loads").readings) == 4


def test_a_log_without_a_date_is_asked_when_it_began_and_leads_to_its_run(
    on_tern_sound: TestClient, tern_place: Path
) -> None:
    """It never ends in the future; a date that is typed stands, one that cannot be read is asked again."""
    rows = "".join(f"{240 * k};{600 - k / 10:.1f}\n" for k in range(600))
    place = _hand_in(on_tern_sound, "discharge.csv", f"time (s);U (mV)\n{rows}".encode())
    seen = on_tern_sound.get(place, params={"electrode": "T2"}).text.replace("\u00a0", " ")
    wrong = on_tern_sound.post(f"{place}/take", data={"electrode": "T2", "begun": "3/4/25"})
    taken = on_tern_sound.post(f"{place}/take", data={"electrode": "T2", "begun": "27.4.2026 14:20"})  # fmt: skip

    assert "<h1>discharge.csv: 600 rows" in seen
    assert "taken as begun 7 May 2026, so that it ends today" in seen  # 39.9 h before 9 May, noon
    assert 'name="begun"' in seen
    assert wrong.status_code == 400
    assert "To T2 log 2026-04-27" in taken.text
    with BenchFile.open(tern_place) as bench:
        assert bench.get(Run, "T2 log 2026-04-27").started == "2026-04-27T14:20"
