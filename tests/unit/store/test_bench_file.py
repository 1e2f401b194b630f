"""The bench file: what is put in comes back, and nothing is ever overwritten."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from aerode.errors import (
    ConflictError,
    DamagedError,
    InputError,
    NotFoundError,
    RecordError,
    StoreError,
)
from aerode.records.electrodes import Cell, Electrode
from aerode.records.marks import Entry
from aerode.records.materials import Function, PowderLot, SolventLot
from aerode.records.places import Bench
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile

BOTTLE = SolventLot(name="bottle 1", substance="ethanol")


def test_put_and_get(tmp_path: Path) -> None:
    """A stored record comes back equal, also after closing and opening again."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as bench:
        bench.put(BOTTLE)

    with BenchFile.open(tmp_path / "shed.aerode") as bench:
        assert bench.get(SolventLot, "bottle 1") == BOTTLE
        assert bench.all(SolventLot) == [BOTTLE]
        assert bench.all(Bench)[0].title == "Net shed"


def test_a_closed_bench_is_one_file(tmp_path: Path) -> None:
    """Nothing stays beside the file, so copying it copies everything."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as bench:
        bench.put(BOTTLE)

    assert [path.name for path in tmp_path.iterdir()] == ["shed.aerode"]


def test_a_change_is_a_new_revision(bench: BenchFile) -> None:
    """The older state stays in the history, with who wrote it, when and why."""
    first = bench.put(BOTTLE, why="opened")
    second = bench.put(
        SolventLot(name="bottle 1", substance="isopropanol"), why="wrong label", who="Jon"
    )

    assert bench.get(SolventLot, "bottle 1").substance == "isopropanol"
    assert [first, second] == bench.history(SolventLot, "bottle 1")
    assert (first.digest,) == second.parents
    assert first.record == second.record
    assert (first.who, first.why, first.at) == ("Ida", "opened", "2025-05-03T09:01:00.000Z")
    assert (second.who, second.why, second.at) == ("Jon", "wrong label", "2025-05-03T09:02:00.000Z")


def test_the_same_again_is_no_new_revision(bench: BenchFile) -> None:
    """Storing an unchanged record answers with what is there."""
    assert bench.put(BOTTLE) == bench.put(BOTTLE)
    assert len(bench.history(SolventLot)) == 1


def test_whole_numbers_and_their_floats_are_one_text(bench: BenchFile) -> None:
    """A record made in a program and the same record as read back are one state."""
    first = bench.put(Run(name="r1", readings=(Reading(voltage=1),)))

    assert first == bench.put(bench.get(Run, "r1"))
    assert '"voltage":1.0' in first.doc


def test_put_all_is_all_or_nothing(bench: BenchFile) -> None:
    """One bad record among good ones, and none of them is stored."""
    bad = PowderLot(name="soot", substance="lamp black", function=Function.CONDUCTOR, moisture=Entry(value=float("nan")))  # fmt: skip

    with pytest.raises(RecordError, match=r"moisture\.value"):
        bench.put_all([BOTTLE, bad])

    assert bench.all(SolventLot) == []


def test_put_all_takes_the_same_name_twice(bench: BenchFile) -> None:
    """The second is a later state of the first."""
    later = SolventLot(name="bottle 1", substance="water")

    first, second = bench.put_all([BOTTLE, later])

    assert (first.digest,) == second.parents
    assert [later] == bench.all(SolventLot)


def test_order_is_of_first_storing(bench: BenchFile) -> None:
    """A changed record keeps its place on the list."""
    for name in ("T3", "T1", "T2"):
        bench.put(Electrode(name=name))
    bench.put(Electrode(name="T3", note="cracked at the edge"))

    assert [one.name for one in bench.all(Electrode)] == ["T3", "T1", "T2"]
    assert bench.names(Electrode) == ["T3", "T1", "T2"]


def test_all_of_a_thing(bench: BenchFile) -> None:
    """The runs of a cell, the cells of an electrode."""
    bench.put_all([Cell(name="c1", electrode="T1"), Cell(name="c2", electrode="T2")])
    bench.put_all([Run(name="r1", cell="c1"), Run(name="r2", cell="c2"), Run(name="r3", electrode="T9")])  # fmt: skip

    assert [cell.name for cell in bench.all(Cell, of="T2")] == ["c2"]
    assert [run.name for run in bench.all(Run, of="c1")] == ["r1"]
    assert [run.name for run in bench.all(Run, of="T9")] == ["r3"]


def test_near_misses_are_named(bench: BenchFile) -> None:
    """A name that is not there is answered with those that look like it."""
    bench.put_all([Electrode(name="T6"), Electrode(name="blank A")])

    with pytest.raises(NotFoundError, match="T6"):
        bench.get(Electrode, "t6")
    with pytest.raises(NotFoundError, match="nothing of that kind"):
        bench.get(SolventLot, "ethanol")
    assert bench.find(Electrode, "t6") is None


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_not_finite_is_refused_by_name(bench: BenchFile, value: float) -> None:
    """NaN and infinity stop at the door, wherever they hide."""
    run = Run(name="r1", readings=(Reading(voltage=0.4), Reading(trace=((0.0, 0.4), (1.0, value)))))

    with pytest.raises(RecordError) as refused:
        bench.put(run)

    assert [fault.field for fault in refused.value.faults] == ["readings.1.trace.1.1"]
    assert bench.find(Run, "r1") is None


def test_bounds_hold_for_records_made_in_a_program(bench: BenchFile) -> None:
    """A record that was never read has not met its bounds; the door sees to it."""
    with pytest.raises(RecordError, match="temperature"):
        bench.put(Run(name="r1", readings=(Reading(temperature=-5.0),)))


def test_factors_with_a_bad_number_are_refused(bench: BenchFile) -> None:
    """Also inside a free mapping."""
    with pytest.raises(RecordError, match=r"factors\.binder"):
        bench.put(Electrode(name="T1", factors={"binder": float("nan")}))


def test_what_is_not_a_record_is_refused(bench: BenchFile) -> None:
    """Only the kinds of the bench are kept on it."""
    with pytest.raises(InputError, match="Entry is not kept on a bench"):
        bench.put(Entry(value=1.0))


def test_text_that_no_database_keeps_is_refused(bench: BenchFile) -> None:
    """A NUL in a reason, half a surrogate pair in a record."""
    with pytest.raises(InputError, match="characters"):
        bench.put(BOTTLE, why="a\x00b")
    with pytest.raises(RecordError, match="cannot be written"):
        bench.put(SolventLot(name="b", substance="\ud800"))


def test_a_clock_without_zone_is_refused(tmp_path: Path) -> None:
    """A moment is a moment only with its time zone; no file is left behind."""
    with pytest.raises(InputError, match="time zone"):
        BenchFile.create(tmp_path / "a", title="x", clock=lambda: datetime(2025, 5, 3))
    assert list(tmp_path.iterdir()) == []


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    """Creating where something is refuses and leaves it alone."""
    (tmp_path / "a.aerode").write_text("my notes")

    with pytest.raises(StoreError, match="never overwritten"):
        BenchFile.create(tmp_path / "a.aerode", title="x")

    assert (tmp_path / "a.aerode").read_text() == "my notes"
    assert len(list(tmp_path.iterdir())) == 1


def test_nothing_there(tmp_path: Path) -> None:
    """Opening where nothing is says how to make a bench, and makes nothing."""
    with pytest.raises(NotFoundError, match="aerode bench new"):
        BenchFile.open(tmp_path / "a.aerode")
    assert list(tmp_path.iterdir()) == []


def test_reading_only(bench: BenchFile, tmp_path: Path) -> None:
    """A bench that is open for reading takes nothing."""
    with (
        BenchFile.open(tmp_path / "shed.aerode", read_only=True) as reader,
        pytest.raises(StoreError, match="reading only"),
    ):
        reader.put(BOTTLE)


class TestUndo:
    """Undo is a new revision, so it can be undone."""

    def test_a_change(self, bench: BenchFile) -> None:
        """The state before is the newest one again; a second undo brings the change back."""
        bench.put(BOTTLE)
        bench.put(SolventLot(name="bottle 1", substance="water"))

        bench.undo(SolventLot, "bottle 1")
        assert bench.get(SolventLot, "bottle 1") == BOTTLE
        bench.undo(SolventLot, "bottle 1")
        assert bench.get(SolventLot, "bottle 1").substance == "water"
        assert len(bench.history(SolventLot, "bottle 1")) == 4

    def test_a_first_storing(self, bench: BenchFile) -> None:
        """Before the first state there was nothing: the record leaves the list, and can return."""
        bench.put(BOTTLE)

        assert bench.undo(SolventLot, "bottle 1").withdrawn
        assert bench.find(SolventLot, "bottle 1") is None
        assert bench.all(SolventLot) == []
        bench.undo(SolventLot, "bottle 1")
        assert bench.get(SolventLot, "bottle 1") == BOTTLE

    def test_to_a_named_state(self, bench: BenchFile) -> None:
        """Any state of the record can be gone back to by the beginning of its digest."""
        first = bench.put(BOTTLE)
        for substance in ("water", "acetone"):
            bench.put(SolventLot(name="bottle 1", substance=substance))

        bench.undo(SolventLot, "bottle 1", to=first.digest[:10])

        assert bench.get(SolventLot, "bottle 1") == BOTTLE

    def test_not_to_the_state_of_another_record(self, bench: BenchFile) -> None:
        """A digest of another record is refused by that record's name."""
        bench.put(BOTTLE)
        other = bench.put(SolventLot(name="bottle 2", substance="water"))

        with pytest.raises(NotFoundError, match="bottle 2"):
            bench.undo(SolventLot, "bottle 1", to=other.digest)
        with pytest.raises(NotFoundError, match="no revision"):
            bench.undo(SolventLot, "bottle 1", to="0000")

    def test_a_withdrawn_name_is_free(self, bench: BenchFile) -> None:
        """A new record may take the name; bringing the old one back then names the clash."""
        bench.put(BOTTLE)
        gone = bench.withdraw(SolventLot, "bottle 1", why="empty")
        bench.put(SolventLot(name="bottle 1", substance="water"))

        assert bench.get(SolventLot, "bottle 1").substance == "water"
        with pytest.raises(NotFoundError, match="another record"):
            bench.undo(SolventLot, "bottle 1", to=gone.parents[0])


class TestRename:
    """A rename is a revision of the same record."""

    def test_history_follows(self, bench: BenchFile) -> None:
        """The record is found under its new name, its history under both."""
        bench.put(BOTTLE)
        bench.rename(SolventLot, "bottle 1", "shelf bottle")

        assert bench.find(SolventLot, "bottle 1") is None
        assert bench.get(SolventLot, "shelf bottle").substance == "ethanol"
        assert bench.history(SolventLot, "bottle 1") == bench.history(SolventLot, "shelf bottle")

    def test_a_taken_name_is_refused(self, bench: BenchFile) -> None:
        """Two records of a kind never get one name, by rename or by undo."""
        bench.put_all([BOTTLE, SolventLot(name="b", substance="water")])

        with pytest.raises(ConflictError, match="belongs to another"):
            bench.rename(SolventLot, "bottle 1", "b")
        bench.rename(SolventLot, "bottle 1", "c")
        bench.put(BOTTLE)
        with pytest.raises(ConflictError, match="belongs to another"):
            bench.undo(SolventLot, "c")

    def test_a_bad_name_is_refused(self, bench: BenchFile) -> None:
        """The bounds of a name hold here too."""
        bench.put(BOTTLE)
        with pytest.raises(RecordError, match="name"):
            bench.rename(SolventLot, "bottle 1", "")


class TestConflict:
    """Two copies of a bench, changed apart, taken in again."""

    @pytest.fixture
    def apart(self, bench: BenchFile, copy: BenchFile) -> tuple[BenchFile, BenchFile]:
        """One record, changed differently in two copies."""
        bench.put(BOTTLE)
        copy.take_in(bench.history(SolventLot))
        bench.put(SolventLot(name="bottle 1", substance="water"), why="tasted it")
        copy.put(SolventLot(name="bottle 1", substance="acetone"), why="smelled it")
        bench.take_in(copy.history(SolventLot))
        return bench, copy

    def test_both_states_are_listed(self, apart: tuple[BenchFile, BenchFile]) -> None:
        """Nobody's change is thrown away; the refusal names both with who and why."""
        bench, _ = apart

        with pytest.raises(ConflictError) as refused:
            bench.get(SolventLot, "bottle 1")
        assert "Ida (tasted it)" in str(refused.value)
        assert "Jon (smelled it)" in str(refused.value)
        for act in (
            lambda: bench.find(SolventLot, "bottle 1"),
            lambda: bench.all(SolventLot),
            lambda: bench.put(BOTTLE),
            lambda: bench.undo(SolventLot, "bottle 1"),
            lambda: bench.rename(SolventLot, "bottle 1", "x"),
        ):
            with pytest.raises(ConflictError):
                act()
        assert bench.names(SolventLot) == ["bottle 1"]
        assert [{"water", "acetone"}] == [
            {bench.read(state).substance for state in group} for group in bench.conflicts()
        ]

    def test_settled_by_a_revision_with_both_as_parents(
        self, apart: tuple[BenchFile, BenchFile]
    ) -> None:
        """The settling state stands alone, and settles the other copy too when it is taken in."""
        bench, copy = apart
        heads = {state.digest for state in bench.conflicts()[0]}

        settled = bench.settle(SolventLot(name="bottle 1", substance="water"), why="asked the shop")
        copy.take_in(bench.history(SolventLot))

        assert heads == set(settled.parents)
        for one in (bench, copy):
            assert one.get(SolventLot, "bottle 1").substance == "water"
            assert one.conflicts() == []
            assert one.check().whole
        with pytest.raises(InputError, match="came from 2 states"):
            bench.undo(SolventLot, "bottle 1")

    def test_a_rename_against_a_change(self, bench: BenchFile, copy: BenchFile) -> None:
        """A conflict under two names is found under either, and settled under either."""
        bench.put(BOTTLE)
        copy.take_in(bench.history(SolventLot))
        bench.rename(SolventLot, "bottle 1", "shelf bottle")
        copy.put(SolventLot(name="bottle 1", substance="acetone"))
        bench.take_in(copy.history(SolventLot))

        for name in ("bottle 1", "shelf bottle"):
            with pytest.raises(ConflictError):
                bench.get(SolventLot, name)
        bench.settle(SolventLot(name="shelf bottle", substance="acetone"))
        assert bench.names(SolventLot) == ["shelf bottle"]

    def test_one_name_for_two_records(self, bench: BenchFile, copy: BenchFile) -> None:
        """Two benches each had a T1: both are kept, and one is renamed by its identity."""
        bench.put(Electrode(name="T1", note="mine"))
        theirs = copy.put(Electrode(name="T1", note="yours"))
        bench.take_in(copy.history(Electrode))

        with pytest.raises(ConflictError, match="more than one electrode bears the name"):
            bench.get(Electrode, "T1")
        with pytest.raises(ConflictError, match="rename"):
            bench.settle(Electrode(name="T1"))
        bench.rename(Electrode, "T1", "T1 (Jon)", record=theirs.record)
        assert [one.note for one in bench.all(Electrode)] == ["mine", "yours"]

    def test_taking_in_twice_changes_nothing(self, apart: tuple[BenchFile, BenchFile]) -> None:
        """The union of revisions is idempotent."""
        bench, copy = apart
        before = bench.history()

        assert bench.take_in(copy.history(SolventLot)) == []
        assert before == bench.history()

    def test_a_gap_or_a_lie_is_refused(self, bench: BenchFile, copy: BenchFile) -> None:
        """A missing parent, a changed text, a document that is no record: nothing is taken in."""
        copy.put(BOTTLE)
        copy.put(SolventLot(name="bottle 1", substance="water"))
        first, second = copy.history(SolventLot)
        bad = type(first)(record="r", kind="solvent", name="x", schema="solvent/1", at=first.at, doc='{"name":"x"}').sealed()  # fmt: skip

        with pytest.raises(DamagedError, match="missing"):
            bench.take_in([second])
        with pytest.raises(DamagedError, match="digest"):
            bench.take_in([first, type(first)(**{**vars(second), "doc": first.doc})])
        with pytest.raises(RecordError, match="substance"):
            bench.take_in([first, bad])
        assert bench.all(SolventLot) == []

    def test_children_may_come_first(self, bench: BenchFile, copy: BenchFile) -> None:
        """The order in which revisions are handed over does not matter."""
        copy.put(BOTTLE)
        copy.put(SolventLot(name="bottle 1", substance="water"))

        bench.take_in(reversed(copy.history(SolventLot)))

        assert bench.get(SolventLot, "bottle 1").substance == "water"
        assert bench.check().whole


def test_files_are_kept(bench: BenchFile) -> None:
    """A photo comes back byte for byte; the same one twice is kept once."""
    digest = bench.keep(b"\x89PNG\x00", media="image/png")

    assert digest == bench.keep(b"\x89PNG\x00", media="image/png")
    assert bench.kept(digest) == ("image/png", b"\x89PNG\x00")
    assert bench.check().files == 1
    with pytest.raises(NotFoundError):
        bench.kept("0" * 64)


def test_series_grow_by_chunks(bench: BenchFile) -> None:
    """Columns come back whole; what a chunk did not have is None there."""
    bench.append("log 1", {"at": [0.0, 1.0], "voltage": [0.6, None]})
    bench.append("log 1", {"at": [2.0], "voltage": [0.5], "temperature": [296.0]})

    assert bench.series("log 1") == {
        "at": [0.0, 1.0, 2.0], "voltage": [0.6, None, 0.5], "temperature": [None, None, 296.0],
    }  # fmt: skip
    assert bench.check().series_chunks == 2
    with pytest.raises(NotFoundError):
        bench.series("log 2")


@pytest.mark.parametrize(
    "columns", [{}, {"at": []}, {"at": [0.0], "voltage": [0.1, 0.2]}, {"at": [float("nan")]}]
)
def test_a_bad_chunk_is_refused(bench: BenchFile, columns: dict[str, list[float]]) -> None:
    """Uneven columns, no rows, or a number that is not finite."""
    with pytest.raises(InputError):
        bench.append("log 1", columns)


def test_series_chunks_hold_their_order_under_threads(bench: BenchFile) -> None:
    """Any thread may write; none of the chunks is lost or doubled."""
    from concurrent.futures import ThreadPoolExecutor

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(lambda n: bench.append("log", {"at": [float(n)]}), range(20)))

    assert set(range(20)) == set(bench.series("log")["at"])
    assert bench.check().whole


@pytest.mark.parametrize("head", [b"PK\x03\x04", b"\x1f\x8b\x08", b"7z\xbc\xaf\x27\x1c"])
def test_an_archive_is_not_kept(bench: BenchFile, head: bytes) -> None:
    """What an import would refuse must not get in: a bench that goes out must come back."""
    with pytest.raises(InputError, match="unpack it"):
        bench.keep(head + b"...", media="application/octet-stream")
