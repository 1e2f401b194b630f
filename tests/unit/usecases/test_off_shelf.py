"""Off the shelf and back: figures stay for what was made with a thing, forms offer it no more."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from aerode.errors import InputError, NotFoundError, RecordError
from aerode.records.electrodes import Cell, Electrode
from aerode.records.instruments import Instrument, Sort
from aerode.records.marks import Entry, Gone, Left, Share
from aerode.records.materials import (
    Electrolyte,
    Function,
    MeshCard,
    PowderLot,
    Solution,
    SolventLot,
)
from aerode.records.mixes import Mix
from aerode.records.places import Room
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_settle import undo
from aerode.usecases.entering import enter
from aerode.usecases.mix import MixQuestion, scale_of, what_it_dries_to
from aerode.usecases.off_shelf import (
    MISTAKE,
    disposal_words,
    gone_words,
    offered,
    offered_names,
    put_back,
    take_off,
    users_of,
)
from aerode.usecases.run_instruments import resistors_at_hand, resistors_of, usual_meter
from aerode.usecases.run_page import meter_choices

if TYPE_CHECKING:
    from collections.abc import Generator
    from pathlib import Path

NOON = datetime(2026, 5, 9, 12, tzinfo=UTC)
DOSE = MixQuestion(area="9 cm^2", loading="25 mg/cm^2")


@pytest.fixture
def bench(tmp_path: Path) -> Generator[BenchFile]:
    """A mix of a powder and a solution, a cell, a run over a resistor, and things nothing rests on."""
    with BenchFile.create(tmp_path / "b.aerode", title="Shed", clock=lambda: NOON) as made:
        made.put_all([
            PowderLot(name="char", substance="biochar", function=Function.ACTIVE_CARBON),
            PowderLot(name="spare", substance="graphite", function=Function.CONDUCTOR, note="like char"),
            Solution(name="jar", polymer="PVB", solids=Entry(value=0.1), liquid=(Share(of="ethanol", fraction=1.0),)),
            SolventLot(name="bottle", substance="ethanol"),
            MeshCard(name="steel 40", material="stainless steel"),
            Electrolyte(name="lye", salt="KOH"),
            Room(name="shed"),
            Mix(name="T5", wanted=(Share(of="char", fraction=0.85), Share(of="jar", fraction=0.15))),
            Electrode(name="T6", mesh="steel 40"),
            Cell(name="cell T6", electrode="T6", electrolyte="lye"),
            Instrument(name="15 ohm", sort=Sort.RESISTOR, nominal_resistance=15.0),
            Instrument(name="scale", sort=Sort.SCALE, resolution=1e-5),
            Run(name="T6 loads", electrode="T6", readings=(Reading(load="15 ohm", voltage=0.4),)),
        ])  # fmt: skip
        yield made


def test_what_is_used_up_keeps_the_figures_of_what_was_made(bench: BenchFile) -> None:
    """The mix dries to the same, the dose sheet says what has gone, and forms offer it no more."""
    before = what_it_dries_to(bench, "T5", MixQuestion())
    answer = take_off(bench, "powder", "char", "used up", on="9 May 2026", note="last spoon")

    assert answer.headline == "char is off the shelf: used up"
    assert bench.get(PowderLot, "char").gone == Gone(how=Left.USED_UP, on="2026-05-09", note="last spoon")  # fmt: skip
    assert gone_words(bench.get(PowderLot, "char")) == "used up, 2026-05-09, last spoon"
    assert what_it_dries_to(bench, "T5", MixQuestion()) == before
    assert [lot.name for lot in offered(bench, PowderLot)] == ["spare"]
    assert offered_names(bench, PowderLot) == ["spare"]
    dosed = what_it_dries_to(bench, "T5", DOSE)
    assert dosed.dose is not None
    assert dosed.dose.stock_short[-1] == "char is off the shelf (used up, 2026-05-09, last spoon)"
    assert dosed.warnings[0] == dosed.dose.stock_short[-1]


def test_back_by_the_page_and_by_the_history(bench: BenchFile) -> None:
    """Both ways give the lot as it was, and both are states of the history."""
    first = bench.get(SolventLot, "bottle")
    take_off(bench, "solvent", "bottle", "thrown away")
    put_back(bench, "solvent", "bottle")
    assert bench.get(SolventLot, "bottle") == first
    take_off(bench, "solvent", "bottle", "broken or lost")
    undo(bench, "solvent", "bottle")
    assert bench.get(SolventLot, "bottle") == first
    assert [state.why for state in bench.history(SolventLot, "bottle")][1:3] == ["thrown away", "back on the shelf"]  # fmt: skip


def test_a_mistake_goes_where_nothing_rests_on_it(bench: BenchFile) -> None:
    """Off the lists, and back by the history; a note that names it is no use of it."""
    take_off(bench, "powder", "spare", MISTAKE, note="twice")
    assert bench.find(PowderLot, "spare") is None
    undo(bench, "powder", "spare")
    assert bench.get(PowderLot, "spare").substance == "graphite"
    take_off(bench, "room", "shed", MISTAKE)
    assert bench.find(Room, "shed") is None


@pytest.mark.parametrize(
    ("kind", "name", "user"),
    [
        ("powder", "char", "mix T5"), ("solution", "jar", "mix T5"), ("mesh", "steel 40", "electrode T6"),
        ("electrolyte", "lye", "cell cell T6"), ("instrument", "15 ohm", "run T6 loads"),
    ],
)  # fmt: skip
def test_a_mistake_on_which_something_rests_stays(
    bench: BenchFile, kind: str, name: str, user: str
) -> None:
    """What rests on it is named, with the other way."""
    assert users_of(bench, kind, name) == [user]
    with pytest.raises(InputError, match=user) as refusal:
        take_off(bench, kind, name, MISTAKE)
    assert "used up" in refusal.value.next_step


def test_what_cannot_be_taken_is_refused(bench: BenchFile) -> None:
    """A word that is none, a day that is none, a kind of another place, a name that is not there."""
    with pytest.raises(RecordError) as refusal:
        take_off(bench, "powder", "char", "eaten", on="the 40th")
    assert {fault.field for fault in refusal.value.faults} == {"how", "on"}
    with pytest.raises(RecordError):
        take_off(bench, "room", "shed", "used up")
    with pytest.raises(InputError, match="no electrode stands on the shelf"):
        take_off(bench, "electrode", "T6", "used up")
    with pytest.raises(NotFoundError):
        take_off(bench, "powder", "chor", "used up")


def test_a_scale_that_is_gone_is_taken_no_more(bench: BenchFile) -> None:
    """Unless it is named; a kitchen scale stands in."""
    assert scale_of(bench, "")[0].name == "scale"
    take_off(bench, "instrument", "scale", "broken or lost")
    assert scale_of(bench, "")[0].name != "scale"
    assert scale_of(bench, "scale")[0].name == "scale"


def test_a_resistor_that_is_gone_is_planned_no_more(bench: BenchFile) -> None:
    """A new run does without it; a run of before still knows its ohms."""
    take_off(bench, "instrument", "15 ohm", "broken or lost")

    assert resistors_at_hand(bench) == {}
    assert resistors_of(bench) == {"15 ohm": 15.0}


def test_a_meter_that_is_gone_is_usual_no_more(bench: BenchFile) -> None:
    """The only meter is taken by itself; gone, none is, and no form offers it."""
    bench.put(Instrument(name="meter 1", sort=Sort.MULTIMETER))
    assert usual_meter(bench) == "meter 1"
    assert meter_choices(bench) == [("meter 1", "")]
    take_off(bench, "instrument", "meter 1", "broken or lost")
    assert usual_meter(bench) == ""
    assert meter_choices(bench) == []


def test_a_program_says_it_as_texts(bench: BenchFile) -> None:
    """`gone.how` among the fields of a change; another field leaves it as it is."""
    entered = enter(
        bench, "solvent", {"gone.how": "used up", "gone.on": "9 May 2026"}, name="bottle"
    )
    assert entered.record is not None
    assert entered.record.gone.on == "2026-05-09"
    enter(bench, "solvent", {"note": "was good"}, name="bottle")
    assert bench.get(SolventLot, "bottle").gone is not None


@pytest.mark.parametrize(
    ("record", "words"),
    [
        (SolventLot(name="b", substance="ethanol"), ("Ethanol", "waste point", "not the drain")),
        (SolventLot(name="b", substance="water"), ()),
        (Solution(name="j", polymer="PVB"), ("nobody named", "not the drain")),
        (Electrolyte(name="k", salt="KOH, flakes"), ("burns skin", "loose lid")),
        (Electrolyte(name="s", salt="NaCl"), ()),
        (PowderLot(name="m", substance="manganese dioxide", function=Function.CATALYST), ("oxidiser",)),
        (PowderLot(name="m", substance="graphite", function=Function.CONDUCTOR, recovered=True), ("zinc and lead",)),
        (Instrument(name="m", sort=Sort.MULTIMETER), ("battery",)),
        (Instrument(name="15 ohm", sort=Sort.RESISTOR), ()),
    ],
)  # fmt: skip
def test_what_to_mind_before_it_is_thrown_away(record: object, words: tuple[str, ...]) -> None:
    """Common practice, no source; silence only where nothing is to be minded."""
    said = disposal_words(record)

    assert bool(said) is bool(words)
    assert all(word in said for word in words)
