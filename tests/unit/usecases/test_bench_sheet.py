"""The bench sheet: weights for the scale, cautions on top, and the STOP that holds it back."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from aerode.cli.mix import command
from aerode.errors import InputError, StoppedError
from aerode.records.bench_sheets import BenchSheet, SheetPart
from aerode.records.cautions import Acknowledgement, CautionLevel
from aerode.records.instruments import Instrument, Sort
from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, Solution, SolventLot
from aerode.records.mixes import Ingredient, Mix, Portion
from aerode.records.places import Airing, Bench, People, Room
from aerode.report.sheet_page import sheet_html
from aerode.report.square_code import code_svg
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_sheet import SheetQuestion, acknowledge_for_sheet, bench_sheet
from aerode.usecases.cautions import mark_read
from aerode.usecases.electrode_page_list import find_mix_by_code
from aerode.usecases.mix import MixQuestion

MOMENT = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)
ASKED = SheetQuestion(
    mix=MixQuestion(area="9 cm^2", loading="25 mg/cm^2", electrodes=4, solids="20 %")
)
SIZES = ["--area", "9 cm^2", "--loading", "25 mg/cm^2", "--electrodes", "4", "--solids", "20 %"]


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A small bench: an ethanol mix, a toluene mix that no bedroom can bear, a mix in water."""
    records = [
        Room(name="shed", volume=Entry(value=60.0), airing=Airing.WINDOW),
        Instrument(name="kitchen scale", sort=Sort.SCALE, resolution=1e-5, limit_of_error=2e-5),
        PowderLot(name="char", substance="biochar", function=Function.ACTIVE_CARBON,
                  moisture=Entry(value=0.0), true_density=Entry(value=1800.0)),
        Solution(name="film", polymer="PVB", liquid=(Share(of="ethanol", fraction=1.0),),
                 solids=Entry(value=0.15), density=Entry(value=850.0)),
        Solution(name="cup", polymer="polystyrene", liquid=(Share(of="toluene", fraction=1.0),),
                 solids=Entry(value=0.10), density=Entry(value=880.0)),
        Solution(name="wax", polymer="beeswax", liquid=(Share(of="water", fraction=1.0),),
                 solids=Entry(value=0.30), density=Entry(value=980.0)),
        SolventLot(name="thinner", substance="ethanol"),
        Mix(name="E", wanted=(Share(of="char", fraction=0.85), Share(of="film", fraction=0.15))),
        Mix(name="T", wanted=(Share(of="char", fraction=0.5), Share(of="cup", fraction=0.5))),
        Mix(name="W", wanted=(Share(of="char", fraction=0.85), Share(of="wax", fraction=0.15))),
        Mix(name="S", portions=(Portion(of="thinner", shelf=Ingredient.SOLVENT, mass=Entry(value=1e-3)),
                                Portion(of="char", mass=Entry(value=1e-3)))),
    ]  # fmt: skip
    path = tmp_path / "b.aerode"
    with BenchFile.create(path, title="test bench") as made:
        made.put_all(records)
    return path


@pytest.fixture
def bench(place: Path) -> Iterator[BenchFile]:
    """The same, open."""
    with BenchFile.open(place) as opened:
        yield opened


def part(sheet: BenchSheet, name: str) -> SheetPart:
    """One part of a sheet."""
    return next(p for p in sheet.parts if p.name == name)


def run(place: Path, *words: str) -> Result:
    """The mix verb on this bench."""
    return CliRunner().invoke(command, [*words, "--bench", str(place)])


def test_weights_stand_as_the_scale_shows_them(bench: BenchFile) -> None:
    """Each amount is a whole number of steps, with the digits of the scale and no more."""
    sheet = bench_sheet(bench, "E", ASKED, moment=MOMENT)
    weights = part(sheet, "weigh").weights
    assert [w.of for w in weights] == ["char", "film", "thinner"]
    for one in weights:
        assert re.fullmatch(r"\d+\.\d\d g", one.amount), one
        assert one.amount_g * 100 == pytest.approx(round(one.amount_g * 100))
    dry = sum(w.amount_g * s for w, s in zip(weights, (1.0, 0.15, 0.0), strict=True))
    assert dry == pytest.approx(4 * 0.225 * 1.1, rel=0.02)


def test_each_part_says_what_to_do_and_leaves_room_to_write(bench: BenchFile) -> None:
    """Weigh, stir, coat, dry, press, put away; a row for each piece; wet mass by the solids."""
    sheet = bench_sheet(bench, "E", ASKED, moment=MOMENT)
    assert [p.name for p in sheet.parts] == ["weigh", "stir", "coat", "dry", "press", "put away"]
    (pieces,) = part(sheet, "coat").tables
    assert len(pieces.rows) == 4
    assert all(cell == "" for row in pieces.rows for cell in row)
    assert "1.12 g" in pieces.caption or "1.13 g" in pieces.caption
    assert (
        "less mesh" not in pieces.caption
    )  # a coat gone dull has lost weight: the scale never shows the sum
    assert "what its coats add when put on sums to" in pieces.caption
    assert "once dry it weighs its mesh and 0.225 g" in pieces.caption  # 25 mg/cm² on 9 cm²
    assert "just after each coat" in part(sheet, "coat").steps[1].act
    assert "Press cold" in part(sheet, "press").steps[0].act
    assert part(sheet, "press").steps[0].gate == "Only pieces whose two weighings agree."


def test_the_dry_gate_of_the_sheet_is_the_gate_of_the_engine(bench: BenchFile) -> None:
    """0.5 mg/cm2 on 9 cm2 is 4.5 mg: a step of 10 mg needs three pieces, one of 1 mg needs one."""
    coarse = part(bench_sheet(bench, "E", ASKED, moment=MOMENT), "dry")
    assert "Weigh 3 pieces together" in coarse.steps[1].act
    assert "no change on the scale after 10 min" in coarse.tables[0].caption
    assert len(coarse.tables[0].rows) == 2
    finer = SheetQuestion(mix=replace(ASKED.mix, scale="0.001 g"))
    fine = part(bench_sheet(bench, "E", finer, moment=MOMENT), "dry")
    assert "Weigh each piece" in fine.steps[1].act
    assert "at most 3 mg less after 10 min" in fine.tables[0].caption
    assert len(fine.tables[0].rows) == 4


def test_a_hot_press_stands_with_its_window_and_its_gates(bench: BenchFile) -> None:
    """A plate brings the heat cautions and the window between softening and the house line."""
    hot = replace(ASKED, plate="85 °C")
    sheet = bench_sheet(bench, "E", hot, moment=MOMENT)
    assert "between 72 and 120 °C" in part(sheet, "press").steps[0].act
    assert {"dry enough", "polymer heat"} <= {c.hazard for c in sheet.cautions.cautions}
    assert "dry enough" not in {
        c.hazard for c in bench_sheet(bench, "E", ASKED, moment=MOMENT).cautions.cautions
    }


def test_without_figures_there_is_no_heat_and_no_time(bench: BenchFile) -> None:
    """A polymer and a liquid that nobody knows: press cold, and only the scale tells when it is dry."""
    bench.put(Solution(name="odd", polymer="mystery", liquid=(Share(of="ethanol", fraction=0.5),),
                       solids=Entry(value=0.15), density=Entry(value=850.0),
                       dry_density=Entry(value=1100.0)))  # fmt: skip
    bench.put(
        Mix(name="X", wanted=(Share(of="char", fraction=0.85), Share(of="odd", fraction=0.15)))
    )
    found = bench_sheet(bench, "X", ASKED, moment=MOMENT)
    assert part(found, "press").lines[0].startswith("No heat:")
    assert "Press cold" in part(found, "press").steps[0].act


def test_no_key_of_a_source_stands_on_the_sheet(bench: BenchFile) -> None:
    """What was taken instead of a measurement is told without the names of rows of tables."""
    sheet = bench_sheet(bench, "E", ASKED, moment=MOMENT)
    page = re.sub(r"<style>.*?</style>", "", sheet_html(sheet), flags=re.DOTALL)

    assert any("move no weight on this sheet" in note for note in sheet.assumptions)
    assert not any("published:" in note for note in sheet.assumptions)
    assert not re.search(r"[a-z]_[a-z]", page)


def test_a_cold_press_says_what_it_is(bench: BenchFile) -> None:
    """Without a plate: it packs, and no house rule on heat stands there idle."""
    cold = part(bench_sheet(bench, "E", ASKED, moment=MOMENT), "press")

    assert "without heat" in cold.steps[0].act
    assert "binds no better" in cold.steps[0].act
    assert cold.lines == ()


def test_a_stop_holds_the_sheet_back_until_its_reason_is_kept(bench: BenchFile) -> None:
    """Refused; a reason in the history; then printed with the STOP and the reason on the page."""
    bench.put(Room(name="bedroom", volume=Entry(value=20.0), airing=Airing.CLOSED))
    asked = SheetQuestion(
        mix=MixQuestion(area="500 cm^2", loading="25 mg/cm^2", electrodes=6), room="bedroom"
    )
    with pytest.raises(StoppedError, match="STOP vapour breathed") as refusal:
        bench_sheet(bench, "T", asked, moment=MOMENT, ask="aerode mix T ...")
    assert "aerode mix T ... --acknowledge" in refusal.value.next_step
    with pytest.raises(InputError, match="reason in words"):
        acknowledge_for_sheet(bench, "T", asked, "vapour.breathed", "", made="2026-05-02")
    said = "outdoors under the roof, measured with a badge"
    acknowledge_for_sheet(bench, "T", asked, "vapour.breathed", said, made="2026-05-02")
    sheet = bench_sheet(bench, "T", asked, moment=MOMENT)
    page = sheet_html(sheet)
    assert sheet.cautions.cautions[0].level is CautionLevel.STOP
    assert page.index("<b>STOP</b>") < page.index(said) < page.index("<h2>Weigh</h2>")
    (kept,) = bench.history(Acknowledgement)
    assert kept.why == "acknowledged vapour.breathed"
    assert bench.all(Acknowledgement)[0].reason == said
    larger = replace(asked, mix=replace(asked.mix, electrodes=40))
    with pytest.raises(StoppedError):
        bench_sheet(bench, "T", larger, moment=MOMENT)


def test_what_was_read_is_one_line_and_a_stop_is_whole(bench: BenchFile) -> None:
    """FIRST and NOTE fold after a reading; nothing else leaves the page."""
    before = bench_sheet(bench, "E", ASKED, moment=MOMENT)
    mark_read(bench, "E", made="2026-05-02")
    after = bench_sheet(bench, "E", ASKED, moment=MOMENT)
    assert before.folded == ()
    assert set(after.folded) <= {c.key for c in after.cautions.cautions}
    assert after.folded
    first, second = sheet_html(before), sheet_html(after)
    assert second.count("(read before)") == len(after.folded)
    assert len(second) < len(first)
    for caution in after.cautions.cautions:
        assert caution.level.value in second


def test_a_class_gets_no_sheet_for_toluene(bench: BenchFile) -> None:
    """In a room of a class an aromatic solvent is a STOP, whatever the figures say."""
    bench.put(Room(name="school", volume=Entry(value=300.0), air_changes=Entry(value=6 / 3600),
                   people=(People.CLASS,)))  # fmt: skip
    thick = SheetQuestion(mix=replace(ASKED.mix, solids=""), room="school")
    with pytest.raises(StoppedError, match="not for a class: toluene"):
        bench_sheet(bench, "T", thick, moment=MOMENT)
    assert bench_sheet(bench, "W", thick, moment=MOMENT).room == "school"


def test_the_page_is_whole_and_asks_for_nothing_outside(bench: BenchFile) -> None:
    """Cautions before weights, a box for each act, no script, no address, equal bytes, names escaped."""
    bench.put(Bench(title="shed <b>&</b> co"))
    sheet = bench_sheet(bench, "E", ASKED, moment=MOMENT)
    page = sheet_html(sheet)
    assert page == sheet_html(bench_sheet(bench, "E", ASKED, moment=MOMENT))
    assert page.index("What can hurt") < page.index("<h2>Weigh</h2>")
    assert "shed &lt;b&gt;&amp;&lt;/b&gt; co" in page
    assert "<script" not in page
    assert not re.findall(r"https?://", page)
    boxes = len(re.findall('<span class="box">', page))
    steps = sum(len(p.steps) + len(p.weights) for p in sheet.parts)
    firsts = sum(c.level is CautionLevel.FIRST for c in sheet.cautions.cautions)
    assert boxes == steps + firsts
    assert sheet.cautions.standing_text in page


def test_the_sheet_carries_a_square_code_of_its_mix(bench: BenchFile) -> None:
    """Name and identity as the labels say them, never an address; it stands above the cautions."""
    sheet = bench_sheet(bench, "E", ASKED, moment=MOMENT)
    page = sheet_html(sheet)

    assert re.fullmatch(r"mix E id [0-9a-f]{12}", sheet.says)
    assert find_mix_by_code(bench, sheet.says) == "E"
    assert page.count(code_svg(sheet.says)) == 1
    assert page.index('class="code"') < page.index("What can hurt")


def test_nothing_to_dose_is_refused(bench: BenchFile) -> None:
    """A sheet needs an area and a loading."""
    with pytest.raises(InputError, match="something to dose"):
        bench_sheet(bench, "S", SheetQuestion(mix=MixQuestion()), moment=MOMENT)


def test_the_command_writes_the_page(place: Path, tmp_path: Path) -> None:
    """Verdict first, cautions, then where the page is; the record behind --json."""
    page = tmp_path / "E.html"
    found = run(place, "E", *SIZES, "--sheet", str(page))
    assert found.exit_code == 0, found.output
    assert found.output.splitlines()[0] == "E: 4 electrodes of 9 cm² at 25 mg/cm²"
    assert found.output.splitlines()[-1] == f"Bench sheet: {page}"
    assert "<h2>Weigh</h2>" in page.read_text("utf-8")
    plain = json.loads(run(place, "E", *SIZES, "--sheet", str(page), "--json").output)
    assert next(iter(plain)) == "schema"
    assert plain["schema"] == "aerode.bench-sheet/1"


def test_the_command_refuses_and_takes_the_reason(place: Path, tmp_path: Path) -> None:
    """No page while a STOP waits; with the key and a reason it is written and the STOP stands on it."""
    with BenchFile.open(place) as made:
        made.put(Room(name="bedroom", volume=Entry(value=20.0), airing=Airing.CLOSED))
    page = tmp_path / "T.html"
    words = ("T", "--area", "500 cm^2", "--loading", "25 mg/cm^2", "--electrodes", "6", "--room",
             "bedroom", "--sheet", str(page))  # fmt: skip
    refused = run(place, *words)
    assert isinstance(refused.exception, StoppedError)
    assert not page.exists()
    taken = run(
        place, *words, "--acknowledge", "vapour.breathed", "--reason", "outdoors, by the wall"
    )
    assert taken.exit_code == 0, taken.output
    assert "STOP" in taken.output
    assert "outdoors, by the wall" in page.read_text("utf-8")
    assert run(place, *words).exit_code == 0


@pytest.mark.parametrize(
    "words",
    [
        ("E", "--plate", "85 °C"),
        ("E", "--acknowledge", "x"),
        ("E", "--reason", "x y"),
        ("--new", "N", "--want", "char=rest", "--sheet", "x.html"),
    ],
)
def test_wrong_usage_is_told(place: Path, words: tuple[str, ...]) -> None:
    """The options of the sheet go with the sheet, and a sheet with a mix that is stored."""
    assert run(place, *words).exit_code == 2
