"""Kept answers: what they rest on is noted, nothing less; a change under them is named; history is not touched."""

from __future__ import annotations

import inspect
import sqlite3
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from aerode.cli.console import run
from aerode.errors import InputError, NotFoundError, StoreError
from aerode.records.electrodes import Electrode
from aerode.records.marks import Entry
from aerode.records.materials import PowderLot, SolventLot
from aerode.records.places import Bench
from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile
from aerode.store.bench_reader import BenchReader
from aerode.store.watching import WatchedBench
from aerode.usecases import bench_results
from aerode.usecases.bench_export import export
from aerode.usecases.bench_results import (
    compute_and_keep,
    forget,
    keep_again,
    keep_answer,
    list_results,
)
from aerode.virtual.tern_sound import draw

BEACON = [one for one in draw(1).records if not isinstance(one, Bench)]
MIX = "b15 m8 85C"


@pytest.fixture
def shed(tmp_path: Path) -> Path:
    """The invented bench."""
    path = tmp_path / "shed.aerode"
    with BenchFile.create(path, title="Net shed", who="Ida") as bench:
        bench.put_all(BEACON)
    return path


def test_fresh_until_what_it_rests_on_changes(shed: Path) -> None:
    """Another room's matter leaves it; the moisture of its powder does not; undone, it stands again."""
    with BenchFile.open(shed) as bench:
        kept = compute_and_keep(bench, "mix", MIX).results[0]
        assert kept.stale == ()
        assert f"mix {MIX}" in kept.rests_on
        bench.put(replace(bench.get(Run, "T5 loads"), note="windy"))
        assert list_results(bench).results[0].stale == ()

        lot = bench.get(PowderLot, "bamboo biochar")
        bench.put(replace(lot, moisture=Entry(value=0.2)))
        assert "changed since: the records of kind powder" in list_results(bench).results[0].stale
        assert list_results(bench).headline == "one kept answer, 1 stale"


def test_a_record_that_comes_later_counts(shed: Path) -> None:
    """What was looked for and not found, and a list that grows, are part of what an answer rests on."""

    def look(bench: BenchFile) -> Bench:
        bench.find(SolventLot, "bottle 9")
        return bench.get(Bench, "bench")

    with BenchFile.open(shed) as bench:
        watched = WatchedBench(bench)
        look(watched)
        before = watched.noted
        assert set(before) == {("one", "solvent", "bottle 9"), ("one", "bench", "bench")}
        bench.put(SolventLot(name="bottle 9", substance="ethanol"))
        again = WatchedBench(bench)
        look(again)
        changed = {read for read in before if again.noted[read] != before[read]}
        assert changed == {("one", "solvent", "bottle 9")}


@pytest.mark.parametrize(
    ("ask", "noted"),
    [
        (lambda b: b.all(Run, of="cell T5"), ("all", "run", "cell T5")),
        (lambda b: b.names(Electrode), ("all", "electrode")),
        (lambda b: b.state(Electrode, "T5"), ("one", "electrode", "T5")),
        (lambda b: b.series("log"), ("series", "log")),
        (lambda b: b.history(), ("journal",)),
        (lambda b: b.latest(Run, count=1), ("all", "run")),
        (lambda b: b.count(Run), ("all", "run")),
        (lambda b: b.to_pick_from(Electrode), ("all", "electrode")),
        (lambda b: b.standing(Electrode, "T5"), ("one", "electrode", "T5")),
        (lambda b: b.conflicts(), ("journal",)),
    ],
)
def test_every_question_is_noted(
    shed: Path, ask: Callable[[BenchFile], object], noted: tuple[str, ...]
) -> None:
    """Those that are known by what they ask; all others as one about everything."""
    with BenchFile.open(shed) as bench:
        bench.append("log", {"at": [1.0]})
        watched = WatchedBench(bench)
        ask(watched)
        assert list(watched.noted) == [noted]
        first = watched.noted[noted]
        bench.append("log", {"at": [2.0]})
        bench.put(replace(bench.get(Electrode, "T5"), note="x"))
        bench.put(replace(bench.get(Run, "T5 loads"), note="x"))
        again = WatchedBench(bench)
        ask(again)
        assert again.noted[noted] != first


def test_no_way_of_reading_is_forgotten() -> None:
    """Every public method that reads is noted by name, goes through `reading`, or reads what never changes."""
    through_reading = {"by_digest", "check", "conflicts", "heads_of", "history", "kept", "layout", "newest", "newest_states"}  # fmt: skip
    reads_nothing = {"close", "label", "path", "place", "read", "reading"}
    for name, member in vars(BenchReader).items():
        if (
            not name.startswith("_")
            and name not in reads_nothing
            and name not in vars(WatchedBench)
        ):
            assert name in through_reading, f"{name} is not noted"
            function = member.fget if isinstance(member, property) else member
            assert "self.reading()" in inspect.getsource(function), name


def test_the_watched_bench_is_for_reading(shed: Path) -> None:
    """Computing an answer writes nothing."""
    with BenchFile.open(shed) as bench, pytest.raises(StoreError, match="reading only"):
        WatchedBench(bench).put(Electrode(name="new"))


@pytest.mark.parametrize(
    ("verb", "about", "asked"),
    [
        ("fit", "T5 loads", {}),
        ("cautions", "T5", {"room": "net shed"}),
        ("mix", MIX, {"area": "9 cm^2", "loading": "25 mg/cm^2", "electrodes": "3"}),
        ("compare", "T5, T6", {"try_changes": False}),
    ],
)
def test_each_verb(shed: Path, verb: str, about: str, asked: dict[str, object]) -> None:
    """Kept under its question; the same answer is kept once; it never enters history or a package."""
    with BenchFile.open(shed) as bench:
        newest = bench.newest()
        first = compute_and_keep(bench, verb, about, asked).results[0]
        second = compute_and_keep(bench, verb, about, asked).results[0]
        assert first.key == second.key
        assert len(list_results(bench).results) == 1
        assert first.answer == f"aerode.{verb}/1"
        assert first.question == {"verb": verb, **asked}
        assert first.headline
        assert bench.newest() == newest
        assert bench.check().whole
        export(bench, shed.parent / "out")
    text = "".join(p.read_text("utf-8") for p in (shed.parent / "out").rglob("*") if p.is_file())
    assert first.key not in text


def test_another_program_and_other_figures(shed: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both are named; a fresh one is kept beside the old one, which stays marked."""
    with BenchFile.open(shed) as bench:
        compute_and_keep(bench, "cautions", "T5")
        monkeypatch.setattr(bench_results, "code_digest", lambda: "9.9.9 0123")
        monkeypatch.setattr(bench_results, "tables_digest", lambda: "4567")
        stale = list_results(bench).results[0].stale
        assert any("another program" in why and "now 9.9.9 0123" in why for why in stale)
        assert "the published figures have changed" in stale

        assert keep_again(bench).headline == "Computed one answer once more"
        assert [bool(one.stale) for one in list_results(bench).results].count(True) == 1
        assert keep_again(bench).headline == "No kept answer is stale"
        assert forget(bench).headline.startswith("Threw one kept answer away")
        assert list_results(bench).headline == "one kept answer, 0 stale"


def test_what_cannot_be_computed_again(shed: Path) -> None:
    """A mix that was withdrawn since: the reason is said, the rest goes on."""
    with BenchFile.open(shed) as bench:
        compute_and_keep(bench, "mix", MIX)
        compute_and_keep(bench, "cautions", "T6")
        bench.rename(PowderLot, "lamp black", "black")
        answer = keep_again(bench)
    assert any(failed.startswith(f"mix {MIX}: ") for failed in answer.again)


def test_the_code_digest_tells_programs_apart(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One changed letter in what computes is another digest; in what only shows, it is not."""
    for room in ("measure", "cli"):
        (tmp_path / "aerode" / room).mkdir(parents=True)
        (tmp_path / "aerode" / room / "a.py").write_text("x = 1\n")
    monkeypatch.setattr("aerode.__file__", str(tmp_path / "aerode" / "__init__.py"))

    def now() -> str:
        bench_results.code_digest.cache_clear()
        return bench_results.code_digest()

    try:
        first = now()
        (tmp_path / "aerode/cli/a.py").write_text("x = 2\n")
        assert now() == first
        (tmp_path / "aerode/measure/a.py").write_text("x = 2\n")
        assert now() != first
    finally:
        bench_results.code_digest.cache_clear()


def test_a_damaged_answer(shed: Path) -> None:
    """Found by the check, never shown; thrown away, the bench is whole."""
    with BenchFile.open(shed) as bench:
        compute_and_keep(bench, "cautions", "T5")
    connection = sqlite3.connect(shed)
    connection.execute("UPDATE result SET doc = replace(doc, 'NOTE', 'FIRST')")
    connection.commit()
    connection.close()
    with BenchFile.open(shed) as bench:
        found = bench.check()
        assert found.headline == "DAMAGED: kept answer T5"
        assert "--forget-all" in found.faults[0].next_step
        with pytest.raises(StoreError, match="does not agree"):
            list_results(bench)
        forget(bench, stale_only=False)
        assert bench.check().whole


def test_refusals(shed: Path) -> None:
    """No such verb, no such word, no such run; nothing is kept of them."""
    with BenchFile.open(shed) as bench:
        with pytest.raises(InputError, match="cannot be kept"):
            compute_and_keep(bench, "burn", "T5")
        with pytest.raises(InputError, match="under the word 'arae'"):
            compute_and_keep(bench, "mix", MIX, {"arae": "9 cm^2"})
        with pytest.raises(InputError, match="whole number"):
            compute_and_keep(bench, "mix", MIX, {"electrodes": "many"})
        with pytest.raises(NotFoundError):
            compute_and_keep(bench, "fit", "T99")
        assert list_results(bench).headline == "no answer was kept"
    with (
        BenchFile.open(shed, read_only=True) as bench,
        pytest.raises(StoreError, match="for writing"),
    ):
        keep_answer(bench, "x", {}, lambda b: b.get(Bench, "bench"))


def test_as_typed(shed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Kept, shown, stale, computed again, thrown away."""
    assert run(["bench", "keep", "cautions", "T5", "-b", str(shed)]) == 0
    assert capsys.readouterr().out.startswith("Kept: T5")
    with BenchFile.open(shed) as bench:
        bench.put(replace(bench.get(Electrode, "T5"), note="thin"))
    assert run(["bench", "show", "results", "-b", str(shed)]) == 0
    said = capsys.readouterr().out
    assert said.startswith("one kept answer, 1 stale\n  STALE cautions T5")
    assert "changed since: electrode T5" in said
    assert said.endswith("Next: aerode bench keep --again\n")
    assert run(["bench", "keep", "--again", "-b", str(shed)]) == 0
    assert run(["bench", "keep", "--forget-stale", "-b", str(shed)]) == 0
    assert run(["bench", "keep", "--forget-all", "-b", str(shed)]) == 0
    assert run(["bench", "keep", "-b", str(shed)]) == 2
    assert run(["bench", "keep", "mix", MIX, "--with", "area", "-b", str(shed)]) == 2
