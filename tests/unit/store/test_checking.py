"""`check`: every change behind the program's back is found, and the record is named."""

from __future__ import annotations

import random
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from aerode.errors import DamagedError
from aerode.records.electrodes import Electrode
from aerode.records.materials import SolventLot
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile


@pytest.fixture
def filled(bench: BenchFile) -> BenchFile:
    """Three electrodes, one of them changed twice, a run, a series and a file."""
    bench.put_all([Electrode(name=f"T{n}") for n in (1, 2, 3)])
    bench.put(Electrode(name="T2", note="thin"), why="seen")
    bench.put(Electrode(name="T2", note="thin at the edge"))
    bench.put(Run(name="r1", electrode="T1", readings=(Reading(voltage=0.412),)))
    bench.append("log", {"at": [0.0]})
    bench.keep(b"photo", media="image/png")
    return bench


def spoil(bench: BenchFile, statement: str, *values: object) -> int:
    """Change the file as another program would that knows how to take the guards off."""
    connection = sqlite3.connect(bench.path or "", isolation_level=None)
    triggers = connection.execute(
        "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    ).fetchall()
    for (name,) in triggers:
        connection.execute(f"DROP TRIGGER {name}")
    changed = connection.execute(statement, values).rowcount
    connection.close()
    return changed


def named(bench: BenchFile) -> set[str]:
    """The records that `check` names."""
    return {f"{fault.kind} {fault.name}" for fault in bench.check().faults}


def test_a_whole_bench(filled: BenchFile) -> None:
    """Counts and no faults."""
    answer = filled.check()

    assert answer.whole
    assert (answer.revisions, answer.records, answer.series_chunks, answer.files) == (7, 5, 1, 1)
    assert answer.headline.startswith("Whole: 7 states of 5 records")


@pytest.mark.parametrize("column", ["record", "schema", "at", "who", "why", "doc", "parents"])
def test_a_changed_column_is_found_by_name(filled: BenchFile, column: str) -> None:
    """One letter in any column of an old state of T2 names T2."""
    head = filled.history(Electrode, "T2")[1].digest
    assert spoil(
        filled, f"UPDATE revision SET {column} = replace({column}, substr({column}, 1, 1), 'Z') || '' WHERE digest = ?", head
    ) == 1  # fmt: skip

    answer = filled.check()

    assert not answer.whole
    assert "electrode T2" in {f"{fault.kind} {fault.name}" for fault in answer.faults}
    assert answer.headline.startswith("DAMAGED")


def test_a_changed_kind_is_found(filled: BenchFile) -> None:
    """The kind is part of the digest too; the name still tells which record it is."""
    head = filled.history(Electrode, "T2")[2].digest
    spoil(filled, "UPDATE revision SET kind = 'cell' WHERE digest = ?", head)

    assert "cell T2" in named(filled)


def test_reading_a_damaged_record_is_refused(filled: BenchFile) -> None:
    """A changed reading is never handed on; the others still are."""
    spoil(filled, "UPDATE revision SET doc = replace(doc, '0.412', '0.512')")

    with pytest.raises(DamagedError, match="'r1'"):
        filled.get(Run, "r1")
    assert filled.get(Electrode, "T2").note == "thin at the edge"


def test_a_list_that_lies_is_refused_and_found(filled: BenchFile) -> None:
    """A name on the list that its document does not bear."""
    spoil(filled, "UPDATE current SET name = 'T9' WHERE name = 'T3'")

    with pytest.raises(DamagedError, match="T9"):
        filled.get(Electrode, "T9")
    assert named(filled) & {"electrode T3", "electrode T9"}


@pytest.mark.parametrize(
    ("statement", "name"),
    [
        ("DELETE FROM current WHERE name = 'T3'", "electrode T3"),
        ("UPDATE current SET made = 99 WHERE name = 'T1'", "electrode T1"),
        ("UPDATE current SET parent = 'T3' WHERE name = 'r1'", "run r1"),
        ("UPDATE current SET record = 'x' WHERE name = 'T2'", "electrode T2"),
    ],
)
def test_a_wrong_list_is_found_and_made_again(filled: BenchFile, statement: str, name: str) -> None:
    """The list is derived: `check` compares it, `rebuild` makes it from the revisions."""
    assert spoil(filled, statement) == 1
    assert {name} == named(filled)

    filled.rebuild()

    assert filled.check().whole
    assert [one.name for one in filled.all(Electrode)] == ["T1", "T2", "T3"]


def test_no_list_is_made_from_damaged_states(filled: BenchFile) -> None:
    """A list derived from a changed document would hide the change."""
    spoil(filled, "UPDATE revision SET doc = replace(doc, 'T3', 'T8')")

    with pytest.raises(DamagedError):
        filled.rebuild()
    assert {"electrode T3"} == named(filled)


def test_a_removed_state_is_found(filled: BenchFile) -> None:
    """The journal remembers a state whose row is gone; its children or the list name it."""
    middle, head = filled.history(Electrode, "T2")[1:]
    spoil(filled, "DELETE FROM revision WHERE digest = ?", middle.digest)
    assert {"electrode T2"} == named(filled)
    spoil(filled, "DELETE FROM revision WHERE digest = ?", head.digest)
    assert "electrode T2" in named(filled)


def test_a_smuggled_state_is_found(filled: BenchFile) -> None:
    """A row with a right digest that the journal does not know."""
    entry = filled.history(Electrode, "T1")[0]
    forged = type(entry)(**{**vars(entry), "doc": '{"name":"T1","note":"best"}'}).sealed()
    row = forged.columns()
    marks = ", ".join("?" * len(row))
    spoil(filled, f"INSERT INTO revision ({', '.join(row)}) VALUES ({marks})", *row.values())

    assert "electrode T1" in named(filled)


@pytest.mark.parametrize(
    "statement",
    [
        "DELETE FROM journal WHERE seq = 3",
        "UPDATE journal SET chain = replace(chain, substr(chain, 1, 1), 'g') WHERE seq = 3",
        "UPDATE journal SET seq = 100 WHERE seq = 3",
    ],
)
def test_a_broken_journal_is_found(filled: BenchFile, statement: str) -> None:
    """Line 3 is the first state of T2, line 1 the bench, 2 to 4 the electrodes."""
    spoil(filled, statement)

    assert not filled.check().whole
    assert named(filled) <= {"electrode T2", "electrode T3"}


def test_a_changed_bench_identity_is_found(filled: BenchFile) -> None:
    """The chain starts from it."""
    spoil(filled, "UPDATE meta SET value = 'other' WHERE key = 'bench'")
    assert {"bench bench"} == named(filled)


def test_changed_attachments_are_found(filled: BenchFile) -> None:
    """A series and a file have digests of their own, and are refused when read."""
    digest = filled.keep(b"photo", media="image/png")
    spoil(filled, "UPDATE series SET doc = replace(doc, '0.0', '1.0')")
    spoil(filled, "UPDATE blob SET data = x'00'")

    assert {"series log, chunk 0", f"file {digest[:12]}"} == named(filled)
    with pytest.raises(DamagedError):
        filled.series("log")
    with pytest.raises(DamagedError):
        filled.kept(digest)


def test_a_wrong_stamp_is_found(filled: BenchFile) -> None:
    """The migration tool would otherwise run steps on the wrong layout."""
    spoil(filled, "UPDATE alembic_version SET version_num = '0009'")
    assert {"bench migration"} == named(filled)


def test_conflicts_are_no_fault(bench: BenchFile, copy: BenchFile) -> None:
    """They are listed, and the bench is whole."""
    bench.put(SolventLot(name="b", substance="water"))
    copy.take_in(bench.history(SolventLot))
    for one, substance in ((bench, "ethanol"), (copy, "acetone")):
        one.put(SolventLot(name="b", substance=substance))
    bench.take_in(copy.history(SolventLot))

    answer = bench.check()

    assert answer.whole
    assert answer.conflicts == ("solvent b",)


def test_flipped_bits_anywhere_in_entered_text(
    filled: BenchFile, tmp_path: Path, bits: Callable[[bytes], list[int]]
) -> None:
    """Bits flipped in the raw bytes of stored documents are found, or the file is refused."""
    filled.close()
    whole = (tmp_path / "shed.aerode").read_bytes()
    for place in bits(whole):
        spoilt = bytearray(whole)
        spoilt[place] ^= 1 << random.Random(place).randrange(8)
        (tmp_path / "spoilt.aerode").write_bytes(spoilt)
        with BenchFile.open(tmp_path / "spoilt.aerode", read_only=True) as bench:
            answer = bench.check()
        assert not answer.whole, f"byte {place}: {whole[place - 9 : place + 9]!r}"
        assert any(fault.name.startswith("T") for fault in answer.faults)


@pytest.fixture
def bits() -> Callable[[bytes], list[int]]:
    """Places inside the documents of the electrodes."""

    def places(content: bytes) -> list[int]:
        found = [at for at in range(len(content)) if content.startswith(b'{"name":"T', at)]
        return [at + offset for at in found for offset in (2, 9, 10)]

    return places
