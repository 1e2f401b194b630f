"""Two benches and two states: merged, settled, compared, undone; both sides stay in the history."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from aerode.errors import ConflictError, InputError, NotFoundError
from aerode.records.electrodes import Cell, Electrode, Layer, LayerRole, Seal
from aerode.records.marks import Condition, Entry, Known
from aerode.records.places import Bench
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_changes import change_lines, changes_between
from aerode.usecases.bench_diff import diff_benches, diff_states
from aerode.usecases.bench_export import export
from aerode.usecases.bench_merge import merge
from aerode.usecases.bench_settle import conflicts_of, settle, undo
from aerode.usecases.mix import shelf_of
from aerode.usecases.what_rests import users_of


@pytest.fixture
def two(tmp_path: Path) -> tuple[Path, Path]:
    """A bench and its copy in other hands; both changed T1, each made one of its own."""
    shed, laptop = tmp_path / "shed.aerode", tmp_path / "laptop.aerode"
    with BenchFile.create(shed, title="Net shed", who="Ida") as bench:
        bench.put_all([Electrode(name="T1", seal=Seal(sealant="wax")), Electrode(name="T2")])
    shutil.copy(shed, laptop)
    for path, who, note in ((shed, "Ida", "thin"), (laptop, "Jon", "thick")):
        with BenchFile.open(path, who=who) as bench:
            bench.put(replace(bench.get(Electrode, "T1"), note=note), why="looked")
            bench.put(Electrode(name=f"of {who}"))
            bench.keep(b"photo of both", media="image/png")
            bench.append(f"log of {who}", {"at": [1.0]})
    return shed, laptop


def _of(path: Path) -> set[str]:
    with BenchFile.open(path, read_only=True) as bench:
        assert bench.check().whole
        return {entry.digest for entry in bench.history()}


def test_merged_from_either_side(two: tuple[Path, Path], tmp_path: Path) -> None:
    """The same states, series and files in both; twice is once; the conflict is shown with its fields."""
    shed, laptop = two
    as_it_was = tmp_path / "as it was.aerode"
    shutil.copy(shed, as_it_was)
    with BenchFile.open(shed) as bench:
        first, second = merge(bench, laptop), merge(bench, laptop)
    with BenchFile.open(laptop) as bench:
        merge(bench, as_it_was)

    assert first.headline == "Took in 2 new states of 2 records; 1 to be settled"
    assert (first.series_chunks, first.files) == (1, 0)
    assert second.headline == "Nothing new: all of it is on this bench already; 1 to be settled"
    conflict = second.conflicts[0]
    assert (conflict.kind, conflict.name, conflict.one_record) == ("electrode", "T1", True)
    assert {state.who for state in conflict.states} == {"Ida", "Jon"}
    assert {field.field: set(field.values) for field in conflict.fields} == {
        "note": {"thin", "thick"}
    }
    assert _of(shed) == _of(laptop)
    for path in two:
        with BenchFile.open(path) as bench:
            assert bench.series("log of Ida")["at"] == bench.series("log of Jon")["at"] == [1.0]
            with pytest.raises(ConflictError, match="aerode bench settle"):
                bench.get(Electrode, "T1")


def test_a_package_is_merged_too(two: tuple[Path, Path], tmp_path: Path) -> None:
    """As from the bench it was written from."""
    shed, laptop = two
    with BenchFile.open(laptop, read_only=True) as bench:
        export(bench, tmp_path / "laptop.zip")
    with BenchFile.open(shed) as bench:
        assert merge(bench, tmp_path / "laptop.zip").conflicts
        assert merge(bench, laptop).headline.startswith("Nothing new")


def test_settled_with_a_field_from_the_other(two: tuple[Path, Path]) -> None:
    """The kept state with one field of the other; the other bench takes it over without a question."""
    shed, laptop = two
    with BenchFile.open(laptop) as bench:
        bench.put(replace(bench.get(Electrode, "T1"), seal=Seal(sealant="epoxy")))
    with BenchFile.open(shed) as bench:
        merge(bench, laptop)
        states = {s.who: s.digest for s in conflicts_of(bench, "electrode", "T1")[0].states}
        mine = next(digest for who, digest in states.items() if who == "Ida")
        theirs = next(digest for who, digest in states.items() if who != "Ida")
        answer = settle(bench, "electrode", "T1", keep=mine[:8], take={"seal": theirs[:8]})
        assert answer.conflicts == ()
        settled = bench.get(Electrode, "T1")
        assert (settled.note, settled.seal) == ("thin", Seal(sealant="epoxy"))
    with BenchFile.open(laptop) as bench:
        assert merge(bench, shed).conflicts == ()
        assert bench.get(Electrode, "T1") == settled


def test_withdrawn_here_changed_there(two: tuple[Path, Path]) -> None:
    """Either may be kept; a withdrawal that is kept can be undone."""
    shed, laptop = two
    with BenchFile.open(shed) as bench:
        bench.withdraw(Electrode, "T1")
        merge(bench, laptop)
        states = conflicts_of(bench)[0].states
        gone = next(state.digest for state in states if state.changes == ("withdrawn",))
        settle(bench, "electrode", "T1", keep=gone)
        assert "T1" not in bench.names(Electrode)
        undo(bench, "electrode", "T1", to=next(s.digest for s in states if not s.changes))
        assert bench.get(Electrode, "T1").note == "thick"
        assert bench.check().whole


def test_a_withdrawal_on_which_others_rest_is_not_kept(two: tuple[Path, Path]) -> None:
    """As it is not withdrawn nor undone; taken off what rests on it, the withdrawal may be kept."""
    shed, laptop = two
    with BenchFile.open(laptop) as bench:
        bench.put(Cell(name="jar", electrode="T1"))
    with BenchFile.open(shed) as bench:
        bench.withdraw(Electrode, "T1")
        merge(bench, laptop)
        states = conflicts_of(bench)[0].states
        gone = next(state.digest for state in states if state.changes == ("withdrawn",))
        with pytest.raises(InputError, match="cell jar rests on T1") as refused:
            settle(bench, "electrode", "T1", keep=gone)
        assert refused.value.next_step == "keep the other state, or take off what rests on it first"
        assert len(conflicts_of(bench)) == 1
        bench.withdraw(Cell, "jar")
        settle(bench, "electrode", "T1", keep=gone)
        assert "T1" not in bench.names(Electrode)


def test_what_rests_on_it_may_itself_stand_in_two_states(two: tuple[Path, Path]) -> None:
    """A cell in conflict names the piece in one of its states: that counts, and nothing is locked by it."""
    shed, laptop = two
    with BenchFile.open(shed) as bench:
        bench.put(Cell(name="jar", electrode="T1"))
    with BenchFile.open(laptop) as bench:
        merge(bench, shed)
        bench.put(Cell(name="jar", electrode="T2", note="there"))
    with BenchFile.open(shed) as bench:
        bench.put(Cell(name="jar", electrode="T1", note="here"))
        merge(bench, laptop)
        assert "jar" in [one.name for one in conflicts_of(bench)]
        assert users_of(bench, "electrode", "T1") == ["cell jar"]
        assert users_of(bench, "electrode", "T2") == ["cell jar"]


def test_renamed_in_both(two: tuple[Path, Path]) -> None:
    """One record under two names; the one that is kept stands, the other is free again."""
    shed, laptop = two
    for path, new in ((shed, "T2a"), (laptop, "T2b")):
        with BenchFile.open(path) as bench:
            bench.rename(Electrode, "T2", new)
    with BenchFile.open(shed) as bench:
        merge(bench, laptop)
        group = conflicts_of(bench, "electrode", "T2b")[0]
        keep = next(state.digest for state in group.states if state.name == "T2b")
        settle(bench, "electrode", "T2a", keep=keep)
        assert "T2b" in bench.names(Electrode)
        assert "T2a" not in bench.names(Electrode)


def test_two_benches_that_never_met(tmp_path: Path) -> None:
    """Two records of one name: shown, and one of them is renamed. Each bench keeps its own title."""
    paths = [tmp_path / "a.aerode", tmp_path / "b.aerode"]
    for path in paths:
        with BenchFile.create(path, title=path.stem) as bench:
            bench.put(Electrode(name="T1", note=path.stem))
    with BenchFile.open(paths[0]) as bench:
        conflict = merge(bench, paths[1]).conflicts[0]
        assert not conflict.one_record
        assert bench.get(Bench, "bench").title == "a"
        shelf_of(bench)
        theirs = next(
            s.digest for s in conflict.states if bench.read(bench.by_digest(s.digest)).note == "b"
        )
        with pytest.raises(InputError, match="another name"):
            settle(bench, "electrode", "T1", keep=theirs)
        answer = settle(bench, "electrode", "T1", keep=theirs, rename="T1 of b")
        assert answer.conflicts == ()
        assert {one.name: one.note for one in bench.all(Electrode)} == {"T1": "a", "T1 of b": "b"}
        bench.put(replace(bench.get(Bench, "bench"), note="merged"))
        assert bench.check().whole
    with BenchFile.open(paths[1]) as bench:
        merge(bench, paths[0])
        assert bench.get(Bench, "bench").title == "b"


def test_the_same_change_in_both_is_no_conflict(two: tuple[Path, Path]) -> None:
    """Two states that say the same are one for people, and the next change replaces both."""
    shed, laptop = two
    for path in two:
        with BenchFile.open(path) as bench:
            bench.put(replace(bench.get(Electrode, "T2"), note="same"))
    with BenchFile.open(shed) as bench:
        merge(bench, laptop)
        assert [c.name for c in conflicts_of(bench)] == ["T1"]
        assert bench.get(Electrode, "T2").note == "same"
        assert "electrode T2" not in bench.check().conflicts
        bench.put(replace(bench.get(Electrode, "T2"), note="next"))
        assert len(bench.history(Electrode, "T2")[-1].parents) == 2
        assert bench.check().whole


def test_a_log_continued_in_both(two: tuple[Path, Path]) -> None:
    """Refused by name, and nothing of the other bench was taken in."""
    shed, laptop = two
    for path, value in ((shed, 1.0), (laptop, 2.0)):
        with BenchFile.open(path) as bench:
            bench.append("one log", {"at": [value]})
    before = _of(shed)
    with BenchFile.open(shed) as bench, pytest.raises(ConflictError, match="'one log'"):
        merge(bench, laptop)
    assert _of(shed) == before


def test_refusals(two: tuple[Path, Path], tmp_path: Path) -> None:
    """The same file, a missing one, a state that is none, nothing to settle."""
    shed, laptop = two
    (tmp_path / "link.aerode").symlink_to(shed)
    with BenchFile.open(shed) as bench:
        for same in (shed, tmp_path / "link.aerode"):
            with pytest.raises(InputError, match="same bench"):
                merge(bench, same)
        with pytest.raises(NotFoundError):
            merge(bench, tmp_path / "nowhere.aerode")
        with pytest.raises(NotFoundError, match="nothing is to be settled"):
            settle(bench, "electrode", "T2", keep="ab")
        merge(bench, laptop)
        states = conflicts_of(bench)[0].states
        with pytest.raises(NotFoundError, match="no state"):
            settle(bench, "electrode", "T1", keep="zz")
        with pytest.raises(NotFoundError, match="no state"):
            settle(bench, "electrode", "T1", keep="")
        with pytest.raises(InputError, match="nothing to rename"):
            settle(bench, "electrode", "T1", keep=states[0].digest, rename="x")
        with pytest.raises(InputError, match="field 'colour'"):
            settle(
                bench, "electrode", "T1", keep=states[0].digest, take={"colour": states[1].digest}
            )
        assert len(conflicts_of(bench)) == 1


def test_undo(two: tuple[Path, Path]) -> None:
    """What it changed is said; undone again, it is as before; the first state undone is off the lists."""
    with BenchFile.open(two[0]) as bench:
        answer = undo(bench, "electrode", "T1")
        assert answer.state.changes == ("note taken out: thin",)
        assert undo(bench, "electrode", "T1").state.changes == ("note added: thin",)
        assert "off the lists" in undo(bench, "electrode", "T2").headline
        assert "T2" not in bench.names(Electrode)


def test_diff_of_states(two: tuple[Path, Path]) -> None:
    """Field by field, at any depth; the newest against the one before, or any two."""
    with BenchFile.open(two[0]) as bench:
        bench.put(
            replace(bench.get(Electrode, "T1"), seal=Seal(sealant="epoxy"), thickness=(1e-3, 2e-3))
        )
        states = bench.history(Electrode, "T1")
        newest = diff_states(bench, "electrode", "T1")
        whole = diff_states(bench, "electrode", "T1", states[0].digest[:10], states[-1].digest[:10])
        with pytest.raises(NotFoundError, match="first stored"):
            diff_states(bench, "electrode", "T2")

    assert {c.field: (c.before, c.after) for c in newest.differing[0].changes} == {
        "seal.sealant": ("wax", "epoxy"),
        "thickness": ("nothing", "1 mm; 2 mm"),
    }
    assert "note" in {c.field for c in whole.differing[0].changes}


def test_diff_of_benches(two: tuple[Path, Path]) -> None:
    """What only one side has, what differs, and how much history the other lacks."""
    shed, laptop = two
    with BenchFile.open(shed, read_only=True) as bench:
        found = diff_benches(bench, laptop)
        same = diff_benches(bench, shed)

    assert (found.only_left, found.only_right) == (("electrode of Ida",), ("electrode of Jon",))
    assert [(one.name, [c.field for c in one.changes]) for one in found.differing] == [
        ("T1", ["note"])
    ]
    assert (found.states_only_left, found.states_only_right) == (2, 2)
    assert same.headline == "No record differs"


def test_what_was_added_is_told_in_the_units_of_the_bench() -> None:
    """A reading that came in, a condition that was noted, a layer that was changed; no counts of parts."""
    first = Run(name="r", electrode="T1", readings=(Reading(load="open", voltage=0.733),))
    more = replace(
        first,
        readings=(*first.readings, Reading(load="15 ohm", voltage=0.42)),
        hours_wet=Condition(known=Known.MEASURED, value=3600.0),
    )
    many = replace(more, readings=(*more.readings, *(Reading(load=f"{n} ohm", voltage=0.3) for n in range(5, 9))))  # fmt: skip

    assert change_lines(changes_between(first, more)) == (
        "reading 2 added: 15 ohm 0.42 V",
        "hours_wet: may differ -> 1 h",
    )
    assert change_lines(changes_between(more, first))[0] == "reading 2 taken out: 15 ohm 0.42 V"
    assert change_lines(changes_between(more, many)) == (
        "readings: 4 added, from 5 ohm 0.3 V to 8 ohm 0.3 V",
    )


def test_a_part_that_was_changed_is_told_by_its_field() -> None:
    """The second layer, its dry mass, in grams; the area with its way of measuring."""
    old = Electrode(name="T1", layers=(Layer(role=LayerRole.ACTIVE), Layer(role=LayerRole.WET_PROOF, dry_mass=Entry(value=2.4e-4))))  # fmt: skip
    new = replace(
        old,
        layers=(old.layers[0], replace(old.layers[1], dry_mass=Entry(value=2.5e-4))),
        wetted_area=Entry(value=9.5e-4, how="ruler"),
        factors={"binder": "10 %"},
    )

    assert set(change_lines(changes_between(old, new))) == {
        "layer 2, dry_mass: 0.24 g -> 0.25 g",
        "wetted_area added: 9.5 cm^2 (ruler)",
        "factors, binder added: 10 %",
    }
