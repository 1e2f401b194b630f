"""Rules of plates, presses and ovens, one at a time: level, figure, and what is asked for."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.unit.cautions.asking import hazards, one

from aerode.cautions.engine import assess, caution_sheet
from aerode.cautions.situation import (
    Air,
    Heating,
    Polymer,
    Situation,
    Weighings,
)
from aerode.records.cautions import CautionLevel

ZERO = 273.15
HOUR = 3600.0
GARAGE = Air(name="garage", volume=40.0, airing="window ajar")


def press(celsius: float, **how: object) -> Heating:
    """Plates at a temperature."""
    return Heating(name="plates", plate_temperature=ZERO + celsius, **how)  # type: ignore[arg-type]


def under(polymer: str, celsius: float, **how: object) -> Situation:
    """One polymer under plates."""
    return Situation(
        polymers=(Polymer(name=polymer, substance=polymer),),
        air=GARAGE,
        heatings=(press(celsius, **how),),
    )


@pytest.mark.parametrize(
    ("polymer", "celsius", "expected"),
    [
        ("polystyrene", 90, "NOTE"),
        ("polystyrene", 205, "FIRST"),
        ("polystyrene", 275, "STOP"),
        ("PVC", 140, "NOTE"),
        ("PVC", 150, "STOP"),
        ("PTFE", 290, "NOTE"),
        ("PTFE", 310, "FIRST"),
        ("PTFE", 331, "STOP"),
        ("ABS", 70, "NOTE"),
        ("ABS", 110, "FIRST"),
        ("ABS", 245, "STOP"),
        ("PVDF", 110, "FIRST"),
        ("PVDF", 180, "STOP"),
        ("PVB", 100, "FIRST"),
        ("PVB", 130, "STOP"),
        ("beeswax", 80, "FIRST"),
        ("nothing anybody knows", 60, "STOP"),
        ("", 60, "STOP"),
    ],
)
def test_polymers_under_heat(polymer: str, celsius: float, expected: str) -> None:
    """Published lines decide; without one 120 degC is the end; an unknown plastic is not heated."""
    assert one(under(polymer, celsius), "polymer heat").level.value == expected


def test_a_cold_press_heats_nothing() -> None:
    """Plates at room temperature ask for nothing, whatever the plastic."""
    assert assess(under("", 22.0)) == ()


def test_extraction_turns_a_stop_of_a_known_polymer_into_a_first() -> None:
    """PTFE with extraction to the outside: FIRST; the figure stays."""
    line = one(under("PTFE", 340.0, extraction=True), "polymer heat")
    assert line.level is CautionLevel.FIRST
    assert "330 °C" in line.limit


def test_a_data_sheet_opens_a_polymer_without_figure() -> None:
    """PVB at 130 degC with a sheet that allows 150: a note that cites the sheet."""
    with_sheet = replace(
        under("PVB", 130.0),
        polymers=(
            Polymer(name="PVB", substance="PVB", sheet_limit=ZERO + 150, sheet="maker 2024"),
        ),
    )
    line = one(with_sheet, "polymer heat")
    assert line.level is CautionLevel.NOTE
    assert any("maker 2024" in s for s in line.source)


def test_a_data_sheet_never_loosens_a_published_line() -> None:
    """PVC at 160 degC stays a STOP, whatever the sheet says."""
    hot = replace(
        under("PVC", 160.0),
        polymers=(Polymer(name="PVC", substance="PVC", sheet_limit=ZERO + 200, sheet="x"),),
    )
    assert one(hot, "polymer heat").level is CautionLevel.STOP


def test_a_bought_electrode_is_not_heated() -> None:
    """A layer whose recipe is not known counts as unknown plastic."""
    situation = Situation(recipe_known=False, air=GARAGE, heatings=(press(80.0),))
    assert one(situation, "polymer heat").level is CautionLevel.STOP


def wet(celsius: float, weighings: Weighings | None = None, **how: object) -> Situation:
    """A coat that was wet with ethanol."""
    return Situation(
        air=GARAGE,
        heatings=(press(celsius, last_solvents=("ethanol",), weighings=weighings, **how),),
    )


def test_a_coat_still_losing_weight_is_stopped() -> None:
    """50 mg in fifteen minutes on 2 g of coating."""
    seen = Weighings(first=5.00e-3, second=4.95e-3, interval=900.0, coating=2e-3, resolution=1e-5)
    assert one(wet(85.0, seen), "dry enough").level is CautionLevel.STOP


def test_a_coarse_scale_cannot_tell_and_says_which_scale_could() -> None:
    """A kitchen scale of 1 g says nothing of a 2 g coating."""
    seen = Weighings(first=5.0e-3, second=5.0e-3, interval=900.0, coating=2e-3, resolution=1e-3)
    line = one(wet(85.0, seen), "dry enough")
    assert line.level is CautionLevel.FIRST
    assert "scale" in line.missing[0]


def test_a_closed_oven_without_the_retained_mass_cannot_tell() -> None:
    """The solvent still in the coat is what is missing, unless it was weighed dry."""
    closed = wet(85.0, closed_volume=0.02)
    assert one(closed, "flash in the closed space").missing == ("the solvent still in the coat",)
    dry = Weighings(first=5e-3, second=5e-3, interval=900.0, coating=2e-3, resolution=1e-5)
    assert "flash in the closed space" not in hazards(wet(85.0, dry, closed_volume=0.02))


@pytest.mark.parametrize(("retained", "expected"), [(1e-5, None), (1e-4, "FIRST"), (1e-3, "STOP")])
def test_the_vapour_budget_of_a_closed_space(retained: float, expected: str | None) -> None:
    """Ethanol in 20 L at 85 degC: below a tenth of the limit, below a quarter, above."""
    found = [
        c.level.value
        for c in assess(wet(85.0, closed_volume=0.02, retained_solvent=retained))
        if c.hazard == "flash in the closed space"
    ]
    assert found == ([expected] if expected else [])


def test_a_plate_without_a_temperature_is_no_pass() -> None:
    """The plate temperature is asked for."""
    situation = Situation(air=GARAGE, heatings=(Heating(name="iron", last_solvents=("ethanol",)),))
    assert one(situation, "heat").missing == ("the plate temperature",)


@pytest.mark.parametrize(("celsius", "told"), [(44.0, False), (45.0, True), (100.0, True)])
def test_hot_plates_burn_the_hand(celsius: float, told: bool) -> None:
    """From 45 degC on, a judgement: gloves and a place for it before it is switched on, nobody leaves it hot."""
    cautions = assess(Situation(air=GARAGE, heatings=(press(celsius),)))
    found = [c for c in cautions if c.hazard == "burnt hands"]

    assert bool(found) is told
    if found:
        assert (found[0].key, found[0].level) == ("heat.touch.plates", CautionLevel.NOTE)
        assert found[0].headline.startswith(
            f"plates: plates of {celsius:.0f} °C burn skin at a touch"
        )
        assert found[0].figure == f"{celsius:.0f} °C"
        assert found[0].do.startswith("Heat gloves for both hands")
        assert "before it reads below 45 °C" in found[0].do


def test_plates_of_an_unknown_heat_burn_too_and_those_of_a_press_that_is_over_do_not() -> None:
    """Nobody said how hot: hot. Done: nothing is left to be touched."""
    unknown = one(Situation(heatings=(Heating(name="iron"),)), "burnt hands")

    assert unknown.headline.startswith("iron: hot plates burn skin at a touch")
    assert "burnt hands" not in hazards(Situation(heatings=(press(100.0, done=True),)))


def test_the_headline_counts_and_fits() -> None:
    """At most 100 characters, the hardest named."""
    situation = under("PTFE", 340.0)
    sheet = caution_sheet(replace(situation, about=("a very long name of a mix " * 5,)))
    assert len(sheet.headline) <= 100
    assert "1 STOP" in caution_sheet(replace(situation, about=("P4",))).headline
