"""Records turned into what the rules look at, field by field, and a sheet turned into lines, word by word."""

from __future__ import annotations

from dataclasses import replace

import pytest

from aerode.cautions.engine import caution_sheet
from aerode.cautions.heatings import heatings_of, stored_weighings
from aerode.cautions.measured_corrosion import (
    corrosion_by_gas,
    corrosion_by_mass,
    corrosion_on_file,
)
from aerode.cautions.people import people_cautions
from aerode.cautions.reading import folded_keys, require_acknowledged, sheet_lines
from aerode.cautions.situation import (
    Heating,
    OpenLiquid,
    Polymer,
    Powder,
    SheetFigures,
    Situation,
    Span,
    Weighings,
)
from aerode.cautions.views import ShelfView, cell_view, mix_view
from aerode.errors import StoppedError
from aerode.records.cautions import (
    Acknowledgement,
    Caution,
    CautionLevel,
    CautionSheet,
    Finding,
)
from aerode.records.electrodes import (
    Appliance,
    Cell,
    Coat,
    Electrode,
    Firmness,
    Layer,
    Press,
    Weighing,
)
from aerode.records.marks import Entry, Share
from aerode.records.materials import (
    Aluminium,
    DataSheet,
    Dish,
    Electrolyte,
    Function,
    PowderLot,
    Solution,
    SolventLot,
)
from aerode.records.mixes import Ingredient, Portion
from aerode.usecases.caution_question import CautionQuestion, typed_heating

CHAR = PowderLot(name="char", substance="biochar", function=Function.ACTIVE_CARBON)
PASTE = PowderLot(name="paste", substance="EMD", function=Function.CATALYST, recovered=True,
                  water_soluble=Entry(value=0.02))  # fmt: skip
TAPE = PowderLot(name="tape", substance="PTFE", function=Function.WET_PROOFER,
                 data_sheet=DataSheet(title="tape", date="2024", heat_limit=Entry(value=500.0)))  # fmt: skip
FILM = Solution(name="film", polymer="PVB", liquid=(Share(of="ethanol", fraction=0.7), Share(of="water", fraction=0.1)),
                dishes=(Dish(empty=0.005, wet=0.015, dried=0.0070), Dish(empty=0.005, wet=0.015, dried=0.0066)),
                density=Entry(value=900.0))  # fmt: skip
LABEL = Solution(name="label", polymer="polystyrene", liquid=(Share(of="toluene", fraction=1.0),),
                 label_solids=Entry(value=0.25),
                 data_sheet=DataSheet(title="cement", date="2023", flash_point=Entry(value=270.0)))  # fmt: skip
THINNER = SolventLot(name="thinner", substance="ethanol", density=Entry(value=800.0))
SHELF = ShelfView.of((CHAR, PASTE, TAPE), (FILM, LABEL), (THINNER,))


def test_what_is_only_wanted_comes_whole_but_for_its_amount() -> None:
    """Powder, recovered paste, a polymer powder, a solution with its liquids, and a name not on the shelf."""
    view = mix_view((), ["char", "paste", "tape", "label", "stranger"], SHELF)
    assert view.powders == (
        Powder(name="char", substance="biochar"),
        Powder(name="paste", substance="EMD", recovered=True, water_soluble=0.02),
        Powder(name="tape", substance="PTFE"),
        Powder(name="stranger", substance="stranger"),
    )
    assert view.polymers == (
        Polymer(name="tape", substance="PTFE", sheet_limit=500.0, sheet="tape, 2024"),
        Polymer(name="label", substance="polystyrene"),
    )
    assert view.liquids == (OpenLiquid(name="toluene", substance="toluene"),)
    assert [(s.of, s.said, s.named, s.flash) for s in view.sheets] == [
        ("PTFE", "safety data sheet of tape: tape, 2024", True, None),
        ("toluene", "safety data sheet of label: cement, 2023", True, 270.0),
        ("liquid of label (not named)", "safety data sheet of label: cement, 2023", True, 270.0),
    ]
    assert mix_view((Portion(of="char", mass=Entry(value=0.01)),), ["char"], SHELF).powders == (
        Powder(name="char", substance="biochar", mass=0.01),
    )


def test_portions_come_with_their_masses() -> None:
    """Solids of 18 % by two dishes; volume by density; what nobody named of a liquid is kept as such."""
    portions = (
        Portion(of="film", shelf=Ingredient.SOLUTION, volume=Entry(value=1e-5)),
        Portion(of="label", shelf=Ingredient.SOLUTION, mass=Entry(value=0.02)),
        Portion(of="thinner", shelf=Ingredient.SOLVENT, volume=Entry(value=1e-6)),
        Portion(of="paste", mass=Entry(value=0.003)),
        Portion(of="tape", mass=Entry(value=0.001)),
        Portion(of="glue", shelf=Ingredient.SOLUTION, mass=Entry(value=0.01)),
    )
    view = mix_view(portions, (), SHELF)
    wet = 0.009 * 0.82
    assert [(q.name, q.substance, q.mass) for q in view.liquids] == [
        ("ethanol", "ethanol", pytest.approx(0.7 * wet + 0.0008)),
        ("water", "water", pytest.approx(0.1 * wet)),
        ("liquid of film (not named)", "", pytest.approx(0.2 * wet)),
        ("toluene", "toluene", pytest.approx(0.015)),
        ("glue", "", None),
    ]
    assert [(p.name, p.mass, p.recovered, p.water_soluble) for p in view.powders] == [
        ("paste", 0.003, True, 0.02), ("tape", 0.001, False, None),
    ]  # fmt: skip
    assert [(p.name, p.substance) for p in view.polymers] == [
        ("film", "PVB"), ("label", "polystyrene"), ("tape", "PTFE"), ("glue", ""),
    ]  # fmt: skip
    dry = view.bound()
    assert dry.liquids == ()
    assert dry.polymers == view.polymers
    assert dry.sheets == view.sheets
    assert dry.powders == tuple(replace(p, loose=False) for p in view.powders)


def test_a_lot_without_density_or_solids_leaves_the_amount_open() -> None:
    """No number is made up; a published density serves a pure solvent."""
    bare = Solution(name="bare", polymer="PVB", liquid=(Share(of="ethanol", fraction=1.0),))
    shelf = ShelfView.of((), (bare,), (SolventLot(name="e", substance="ethanol"),))
    by_volume = Portion(of="bare", shelf=Ingredient.SOLUTION, volume=Entry(value=1e-5))
    assert mix_view((by_volume,), (), shelf).liquids[0].mass is None
    by_mass = Portion(of="bare", shelf=Ingredient.SOLUTION, mass=Entry(value=0.01))
    assert mix_view((by_mass,), (), shelf).liquids[0].mass is None
    pure = Portion(of="e", shelf=Ingredient.SOLVENT, volume=Entry(value=1e-5))
    assert mix_view((pure,), (), shelf).liquids[0].mass == pytest.approx(0.00789, rel=2e-3)
    # the same liquid from two bottles, one of unknown amount: unknown
    assert mix_view((pure, by_mass), (), shelf).liquids[0].mass is None
    # a name nobody keeps is taken as its substance
    stray = Portion(of="acetone", shelf=Ingredient.SOLVENT, mass=Entry(value=0.002))
    assert mix_view((stray,), (), shelf).liquids == (
        OpenLiquid(name="acetone", substance="acetone", mass=0.002),
    )


def test_a_cell_with_all_of_its_records_and_with_none() -> None:
    """Area x thickness x 2700 kg/m3 of aluminium; salt and strength of its electrolyte."""
    cell = Cell(name="A", electrode="E", electrolyte="lye 4", aluminium_area=Entry(value=2e-3),
                corrosion=Entry(value=30.0))  # fmt: skip
    lye = Electrolyte(name="lye 4", salt="potassium hydroxide", mass_fraction=Entry(value=0.2))
    plan = cell_view(cell, lye, Aluminium(name="can", thickness=Entry(value=1e-4)))
    assert (plan.name, plan.salt, plan.mass_fraction) == ("A", "potassium hydroxide", 0.2)
    assert plan.aluminium_area == 2e-3
    assert plan.aluminium_mass == pytest.approx(2e-3 * 1e-4 * 2700.0, rel=2e-3)
    assert plan.corrosion == Span(low=30.0, high=30.0)
    bare = cell_view(Cell(name="B", electrode="E", electrolyte="brine"), None, None)
    assert (bare.salt, bare.mass_fraction, bare.aluminium_area, bare.aluminium_mass, bare.corrosion) == (
        "brine", None, None, None, None,
    )  # fmt: skip
    unthick = cell_view(cell, replace(lye, mass_fraction=None), Aluminium(name="can"))
    assert (unthick.aluminium_mass, unthick.mass_fraction) == (None, None)


def test_corrosion_from_a_scale_a_tube_and_a_record() -> None:
    """96 485 x 3/26.98 C/g: 10 mg in an hour on 10 cm2 is 29.8 A/m2, a step of a milligram 2.98 of it."""
    charge = 3 * 96485.33212 / 0.0269815  # C/kg
    found = corrosion_by_mass(1e-5, 3600.0, 1e-3, 1e-6)
    assert found.low == pytest.approx(charge * 0.9e-5 / 3600 / 1e-3, rel=1e-5)
    assert found.high == pytest.approx(charge * 1.1e-5 / 3600 / 1e-3, rel=1e-5)
    assert found.how == "mass lost"
    assert corrosion_by_mass(1e-6, 3600.0, 1e-3, 2e-6).low == 0.0
    assert corrosion_by_mass(1e-6, 3600.0, 1e-3, 1e-6).low == 0.0
    sharp = corrosion_by_mass(1e-5, 3600.0, 1e-3)
    assert sharp.low == sharp.high
    gas = corrosion_by_gas(4.564e-6, 3600.0, 1e-3)
    assert (gas.low, gas.high) == (pytest.approx(9.0, rel=1e-3), pytest.approx(11.0, rel=1e-3))
    assert gas.how == "gas caught"
    assert corrosion_on_file(None) is None
    assert corrosion_on_file(Entry(value=2.0, standard_uncertainty=1.5, published="sheet")) == Span(
        low=0.0, high=5.0, how="sheet"
    )


def test_each_pressing_is_a_heating_with_a_name_of_its_own() -> None:
    """By its means, its appliance, or its number from one; an extraction and its closed space kept."""
    piece = Electrode(
        name="E",
        press=(
            Press(plate_temperature=Entry(value=350.0)),
            Press(means="laundry iron"),
            Press(appliance=Appliance.HEAT_GUN, extraction=True, closed_volume=Entry(value=0.01)),
        ),
        retained_solvent=Entry(value=1e-4),
    )
    found = heatings_of(piece, ("ethanol",))
    assert [(h.name, h.appliance, h.plate_temperature, h.closed_volume, h.extraction) for h in found] == [
        ("press 1", "press", 350.0, None, False), ("laundry iron", "press", None, None, False),
        ("heat gun", "heat gun", None, 0.01, True),
    ]  # fmt: skip
    assert {h.retained_solvent for h in found} == {1e-4}
    assert {h.last_solvents for h in found} == {("ethanol",)}
    assert heatings_of(Electrode(name="E"), ()) == ()


@pytest.mark.parametrize(
    ("press", "told"),
    [
        (Press(force=Entry(value=2e3)), "NOTE"),
        (Press(torque=Entry(value=1.0)), "NOTE"),
        (Press(firmness=Firmness.FIRM, means="two boards, not heated"), "NOTE"),
        (Press(firmness=Firmness.FIRM, means="laundry iron"), "FIRST"),
        (Press(force=Entry(value=2e3), appliance=Appliance.PRESS), "FIRST"),
        (Press(force=Entry(value=2e3), appliance=Appliance.HOUSEHOLD_OVEN), "FIRST"),
        (Press(means="two boards"), "FIRST"),
    ],
)
def test_a_press_with_a_force_alone_is_cold(press: Press, told: str) -> None:
    """No plate temperature, nothing that heats: no gate of heat speaks; else how hot is missing."""
    piece = Electrode(name="E", press=(press,))
    sheet = caution_sheet(Situation(heatings=heatings_of(piece, ())))
    kept = [one for one in sheet.cautions if one.hazard == "heat"]
    assert [one.level.value for one in kept] == [told]
    cold = "cold, as no plate temperature is entered"
    assert (cold if told == "NOTE" else "how hot it got was not noted") in kept[0].headline


def test_a_cold_press_that_is_asked_about_with_a_plate_is_hot() -> None:
    """What is typed beside the record counts: then the gates of heat speak again."""
    cold = heatings_of(Electrode(name="E", press=(Press(force=Entry(value=2e3)),)), ())[0]
    assert cold.cold
    assert not typed_heating(cold, CautionQuestion(plate="90 degC")).cold
    assert not typed_heating(cold, CautionQuestion(appliance="heat gun")).cold


def test_the_last_two_weighings_count_with_the_coarser_scale() -> None:
    """Of three; resolution the coarser; a mesh as heavy as the piece leaves no coating."""
    three = (
        Weighing(mass=6e-3, resolution=1e-3),
        Weighing(mass=5e-3, after=60.0, resolution=1e-6),
        Weighing(mass=4.9e-3, after=700.0, resolution=2e-6),
    )
    kept = stored_weighings(Electrode(name="E", weighings=three, mesh_mass=Entry(value=4.9e-3)))
    assert kept is not None
    assert (kept.first, kept.second, kept.interval, kept.resolution) == (5e-3, 4.9e-3, 700.0, 2e-6)
    assert kept.coating is None
    assert kept.area is None
    two = Electrode(
        name="E", layers=(Layer(coats=(Coat(weighings=three[:2]), Coat(weighings=three[1:]))),)
    )
    again = stored_weighings(two)
    assert again is not None
    assert again.first == 5e-3


def test_what_a_class_is_refused_by_its_names() -> None:
    """Hot fluoropolymers only when something is heated; washed paste and bought powder are not refused."""

    def refused(**more: object) -> str:
        found = people_cautions(Situation(class_mode=True, **more))  # pyright: ignore[reportArgumentType]
        return found[0].headline if found else ""

    ptfe = (Polymer(name="t", substance="PTFE"),)
    assert refused(polymers=ptfe) == ""
    assert refused(polymers=ptfe, heatings=(Heating(name="p"),)) == "not for a class: hot PTFE"
    scrap = (Polymer(name="s", substance="mystery"),)
    assert refused(polymers=scrap, heatings=(Heating(name="p"),)) == (
        "not for a class: hot plastic of unknown kind"
    )
    washed = Powder(name="w", substance="EMD", recovered=True, water_soluble=0.01)
    bought = Powder(name="b", substance="EMD")
    assert refused(powders=(washed, bought)) == ""
    assert refused(powders=(replace(washed, water_soluble=None),)) == "not for a class: unwashed w"


def test_a_span_keeps_its_order() -> None:
    """Neither upside down nor below zero; a point is a span."""
    assert Span(low=0.0, high=0.0).how == ""
    for low, high in ((2.0, 1.0), (-1.0, 1.0)):
        with pytest.raises(ValueError, match="a span needs"):
            Span(low=low, high=high)


# -- a sheet in lines ----------------------------------------------------------------------------

STOP = Caution(
    key="k.stop", level=CautionLevel.STOP, hazard="fire", headline="it burns", finding=Finding.ABOVE,
    figure="5 %", limit="1 %", basis="sums", source=("A book [book]", "A page [page]", "A page, p. 2 [page]"),
    do="Stop it. Then leave.", missing=("the room", "the mass"), would_change="less of it", about=("X",),
)  # fmt: skip
FIRST = replace(STOP, key="k.first", level=CautionLevel.FIRST, unverified=True, missing=())
NOTE = replace(
    STOP,
    key="k.note",
    level=CautionLevel.NOTE,
    source=("plain words", "B [b]", "C [c]"),
    missing=(),
)


def said(caution: Caution, reason: str = "weighed it") -> Acknowledgement:
    """An acknowledgement of this caution as it stands."""
    return Acknowledgement(
        name=caution.key, caution=caution.key, about=caution.about, reason=reason, made="2026-05-02",
        level=caution.level, figure=caution.figure, limit=caution.limit,
    )  # fmt: skip


def sheet(
    *cautions: Caution, read: tuple[Caution, ...] = (), waiting: tuple[str, ...] = ()
) -> CautionSheet:
    """A sheet with some of them read."""
    return CautionSheet(
        headline="X: some.",
        about=("X",),
        cautions=cautions,
        acknowledged=tuple(map(said, read)),
        waiting=waiting,
    )


def text(page: CautionSheet, *, full: bool = False) -> str:
    """The lines of a sheet between its verdict and its standing text, as one text."""
    lines = sheet_lines(page, full=full)
    assert lines[0] == "X: some."
    assert all(len(line) <= 80 for line in lines)
    return " ".join(" ".join(lines[1:]).split()).removesuffix(page.standing_text).strip()


def test_a_stop_is_printed_whole() -> None:
    """Everything about it, its reason before what would change it, each source key once."""
    whole = (
        "STOP fire: it burns. 5 %. Limit: 1 %. Rests on: sums. Stop it. Then leave. Missing: the room; the "
        "mass. Changes with: less of it. [book, page]"
    )
    assert text(sheet(STOP)) == whole
    assert text(sheet(STOP, read=(STOP,))) == whole.replace(
        " Changes", " Acknowledged: weighed it. Changes"
    )


def test_a_first_and_a_note_are_printed_short_and_on_request_whole() -> None:
    """A FIRST with what to do and two sources, a NOTE with its first act; with `full` everything."""
    assert text(sheet(FIRST)) == (
        "FIRST fire: it burns (from memory). Stop it. Then leave. Changes with: less of it. [book, page]"
    )
    assert text(sheet(FIRST), full=True) == (
        "FIRST fire: it burns (from memory, check the safety data sheet). 5 %. Limit: 1 %. Rests on: sums. "
        "Stop it. Then leave. Changes with: less of it. [book, page]"
    )
    assert text(sheet(NOTE)) == (
        "NOTE fire: it burns. Stop it. Changes with: less of it. [plain words, b]"
    )
    assert text(sheet(NOTE), full=True).endswith("[plain words, b, c]")
    assert text(sheet(replace(NOTE, do="One act"))).startswith(
        "NOTE fire: it burns. One act Changes"
    )
    bare = replace(STOP, figure="", limit="", basis="")
    assert text(sheet(bare)).startswith("STOP fire: it burns. Stop it. Then leave. Missing")


def test_what_was_read_is_one_line_cut_to_the_width() -> None:
    """The level, the hazard, the headline and one source; an ellipsis where it would not fit."""
    assert text(sheet(FIRST, read=(FIRST,))) == "FIRST fire: it burns [book]"
    long = replace(FIRST, headline="x" * 100)
    (line,) = sheet_lines(sheet(long, read=(long,)))[1:2]
    assert len(line) == 80
    assert line.endswith("x… [book]")
    exact = replace(FIRST, headline="y" * (80 - len("FIRST fire:  [book]")))
    (line,) = sheet_lines(sheet(exact, read=(exact,)))[1:2]
    assert (len(line), "…" in line) == (80, False)
    assert "Rests on" in text(sheet(FIRST, read=(FIRST,)), full=True)
    assert "weighed it" not in text(sheet(FIRST, read=(FIRST,)), full=True)


def test_what_folds_and_what_waits() -> None:
    """FIRST and NOTE fold once read, as they stand now; a STOP waits under its key and is named."""
    page = sheet(STOP, FIRST, NOTE, read=(STOP, NOTE), waiting=())
    assert folded_keys(page) == ("k.note",)
    harder = replace(page, cautions=(STOP, FIRST, replace(NOTE, level=CautionLevel.FIRST)))
    assert folded_keys(harder) == ()
    require_acknowledged(page)
    waits = sheet(STOP, FIRST, waiting=("k.stop",))
    assert text(waits).endswith("--acknowledge KEY --reason TEXT. Keys: k.stop")
    with pytest.raises(StoppedError) as refusal:
        require_acknowledged(waits)
    assert refusal.value.what == "STOP fire: it burns"
    assert refusal.value.where == "X"
    assert 'aerode cautions "X" --acknowledge "k.stop" --reason "..."' in refusal.value.next_step
    with pytest.raises(StoppedError) as other:
        require_acknowledged(replace(waits, about=()), "aerode mix X")
    assert 'aerode mix X --acknowledge "k.stop"' in other.value.next_step
    with pytest.raises(StoppedError) as nameless:
        require_acknowledged(replace(waits, about=()))
    assert 'aerode cautions "ITEM"' in nameless.value.next_step


def test_a_sheet_of_figures_by_an_unnamed_source_is_marked_on_the_page() -> None:
    """From end to end: a limit of a sheet without a name can ask for a FIRST and says from memory."""
    pot = Situation(
        about=("pot",),
        liquids=(OpenLiquid(name="thinner", substance="", mass=0.01),),
        sheets=(SheetFigures(of="thinner", said="a sheet", named=False, day=1e-9),),
    )
    page = caution_sheet(pot)
    breathed = next(c for c in page.cautions if c.key == "vapour.breathed")
    assert (breathed.level, breathed.unverified) == (CautionLevel.FIRST, True)
    assert page.waiting == ()


def test_weighings_that_show_the_same_count_from_the_first_of_them() -> None:
    """Three times 12.43 g, 12 min apart: nothing changed for 24 min; a change counts from itself on."""

    def kept(*grams: float) -> Weighings | None:
        each = tuple(
            Weighing(mass=1e-3 * g, after=720.0 if n else None) for n, g in enumerate(grams)
        )
        return stored_weighings(Electrode(name="E", weighings=each))

    same, moved, last = (
        kept(12.43, 12.43, 12.43),
        kept(12.44, 12.43, 12.43),
        kept(12.43, 12.43, 12.42),
    )
    assert same is not None
    assert same.interval == 1440.0
    assert moved is not None
    assert (moved.interval, moved.first) == (720.0, 12.43e-3)
    assert last is not None
    assert (last.interval, last.first) == (720.0, 12.43e-3)
