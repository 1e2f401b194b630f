"""One set of behaviours on SQLite and on PostgreSQL: the same good writes, the same refusals."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
import sqlalchemy as sa

from aerode.errors import ConflictError, NotFoundError, RecordError, StoreError
from aerode.records.bench_answers import BenchShow
from aerode.records.electrodes import Cell, Electrode
from aerode.records.materials import SolventLot
from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile
from aerode.store.connecting import connect, place_of
from aerode.usecases import bench_copies
from aerode.usecases.bench_attach import attach, list_attachments, take_out
from aerode.usecases.bench_diff import diff_benches, diff_states
from aerode.usecases.bench_digest import digest
from aerode.usecases.bench_edited import import_tables
from aerode.usecases.bench_export import export
from aerode.usecases.bench_merge import merge
from aerode.usecases.bench_package import import_package
from aerode.usecases.bench_results import forget, keep_answer, list_results
from aerode.usecases.bench_settle import conflicts_of, settle, undo
from aerode.usecases.bench_show import show


def test_the_whole_life_of_a_record(place: Callable[[], str]) -> None:
    """Put, change, rename, withdraw, undo; all whole after opening again."""
    where = place()
    with BenchFile.create(where, title="Lab", who="Ida") as bench:
        bench.put(SolventLot(name="Ölflasche", substance="ethanol"))
        bench.put(SolventLot(name="Ölflasche", substance="water"))
        bench.rename(SolventLot, "Ölflasche", "b")
        bench.withdraw(SolventLot, "b")
        bench.undo(SolventLot, "b")
        bench.append("log", {"at": [0.0, 1.5]})
        photo = bench.keep(b"\x00\xff", media="image/png")
    with BenchFile.open(where) as bench:
        assert bench.get(SolventLot, "b").substance == "water"
        assert len(bench.history(SolventLot, "b")) == 5
        assert bench.series("log")["at"] == [0.0, 1.5]
        assert bench.kept(photo)[1] == b"\x00\xff"
        assert bench.check().whole
        assert bench.rebuild() == 2
        assert bench.check().whole


def test_the_same_refusals(place: Callable[[], str]) -> None:
    """Bad numbers, missing names, a bench on top of a bench."""
    where = place()
    with BenchFile.create(where, title="Lab") as bench:
        with pytest.raises(RecordError):
            bench.put(Electrode(name="T1", factors={"binder": float("inf")}))
        with pytest.raises(NotFoundError):
            bench.get(Electrode, "T1")
        with pytest.raises(StoreError, match="never overwritten"):
            BenchFile.create(where, title="Lab")
        assert len(bench.history()) == 1


def test_union_in_any_order(place: Callable[[], str]) -> None:
    """Two benches that take in each other's revisions hold the same set, in conflict, then settled."""
    with (
        BenchFile.create(place(), title="a") as a,
        BenchFile.create(place(), title="b") as b,
    ):
        a.put(Electrode(name="T1"))
        b.take_in(a.history(Electrode))
        a.put(Electrode(name="T1", note="a"))
        b.put(Electrode(name="T1", note="b"))
        news = b.history(Electrode)
        b.take_in(a.history(Electrode))
        a.take_in(news)

        assert {r.digest for r in a.history(Electrode)} == {r.digest for r in b.history(Electrode)}
        for one in (a, b):
            with pytest.raises(ConflictError):
                one.get(Electrode, "T1")
        a.settle(Electrode(name="T1", note="a"))
        b.take_in(a.history(Electrode))
        assert a.all(Electrode) == b.all(Electrode)
        assert a.check().whole
        assert b.check().whole


def test_rows_are_written_once(place: Callable[[], str]) -> None:
    """The database itself refuses to change or remove a revision."""
    where = place()
    BenchFile.create(where, title="Lab").close()
    engine = connect(place_of(where), read_only=False)
    for act in ("UPDATE revision SET who = 'x'", "DELETE FROM revision"):
        with pytest.raises(sa.exc.DBAPIError, match="written once"), engine.begin() as connection:
            connection.exec_driver_sql(act)
    engine.dispose()


def test_writers_at_once_lose_nothing(place: Callable[[], str]) -> None:
    """Four threads, one bench: every record once, the journal without a gap."""
    with BenchFile.create(place(), title="Lab") as bench:
        with ThreadPoolExecutor(4) as pool:
            list(pool.map(lambda n: bench.put(Electrode(name=f"T{n}")), range(24)))
        assert len(bench.all(Electrode)) == 24
        assert bench.check().whole


def test_backed_up_and_put_back(place: Callable[[], str], tmp_path: Path) -> None:
    """A backup is a bench file; put back into an empty place it is the same bench, row for row."""
    where, other = place(), place()
    with BenchFile.create(where, title="Lab") as bench:
        bench.put(Electrode(name="T1"))
        bench.put(Electrode(name="T1", note="thin"))
        bench.append("log", {"at": [0.0, 1.5]})
        bench.keep(b"\x00\xff", media="image/png")
        before, newest = bench.history(), bench.newest()

    made = bench_copies.back_up(where, folder=tmp_path / "backups")
    assert (
        bench_copies.list_backups(where, folder=tmp_path / "backups").backups[0].path == made.path
    )
    bench_copies.restore(other, made.path)

    for one in (made.path, other):
        with BenchFile.open(one) as bench:
            assert bench.history() == before
            assert bench.newest() == newest
            assert bench.check().whole
    if "postgresql" in where:  # a file is kept aside, a database is never written over
        with pytest.raises(StoreError, match="never overwritten"):
            bench_copies.restore(where, made.path)


def test_out_as_a_package_and_in_again(place: Callable[[], str], tmp_path: Path) -> None:
    """Into an empty place: every digest, the journal, and each byte of the package again."""
    where, other = place(), place()
    with BenchFile.create(where, title="Lab", who="=Ida") as bench:
        bench.put_all([Electrode(name=f"T{n}") for n in range(3)])
        bench.put(Electrode(name="T1", note="thin"))
        bench.append("log", {"at": [0.0, None]})
        bench.keep(b"\x00\xff", media="image/png")
        bench.withdraw(Electrode, "T2")
        export(bench, tmp_path / "a.zip")
        before, newest = bench.history(), bench.newest()

    assert import_package(other, tmp_path / "a.zip").new_bench
    assert import_package(other, tmp_path / "a.zip").headline.startswith("Nothing new")

    with BenchFile.open(other) as bench:
        assert (bench.history(), bench.newest()) == (before, newest)
        assert bench.check().whole
        export(bench, tmp_path / "b.zip")
    assert (tmp_path / "a.zip").read_bytes() == (tmp_path / "b.zip").read_bytes()


def test_an_edited_table(place: Callable[[], str], tmp_path: Path) -> None:
    """Only the edited cell comes back, as a new state."""
    with BenchFile.create(place(), title="Lab") as bench:
        bench.put_all([Electrode(name="T1", note="thick"), Electrode(name="T2", note="thick")])
        export(bench, tmp_path / "out")
        table = tmp_path / "out/tables/electrodes.csv"
        table.write_text(table.read_text("utf-8").replace("thick", "thin", 1), "utf-8")

        answer = import_tables(bench, [table])

        assert [one.name for one in answer.changed] == ["T1"]
        assert [one.note for one in bench.all(Electrode)] == ["thin", "thick"]
        assert bench.check().whole


def test_merged_settled_undone_compared(place: Callable[[], str], tmp_path: Path) -> None:
    """Two benches of one origin, changed apart; files, series and states of both in each."""
    here, there = place(), str(tmp_path / "laptop.aerode")
    with BenchFile.create(here, title="Lab", who="Ida") as bench:
        bench.put(Electrode(name="T1"))
        export(bench, tmp_path / "start")
    import_package(there, tmp_path / "start")
    for where, note in ((here, "thin"), (there, "thick")):
        with BenchFile.open(where, who=note) as bench:
            bench.put(Electrode(name="T1", note=note))
            bench.keep(note.encode(), media="text/plain")
            bench.append(note, {"at": [1.0]})
    with BenchFile.open(here) as bench:
        assert diff_benches(bench, there).states_only_right == 1
        first, second = merge(bench, there), merge(bench, there)
        assert (first.files, first.series_chunks, second.files) == (1, 1, 0)
        states = conflicts_of(bench)[0].states
        settle(bench, "electrode", "T1", keep=next(s.digest for s in states if s.who == "thick"))
        assert bench.get(Electrode, "T1").note == "thick"
        assert undo(bench, "electrode", "T1", to=states[0].digest).state.name == "T1"
        assert diff_states(bench, "electrode", "T1").differing or states[0].who == "thick"
        assert bench.check().whole
    with BenchFile.open(there) as bench:
        merge(bench, here)
        assert bench.series("thin") == bench.series("thick")
        assert diff_benches(bench, here).headline == "No record differs"


def test_attached_and_taken_out(place: Callable[[], str], tmp_path: Path) -> None:
    """A log beside an electrode: content, checksum and record in one transaction."""
    with BenchFile.create(place(), title="Lab") as bench:
        bench.put(Electrode(name="T1"))
        attach(bench, "electrode/T1", b"at,voltage\n0,0.7\n", file_name="raw.csv")
        assert list_attachments(bench, "electrode/T1").attachments[0].whole
        take_out(bench, "T1 raw.csv", tmp_path / "raw.csv")
        assert (tmp_path / "raw.csv").read_bytes() == b"at,voltage\n0,0.7\n"
        assert digest(bench).counts == {"electrode": 1, "files": 1}
        assert bench.check().whole


def test_a_text_of_a_field_is_found(place: Callable[[], str]) -> None:
    """Whatever stands in it, and nothing that only looks like it."""
    where = place()
    with BenchFile.create(where, title="Lab") as bench:
        bench.put_all([Electrode(name=f"T1.{n}", build="T1") for n in range(3)])
        bench.put(Electrode(name="odd", build='Ä "1" %_'))
        bench.put(Electrode(name="none", note='"build":"T1"'))

        assert [one.name for one in bench.saying(Electrode, "build", "T1")] == [
            "T1.2",
            "T1.1",
            "T1.0",
        ]
        assert [one.name for one in bench.saying(Electrode, "build", 'Ä "1" %_')] == ["odd"]


def test_what_is_around_some_things(place: Callable[[], str]) -> None:
    """Runs of a cell, of an electrode, named in a field, and of nothing; in the order of first storing."""
    with BenchFile.create(where := place(), title="Lab") as bench:
        bench.put_all([Electrode(name="T1"), Electrode(name="T2"), Cell(name="c1", electrode="T1"), Cell(name="c2", electrode="T2")])  # fmt: skip
        bench.put_all([
            Run(name="of c2", cell="c2"), Run(name="of c1", cell="c1"), Run(name="bare", electrode="T1"),
            Run(name="at odds", cell="c2", electrode="T1"), Run(name="adrift", cell="gone"), Run(name="none"),
            Run(name="off", cell="c1"),
        ])  # fmt: skip
        bench.withdraw(Run, "off")
        found = bench.around(Run, ["T1", "c1"], (Electrode, Cell), field="electrode")

    assert where
    assert [one.name for one in found] == ["of c1", "bare", "at odds", "adrift", "none"]


def test_brought_from_the_first_layout(place: Callable[[], str], tmp_path: Path) -> None:
    """Read as it is, refused for writing, migrated after a backup; the same tables as a new bench."""
    where = place()
    with BenchFile.create(where, title="Lab") as bench:
        bench.put(Electrode(name="T1"))
        before = bench.history()
    engine = connect(place_of(where), read_only=False)
    with engine.begin() as connection:
        connection.exec_driver_sql("DROP TABLE result")
        connection.exec_driver_sql("UPDATE meta SET value = '1' WHERE key = 'layout'")
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '0001'")
    engine.dispose()
    with BenchFile.open(where, read_only=True) as bench:
        assert bench.check().whole
        assert list_results(bench).results == ()
    with pytest.raises(StoreError, match="aerode bench migrate"):
        BenchFile.open(where)

    answer = bench_copies.migrate(where, folder=tmp_path / "backups")

    assert (answer.layout_before, answer.layout) == (1, 2)
    with BenchFile.open(where) as bench:
        assert bench.history() == before
        keep_answer(bench, "T1", {}, lambda b: show(b, "electrode", "T1"))
        assert bench.check().whole
    bench_copies.restore(place(), answer.backup)


def test_a_kept_answer(place: Callable[[], str]) -> None:
    """Kept once, stale when its electrode changes, thrown away; the journal is not touched."""

    def look(bench: BenchFile) -> BenchShow:
        return show(bench, "electrode", "T1")

    with BenchFile.create(place(), title="Lab") as bench:
        bench.put(Electrode(name="T1"))
        newest = bench.newest()
        for _ in range(2):
            keep_answer(bench, "T1", {}, look)
        assert list_results(bench).headline == "one kept answer, 0 stale"
        assert bench.newest() == newest
        assert bench.check().whole
        bench.put(Electrode(name="T1", note="thin"))
        assert list_results(bench).headline == "one kept answer, 1 stale"
        forget(bench)
        assert list_results(bench).results == ()


def test_an_address_without_a_bench(place: Callable[[], str]) -> None:
    """Nothing there is said so on both."""
    with pytest.raises(StoreError):
        BenchFile.open(place())
