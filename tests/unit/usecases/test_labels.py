"""Labels, the card of a run and the page of an electrode, from the records alone."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from aerode.errors import InputError, NotFoundError
from aerode.records.electrodes import Cell, Electrode, Layer, Weighing
from aerode.records.instruments import Instrument, Sort
from aerode.records.marks import Entry
from aerode.records.mixes import Mix
from aerode.records.runs import Reading, Run, RunPlan
from aerode.report.square_code import code_svg
from aerode.store.bench_file import BenchFile
from aerode.usecases.electrode_page import look_at_electrode
from aerode.usecases.electrode_page_list import (
    find_by_label,
    find_mix_by_code,
    list_electrodes,
    runs_of,
)
from aerode.usecases.electrode_page_thickness import thickness_map
from aerode.usecases.labels import label_says, labels_for
from aerode.usecases.resistor_card import card_of_run, card_to_start

if TYPE_CHECKING:
    from collections.abc import Generator
    from pathlib import Path

NOON = datetime(2026, 5, 9, 12, 0, tzinfo=UTC)


@pytest.fixture
def bench(tmp_path: Path) -> Generator[BenchFile]:
    """Three resistors, two electrodes, a cell, and runs of both ways of naming."""
    with BenchFile.create(tmp_path / "b.aerode", title="Shed", clock=lambda: NOON) as made:
        for ohms in (100.0, 33.0, 10.0):
            made.put(Instrument(name=f"R{ohms:g}", sort=Sort.RESISTOR, nominal_resistance=ohms, power_rating=0.02))  # fmt: skip
        made.put_all([Electrode(name="T1"), Electrode(name="T2")])
        made.put(Cell(name="cell T1", electrode="T1"))
        made.put(Run(name="a", electrode="T1", readings=(Reading(load="R100", voltage=0.66),)))
        readings = (
            Reading(load="open", voltage=0.71), Reading(load="R100", voltage=66.0),
            Reading(load="R100", voltage=0.65, replaces=1), Reading(load="R33", voltage=0.1, doubt="clip off"),
        )  # fmt: skip
        made.put(Run(name="b", cell="cell T1", electrode="T1", readings=readings,
                     planned_loads=("open", "R100", "R33", "R10", "R100")))  # fmt: skip
        yield made


def test_runs_of_a_piece_and_of_its_cells(bench: BenchFile) -> None:
    """Both count once; another electrode has none."""
    assert [run.name for run in runs_of(bench, "T1")] == ["a", "b"]
    assert runs_of(bench, "T2") == []
    assert [(line.name, line.runs) for line in list_electrodes(bench).lines] == [
        ("T2", 0),
        ("T1", 2),
    ]


def test_a_label_never_holds_an_address(bench: BenchFile) -> None:
    """It says name and identity, as words; what it says leads back to the piece."""
    label = labels_for(bench, ["T1", "T1"])[0]

    assert re.fullmatch(r"electrode T1 id [0-9a-f]{12}", label.says)
    assert find_by_label(bench, label.says) == ("T1", [])
    assert len(labels_for(bench, ["T1", "T1"])) == 1
    with pytest.raises(NotFoundError):
        labels_for(bench, ["T9"])
    with pytest.raises(InputError):
        labels_for(bench, [f"x{n}" for n in range(241)])


def test_a_code_has_the_width_of_its_standard() -> None:
    """ISO/IEC 18004, table 7: 28 bytes at level M need version 3, 29 modules wide; with margins 33."""
    drawn = code_svg("electrode T1 id 0123456789ab")

    assert 'viewBox="0 0 33 33"' in drawn
    assert "style=" not in drawn
    assert "<script" not in drawn


def test_the_code_of_a_bench_sheet_leads_to_its_mix(bench: BenchFile) -> None:
    """By its identity first, so that a mix that was renamed is found; a piece of that name is none."""
    bench.put(Mix(name="T1"))
    says = label_says("T1", bench.state(Mix, "T1").record, "mix")
    bench.rename(Mix, "T1", "char 1")
    bench.put(Mix(name="T1", note="another"))

    assert find_mix_by_code(bench, says) == "char 1"
    assert find_mix_by_code(bench, "mix T1 id 00000000ffff") == "T1"
    assert find_mix_by_code(bench, "mix gone id 00000000ffff") == ""
    assert find_mix_by_code(bench, labels_for(bench, ["T2"])[0].says) == ""
    assert find_by_label(bench, "T1") == ("T1", [])


def test_a_card_fills_the_boxes_that_were_read(bench: BenchFile) -> None:
    """A replaced and a doubted reading are left out; the repeated load stays open."""
    card = card_of_run(bench, "b")

    assert [row.read for row in card.rows] == ["0.710 V", "0.650 V", "", "", ""]
    assert card.electrode == "T1"


def test_a_card_expects_what_the_earlier_run_gave(bench: BenchFile) -> None:
    """The newest run gave 0.65 V at 100 ohm; 10 ohm is a guess and would be too much for the resistor."""
    card = card_to_start(bench, "T1")
    by_load = {row.load: row for row in card.rows}

    assert by_load["R100"].expected == "0.65 V"
    assert by_load["R100"].resistance == "100 ohm"
    assert "gets warm" in by_load["R10"].warning
    assert card.rows[0].load == "no load"
    assert "a guess" in card.basis


def test_a_short_card_has_moments(bench: BenchFile) -> None:
    """Three resistors, each read at the moments of the plan."""
    card = card_to_start(bench, "T1", RunPlan.SHORT)

    assert len(card.rows) == 4
    assert card.moments[-1] == "180 s"


def test_an_even_piece_says_so() -> None:
    """Calipers cannot tell 0.30 from 0.34 mm apart (±0.05 mm); one place tells no evenness."""
    assert thickness_map("T1", (0.30e-3, 0.34e-3)).uneven == ()
    assert "cannot be told" in thickness_map("T1", (0.3e-3,)).sentence
    with pytest.raises(InputError):
        thickness_map("T1", ())


def test_the_gate_wants_two_weighings_with_a_time_between(bench: BenchFile) -> None:
    """None, one, and two: what is missing is told each time."""
    first = Weighing(mass=0.7e-3, resolution=1e-6)
    second = Weighing(mass=0.7e-3, after=900.0, resolution=1e-6)
    told: list[str] = []
    for weighings in ((), (first,), (first, second)):
        bench.put(Electrode(name="T1", weighings=weighings, mesh_mass=Entry(value=0.46e-3)))
        look = look_at_electrode(bench, "T1")
        told.append(look.dryness.headline if look.dryness else look.dry_gate)

    assert told[0].startswith("Weigh the dry-looking piece")
    assert told[1].startswith("One more weighing")
    assert told[2].startswith("Weight constant")


def test_every_later_state_is_found_however_long_ago(bench: BenchFile) -> None:
    """A state with 250 pieces after it still stands on the page of its piece, and the other way round."""
    bench.put(Electrode(name="T1 washed", build="T1"))
    bench.put_all([Electrode(name=f"P{n}") for n in range(250)])
    bench.put(Electrode(name="T1 pressed", build="T1"))

    assert look_at_electrode(bench, "T1").states == ("T1 pressed", "T1 washed")
    assert look_at_electrode(bench, "T1 washed").states == ("T1 pressed", "T1")


def test_a_piece_of_unknown_mix_says_what_is_missing(bench: BenchFile) -> None:
    """Loading and voids are reasons, not numbers; its cautions say that the recipe is not known."""
    bench.put(Electrode(name="T2", layers=(Layer(mix="gone"),)))
    facts = {fact.term: fact for fact in look_at_electrode(bench, "T2").facts}

    assert facts["Dry loading"].said == "not known"
    assert "not on the bench" in facts["Dry loading"].note
    assert facts["Wetted area"].said == "not measured"
