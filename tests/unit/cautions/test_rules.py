"""One rule at a time: what it says, at what level, with what figure, and what it asks for."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.unit.cautions.asking import hazards, one

from aerode.cautions.engine import assess, headline_of
from aerode.cautions.limits import governing
from aerode.cautions.situation import (
    Air,
    CellPlan,
    Heating,
    LyeMakeUp,
    OpenLiquid,
    Polymer,
    Powder,
    Situation,
    Span,
    WeighLoss,
)
from aerode.records.cautions import Caution, CautionLevel, Finding
from aerode.reference import figures

HOUR = 3600.0
ZERO = 273.15
GARAGE = Air(name="garage", volume=40.0, airing="window ajar")


def test_the_refusal_a_hygienist_would_make() -> None:
    """Toluene, polystyrene, a hot closed oven, a closed room: refused with the reason and the figure."""
    situation = Situation(
        about=("sheet",),
        liquids=(OpenLiquid(name="toluene", substance="toluene", mass=0.2),),
        open_area=0.2,
        polymers=(Polymer(name="PS", substance="polystyrene"),),
        air=Air(volume=25.0, airing="closed room"),
        heatings=(
            Heating(
                name="oven",
                plate_temperature=ZERO + 100,
                appliance="oven",
                closed_volume=0.020,
                retained_solvent=0.003,
                last_solvents=("toluene",),
            ),
        ),
    )
    breath = one(situation, "vapour breathed")
    assert breath.level is CautionLevel.STOP
    assert "20 ppm" in breath.limit
    assert breath.finding is Finding.ABOVE
    flash = one(situation, "flash in the closed space")
    assert flash.level is CautionLevel.STOP
    assert "4.98 % by volume" in flash.figure
    assert "1 % at 25 °C" in flash.limit


def test_health_and_fire_limit_stand_side_by_side() -> None:
    """Every line on what is breathed says both."""
    ipa = Situation(
        liquids=(OpenLiquid(name="IPA", substance="IPA", mass=0.002),), open_area=0.01, air=GARAGE
    )
    line = one(ipa, "vapour breathed")
    assert "of the health limit" in line.figure
    assert "lower flammable limit, 2 %" in line.figure


def test_a_band_over_its_limit_cannot_tell_and_names_the_input() -> None:
    """A straddling band is a FIRST, and the room decides it: air changes first."""
    situation = Situation(
        liquids=(OpenLiquid(name="toluene", substance="toluene", mass=0.012),),
        open_area=0.05,
        air=Air(volume=40.0, airing="closed room"),
    )
    line = one(situation, "vapour breathed")
    assert line.level is CautionLevel.FIRST
    assert line.finding is Finding.STRADDLES
    assert line.missing
    assert "Fresh air for the room: " in line.do


def test_a_weigh_loss_is_named_where_it_would_decide() -> None:
    """With the room known and only the models apart, the scale is what is missing."""
    situation = Situation(
        liquids=(OpenLiquid(name="toluene", substance="toluene", mass=0.050),),
        open_area=0.02,
        air=Air(volume=60.0, air_changes=6.0 / HOUR),
    )
    line = one(situation, "vapour breathed")
    assert line.finding is Finding.STRADDLES
    assert "weigh-loss" in line.missing[0]


def test_a_slow_weigh_loss_settles_what_the_models_could_not() -> None:
    """The same liquid, seen to lose 5 mg in ten minutes, is below."""
    base = Situation(
        liquids=(OpenLiquid(name="toluene", substance="toluene", mass=0.050),),
        open_area=0.02,
        air=Air(volume=60.0, air_changes=6.0 / HOUR),
    )
    seen = replace(base, weigh_loss=WeighLoss(lost=5e-6, over=600.0, resolution=1e-6))
    line = one(seen, "vapour breathed")
    assert line.finding is Finding.BELOW
    assert "weigh-loss" in line.basis


def test_no_room_is_no_pass() -> None:
    """Without any room nothing is below its limit, and the room is what is missing."""
    line = one(
        Situation(
            liquids=(OpenLiquid(name="ethanol", substance="ethanol", mass=0.001),), open_area=0.001
        ),
        "vapour breathed",
    )
    assert line.level is CautionLevel.FIRST
    assert line.missing[0].startswith("the room")


def test_an_unknown_liquid_is_no_pass() -> None:
    """No limit on file is unresolved, never zero."""
    line = one(
        Situation(
            liquids=(OpenLiquid(name="thinner X", substance="thinner X", mass=0.01),), air=GARAGE
        ),
        "vapour breathed",
    )
    assert line.finding is Finding.NO_LIMIT
    assert line.level is CautionLevel.FIRST
    assert line.limit == "none on file"


def test_an_unknown_liquid_is_treated_as_one_that_burns() -> None:
    """Neither the tables nor a sheet speak of it: no flame near it, rags into a closed metal can."""
    pots = tuple(OpenLiquid(name="thinner X", substance="thinner X", mass=0.01) for _ in range(2))
    found = [
        c for c in assess(Situation(liquids=pots, air=GARAGE)) if c.hazard == "flammable liquid"
    ]

    assert [(c.key, c.level, c.finding) for c in found] == [
        ("vapour.liquid.thinner X", CautionLevel.FIRST, Finding.NO_FIGURE)
    ]
    assert found[0].headline == "thinner X: no fire figure on file, treat as flammable"
    assert "closed metal can" in found[0].do


def test_no_wet_rag_goes_without_a_word() -> None:
    """Of every organic liquid it is said where its rags and leftovers go; of one that burns not twice."""
    for name, burns in (("ethanol", True), ("toluene", True), ("limonene", True), ("NMP", False)):
        liquid = OpenLiquid(name=name, substance=name, mass=0.01)
        said = [
            c
            for c in assess(Situation(liquids=(liquid,), air=GARAGE))
            if "to the waste point" in c.do
        ]

        assert len(said) == 1, name
        assert "not the drain" in said[0].do
        assert (said[0].hazard == "flammable liquid") is burns
        assert said[0].level is not CautionLevel.STOP
    water = OpenLiquid(name="water", substance="water", mass=0.01)
    assert assess(Situation(liquids=(water,), air=GARAGE)) == ()


def test_leftovers_of_a_liquid_that_does_not_light_are_waste() -> None:
    """NMP flashes at some 90 degC: no line on fire, yet not down the drain."""
    nmp = OpenLiquid(name="NMP", substance="NMP", mass=0.01)
    (waste,) = [c for c in assess(Situation(liquids=(nmp, nmp), air=GARAGE)) if c.hazard == "waste"]

    assert (waste.key, waste.level) == ("waste.liquid.1-methyl-2-pyrrolidone", CautionLevel.NOTE)
    assert waste.headline.startswith("1-methyl-2-pyrrolidone: its leftovers and wet rags are waste")


def test_an_amount_nobody_knows_is_no_pass() -> None:
    """A liquid without a mass asks for it."""
    line = one(
        Situation(liquids=(OpenLiquid(name="ethanol", substance="ethanol"),), air=GARAGE),
        "vapour breathed",
    )
    assert line.missing == ("the amount of ethanol",)
    assert line.level is CautionLevel.FIRST


def test_a_limit_from_memory_tightens_and_never_stops() -> None:
    """MEK: 200 ppm was read, 75 is from memory; between them a FIRST marked as from memory."""
    limits = governing("2-butanone", "day")
    assert limits.published is not None
    assert limits.memory is not None
    assert limits.memory.value < limits.published.value
    cell = Air(volume=30.0, air_changes=4.0 / HOUR)

    def at(mass: float) -> Caution:
        loss = WeighLoss(lost=mass, over=8 * HOUR)
        liquid = OpenLiquid(name="MEK", substance="MEK", mass=mass)
        return one(Situation(liquids=(liquid,), weigh_loss=loss, air=cell), "vapour breathed")

    between = at(0.08)
    assert between.level is CautionLevel.FIRST
    assert between.unverified
    assert "75 ppm" in between.limit or "150 ppm" in between.limit
    far_above = at(3.0)
    assert far_above.level is CautionLevel.STOP
    assert not far_above.unverified
    assert "200 ppm" in far_above.limit or "300 ppm" in far_above.limit


def test_a_limit_on_what_a_soot_carries_is_not_a_limit_on_the_soot() -> None:
    """0.1 mg/m3 counts polycyclic aromatics, not carbon black; 3 mg/m3 (ACGIH) is the lowest on soot."""
    limit = governing("carbon black", "day").published
    assert limit is not None
    assert limit.value == pytest.approx(3e-6)


def test_two_solvents_add_up() -> None:
    """Each below its limit, together above: the sum is what is compared."""
    air = Air(volume=40.0, air_changes=10.0 / HOUR)

    def ratio(*names: str) -> float:
        mass = 0.06
        liquids = tuple(OpenLiquid(name=n, substance=n, mass=mass) for n in names)
        loss = WeighLoss(lost=mass * len(names), over=8 * HOUR)
        line = one(Situation(liquids=liquids, weigh_loss=loss, air=air), "vapour breathed")
        text = line.figure.split(" % of the health")[0].rsplit(" ", 1)[-1].removesuffix("%")
        return float(text.replace("%", ""))

    alone = ratio("acetone"), ratio("2-propanol")
    assert ratio("acetone", "2-propanol") == pytest.approx(sum(alone), rel=0.1)


@pytest.mark.parametrize(
    ("substance", "expected"),
    [
        ("toluene", CautionLevel.FIRST),
        ("acetone", CautionLevel.FIRST),
        ("2-butanone", CautionLevel.FIRST),
        ("limonene", CautionLevel.NOTE),
        ("NMP", None),
    ],
)
def test_the_air_over_a_jar(substance: str, expected: CautionLevel | None) -> None:
    """Inside or above the band: flames out first; below it but ignitable: a note; NMP: nothing cold."""
    found = [
        c
        for c in assess(
            Situation(liquids=(OpenLiquid(name="x", substance=substance, mass=0.001),), air=GARAGE)
        )
        if c.hazard == "flammable liquid"
    ]
    assert [c.level for c in found] == ([expected] if expected else [])


def test_limonene_rags_heat_themselves() -> None:
    """A can with water first."""
    line = one(
        Situation(
            liquids=(OpenLiquid(name="citrus", substance="limonene", mass=0.001),), air=GARAGE
        ),
        "self-heating rags",
    )
    assert line.level is CautionLevel.FIRST


def test_acrylonitrile_is_refused_and_no_cartridge_helps() -> None:
    """A carcinogen: not at home."""
    line = one(
        Situation(
            liquids=(OpenLiquid(name="AN", substance="acrylonitrile", mass=0.001),), air=GARAGE
        ),
        "cancer",
    )
    assert line.level is CautionLevel.STOP
    assert "cartridge does not hold it" in line.do


def test_water_alone_is_silent() -> None:
    """No line at all, and the headline is no clearance."""
    situation = Situation(
        about=("rinse",), liquids=(OpenLiquid(name="w", substance="water", mass=1.0),), air=GARAGE
    )
    assert assess(situation) == ()
    assert "no clearance" in headline_of((), ("rinse",))


def test_manganese_and_aluminium_powder_never_meet() -> None:
    """Oxidiser and metal fuel: refused."""
    situation = Situation(
        powders=(
            Powder(name="MnO2", substance="EMD", mass=0.002),
            Powder(name="Al", substance="aluminium", mass=0.001),
        ),
        air=GARAGE,
    )
    assert one(situation, "oxidiser and fuel").level is CautionLevel.STOP


def test_manganese_counts_by_its_own_mass() -> None:
    """The dust line of manganese dioxide rests on the lowest manganese limit and is a FIRST."""
    line = one(
        Situation(powders=(Powder(name="MnO2", substance="EMD", mass=0.005),), air=GARAGE), "dust"
    )
    assert line.level is CautionLevel.FIRST
    assert "0.02 mg/m³" in line.limit
    assert "nervous system" in line.headline


def test_washed_paste_with_lye_is_a_first_with_a_figure() -> None:
    """0.1 % of salt left in 5 g, in 50 m3: below, all the same a FIRST from memory."""
    lye = CellPlan(name="c", salt="KOH", aluminium_area=0.001)
    paste = Powder(
        name="paste", substance="manganese dioxide", mass=0.005, recovered=True, water_soluble=0.001
    )
    line = one(
        Situation(powders=(paste,), cells=(lye,), air=Air(volume=50.0, air_changes=2 / HOUR)),
        "ammonia",
    )
    assert line.level is CautionLevel.FIRST
    assert line.finding is Finding.BELOW
    assert line.unverified


def test_sal_ammoniac_with_lye_is_refused() -> None:
    """The salt itself needs no measurement."""
    situation = Situation(
        powders=(Powder(name="sal", substance="NH4Cl", mass=0.01),),
        make_ups=(LyeMakeUp(salt="NaOH", solute=0.04, water=0.16),),
        air=GARAGE,
    )
    assert one(situation, "ammonia").level is CautionLevel.STOP


def test_making_up_lye_has_its_own_line() -> None:
    """Goggles, and the heat of dissolving (or that it is not on file)."""
    situation = Situation(make_ups=(LyeMakeUp(salt="KOH", solute=0.3, water=0.7),), air=GARAGE)
    line = one(situation, "lye make-up")
    assert line.level is CautionLevel.FIRST
    # 0.3 kg / 56.1 g/mol x 57.8 kJ/mol in 1 kg of water's specific heat: 74 K, by hand
    assert line.figure == "94 °C"
    strong = Situation(make_ups=(LyeMakeUp(salt="NaOH", solute=0.4, water=0.6),), air=GARAGE)
    assert "can boil" in one(strong, "lye make-up").headline
    assert "goggles" in one(situation, "lye").do
    assert "no vinegar" in one(situation, "lye").do


def test_pvdf_and_lye() -> None:
    """A binder that lye attacks asks for its resistance sheet."""
    situation = Situation(
        polymers=(Polymer(name="PVDF", substance="PVDF"),),
        cells=(CellPlan(name="c", salt="KOH", aluminium_area=0.001),),
        air=GARAGE,
    )
    assert one(situation, "lye on a polymer").level is CautionLevel.FIRST


def test_measured_hydrogen_over_the_fresh_air_is_stopped() -> None:
    """A measured current of 60 A of gas in a closed cupboard: above, and published limits carry it."""
    cell = CellPlan(
        name="big", salt="KOH", aluminium_area=0.1, corrosion=Span(low=500.0, high=600.0, how="gas"),
        in_series=12, fused=True,
    )  # fmt: skip
    situation = Situation(cells=(cell,), air=Air(volume=2.0, air_changes=0.5 / HOUR))
    line = one(situation, "hydrogen")
    assert line.level is CautionLevel.STOP
    assert not line.unverified
    assumed = replace(cell, corrosion=None)
    assert one(replace(situation, cells=(assumed,)), "hydrogen").level is CautionLevel.FIRST


def test_a_box_tells_how_soon_it_fills() -> None:
    """Cells in a 2 L box: the time and the openings."""
    cell = CellPlan(name="b", salt="NaCl", aluminium_area=0.004, enclosure=0.002)
    line = one(Situation(cells=(cell,), air=GARAGE), "hydrogen in the box")
    assert line.level is CautionLevel.FIRST
    assert "opening" in line.do


def test_a_capped_cell_without_figures_is_stopped_all_the_same() -> None:
    """Unknown aluminium and gas space are named, and it stays a STOP."""
    line = one(
        Situation(
            cells=(CellPlan(name="c", salt="NaCl", aluminium_area=0.001, capped=True),), air=GARAGE
        ),
        "closed container",
    )
    assert line.level is CautionLevel.STOP
    assert len(line.missing) == 2


def test_charging_a_brine_cell_is_stopped() -> None:
    """Chlorine."""
    cell = CellPlan(name="c", salt="sea salt", aluminium_area=0.001, charger=True)
    assert one(Situation(cells=(cell,), air=GARAGE), "chlorine").level is CautionLevel.STOP


@pytest.mark.parametrize(
    ("cells", "voltage", "expected"),
    [
        (10, Span(low=1.6, high=1.8), None),
        (20, Span(low=1.6, high=1.8), "FIRST"),
        (40, Span(low=1.6, high=1.8), "STOP"),
        (10, None, None),
        (20, None, "FIRST"),
        (40, None, "FIRST"),
    ],
)
def test_touch_voltage(cells: int, voltage: Span | None, expected: str | None) -> None:
    """30 V and 60 V by measured open-circuit voltages; without one it can ask but not stop."""
    plan = CellPlan(
        name="s", salt="NaCl", aluminium_area=0.001, in_series=cells, open_circuit_voltage=voltage,
        fused=True,
    )  # fmt: skip
    found = [
        c.level.value
        for c in assess(Situation(cells=(plan,), air=GARAGE))
        if c.hazard == "touch voltage"
    ]
    assert found == ([expected] if expected else [])


def test_a_row_more_on_file_leaves_the_highest_voltage(monkeypatch: pytest.MonkeyPatch) -> None:
    """Invented couples in alkali, one higher and one lower than all, do not move the bound of a cell."""
    plan = CellPlan(name="s", salt="NaCl", aluminium_area=0.001, in_series=12, fused=True)
    situation = Situation(cells=(plan,), air=GARAGE)
    before = one(situation, "touch voltage")
    index = dict(figures._index())  # pyright: ignore[reportPrivateUsage]
    for name, value in (("oxygen", 9.0), ("aluminium", -9.0)):
        rows = index[(name, "standard_potential")]
        couple = "couple=X + e = Y + 2 OH-"
        invented = replace(rows[0], condition=couple, value=value)
        index[(name, "standard_potential")] = (invented, *rows, invented)
    monkeypatch.setattr(figures, "_index", lambda: index)
    assert max(r.value or 0.0 for r in figures.select("oxygen", "standard_potential")) == 9.0
    assert one(situation, "touch voltage") == before
    assert "32" in before.figure  # 12 x (0.401 + 2.328) V = 32.7 V


def test_strings_in_parallel_want_their_fuses_first() -> None:
    """Two strings without fuses: FIRST; with fuses: silent."""
    plan = CellPlan(name="s", salt="NaCl", aluminium_area=0.001, in_series=2, strings=2)
    assert one(Situation(cells=(plan,), air=GARAGE), "stack current").level is CautionLevel.FIRST
    fused = replace(plan, fused=True)
    assert "stack current" not in hazards(Situation(cells=(fused,), air=GARAGE))


def test_pregnancy_turns_the_note_into_a_stop() -> None:
    """NMP and toluene carry it, ethanol does not; lead in recovered powder does."""
    nmp = OpenLiquid(name="NMP", substance="NMP", mass=0.001)
    base = Situation(liquids=(nmp,), open_area=0.001, air=GARAGE)
    assert one(base, "unborn child").level is CautionLevel.NOTE
    assert one(replace(base, pregnancy=True), "unborn child").level is CautionLevel.STOP
    paste = Powder(name="paste", substance="manganese dioxide", mass=0.001, recovered=True)
    mother = Situation(powders=(paste,), air=GARAGE, pregnancy=True)
    assert one(mother, "recovered powder").level is CautionLevel.STOP


@pytest.mark.parametrize(
    "extra",
    [
        {"liquids": (OpenLiquid(name="x", substance="xylene", mass=0.001),)},
        {"cells": (CellPlan(name="c", salt="NaOH", aluminium_area=0.001),)},
        {
            "polymers": (Polymer(name="t", substance="PTFE"),),
            "heatings": (Heating(name="p", plate_temperature=ZERO + 200),),
        },
        {
            "polymers": (Polymer(name="scrap", substance=""),),
            "heatings": (Heating(name="p", plate_temperature=ZERO + 60),),
        },
    ],
)
def test_a_class_is_refused_the_worst(extra: dict[str, object]) -> None:
    """Aromatics, lye, hot fluoropolymers, hot unknown plastic."""
    situation = Situation(air=GARAGE, children=True, class_mode=True, **extra)  # type: ignore[arg-type]
    assert one(situation, "class").level is CautionLevel.STOP


def test_a_class_may_work_with_brine_and_ethanol() -> None:
    """Nothing is refused there."""
    situation = Situation(
        liquids=(OpenLiquid(name="ethanol", substance="ethanol", mass=0.002),),
        open_area=0.002,
        cells=(CellPlan(name="c", salt="NaCl", aluminium_area=0.001),),
        air=Air(volume=180.0, air_changes=3 / HOUR),
        children=True,
        class_mode=True,
    )
    assert "class" not in hazards(situation)


def test_children_leave_before_it_is_opened() -> None:
    """With children but no class, open solvents ask them out first."""
    situation = Situation(
        liquids=(OpenLiquid(name="ethanol", substance="ethanol", mass=0.002),), open_area=0.002,
        air=GARAGE, children=True,
    )  # fmt: skip
    assert one(situation, "children").level is CautionLevel.FIRST
