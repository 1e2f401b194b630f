"""Lines on lye, liquids, powders and people, worked out by hand from handbook numbers beside them.

Heat of solution NaOH 44.3 and KOH 57.8 kJ/mol, water 4.184 kJ/(kg K), ppm of ammonia x 17.03/24.45 mg/m3.
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest

from aerode.cautions.engine import assess
from aerode.cautions.situation import (
    Air,
    Heating,
    LyeMakeUp,
    OpenLiquid,
    Polymer,
    Powder,
    SheetFigures,
    Situation,
)

_spec = importlib.util.spec_from_file_location(
    "worked_line", Path(__file__).with_name("worked_line.py")
)
assert _spec is not None
assert _spec.loader is not None
_shared = importlib.util.module_from_spec(_spec)
sys.modules["worked_line"] = _shared
_spec.loader.exec_module(_shared)
Line, cell, heated, check = _shared.Line, _shared.cell, _shared.heated, _shared.check
ZERO = 273.15
HOUR = 3600.0
CLOSED = Air(name="closet", volume=40.0, airing="closed room")
FRESH = Air(name="shop", volume=50.0, air_changes=2 / HOUR)
YARD = Air(name="yard", airing="open air")
BRINE = "sodium chloride"
LYE = "potassium hydroxide"
WANTS = "1 % by volume, 25 % of 4 %"
DRY_RULE = "1 % of the coating or 0.5 mg/cm² in 10 min"


LYES = {
    # 50 g / 40.00 g/mol x 44.3 kJ = 55.4 kJ over 250 g x 4.184 J/(g K) = 52.9 K above 20 degC
    "50 g NaOH in 200 g": Line(
        situation=Situation(make_ups=(LyeMakeUp(salt="NaOH", solute=0.05, water=0.2),)),
        key="lye.make-up.sodium hydroxide", level="FIRST", finding="below",
        headline="20 % sodium hydroxide made up at once could reach 73 °C", figure="73 °C",
        limit="100 °C, where water boils", sources=("crc_ion_thermo",),
        words=("Ice-cold water", "no heat lost", "weaker lye"),
    ),
    # 100 g / 56.11 x 57.8 kJ = 103.0 kJ over 200 g x 4.184 = 123.1 K
    "100 g KOH in 100 g": Line(
        situation=Situation(make_ups=(LyeMakeUp(salt="KOH", solute=0.1, water=0.1),)),
        key="lye.make-up.potassium hydroxide", level="FIRST", finding="above",
        headline="50 % potassium hydroxide made up at once could reach 143 °C: it can boil and spit",
        figure="143 °C", limit="100 °C, where water boils", sources=("crc_ion_thermo",),
    ),
    "burns": Line(
        situation=Situation(make_ups=(LyeMakeUp(salt="KOH", solute=0.1, water=0.1),)), key="lye.burns", level="FIRST",
        headline="potassium hydroxide: burns skin and blinds; the pain comes late",
        sources=("common_practice", "derived_here"),
        words=("goggles and a face shield", "15.4 kJ per gram", "brine instead of lye"),
    ),
    "waste": Line(
        situation=Situation(make_ups=(LyeMakeUp(salt="KOH", solute=0.1, water=0.1),)), key="waste.lye", level="NOTE",
        headline="spent lye and its sludge: corrosive waste from pH 12.5, and still gassing", limit="pH 12.5",
        sources=("cfr_40_261",), words=("loose lid", "brine instead of lye"),
    ),
    # 5 g x 0.1 % x 17.03/53.49 = 1.59 mg in 40 m3 = 0.0398 mg/m3 over 35 x 17.03/24.45 = 24.4 mg/m3
    "washed paste": Line(
        situation=Situation(
            air=CLOSED,
            powders=(Powder(name="paste", substance="manganese dioxide", mass=0.005, recovered=True,
                            water_soluble=0.001, loose=False),),
            cells=(cell(salt=LYE),),
        ),
        key="powder.ammonia", level="FIRST", finding="below",
        headline="washed powder with lye: what salt is left still makes ammonia",
        figure="0 to 0.16 % of the limit if all of it were ammonium chloride",
        limit="35 ppm over 15 min, NIOSH REL", unverified=True, sources=("ammonium_pages", "niosh_idlh"),
        words=("outdoors or under extraction", "one more wash, a larger room"),
    ),
    # without the mass, or without a room, there is no upper end
    "washed paste, mass not known": Line(
        situation=Situation(
            air=CLOSED,
            powders=(Powder(name="paste", substance="manganese dioxide", recovered=True, water_soluble=0.001,
                            loose=False),),
            cells=(cell(salt=LYE),),
        ),
        key="powder.ammonia", level="FIRST", finding="cannot tell",
        headline="washed powder with lye: what salt is left still makes ammonia",
        figure="an unknown share of the limit if all of it were ammonium chloride",
        limit="35 ppm over 15 min, NIOSH REL", unverified=True, sources=("ammonium_pages", "niosh_idlh"),
        missing=("the mass of the powder, its wash, and the volume of the room",),
    ),
    "washed paste, no room": Line(
        situation=Situation(
            powders=(Powder(name="paste", substance="manganese dioxide", mass=0.005, recovered=True,
                            water_soluble=0.001, loose=False),),
            cells=(cell(salt=LYE),),
        ),
        key="powder.ammonia", level="FIRST", finding="cannot tell",
        headline="washed powder with lye: what salt is left still makes ammonia",
        figure="an unknown share of the limit if all of it were ammonium chloride",
        limit="35 ppm over 15 min, NIOSH REL", unverified=True, sources=("ammonium_pages", "niosh_idlh"),
        missing=("the mass of the powder, its wash, and the volume of the room",),
    ),
    "sal ammoniac": Line(
        situation=Situation(
            powders=(Powder(name="salmiak", substance="ammonium chloride", mass=0.005, loose=False),),
            cells=(cell(salt=LYE),),
        ),
        key="powder.ammonia", level="STOP", headline="salmiak with lye: sets ammonia free",
        limit="35 ppm over 15 min, NIOSH REL", sources=("ammonium_pages",), words=("Keep it away from lye",),
    ),
    "unwashed paste": Line(
        situation=Situation(
            powders=(Powder(name="paste", substance="manganese dioxide", mass=0.005, recovered=True),),
            cells=(cell(salt=LYE),),
        ),
        key="powder.ammonia", level="STOP", finding="no figure on file",
        headline="paste with lye: sets ammonia free", figure="ammonium salt in it not measured",
        limit="35 ppm over 15 min, NIOSH REL", missing=("its water-soluble part after washing",),
        sources=("ammonium_pages",), words=("Wash it first",),
    ),
}  # fmt: skip


def poured(
    substance: str, *, kelvin: float = 298.15, sheet: SheetFigures | None = None
) -> Situation:
    """5 g of a liquid in the open."""
    return Situation(
        air=Air(volume=50.0, air_changes=2 / HOUR, temperature=kelvin),
        liquids=(OpenLiquid(name="pot", substance=substance, mass=0.005),),
        sheets=(sheet,) if sheet else (),
    )


def flash(celsius: float | None) -> SheetFigures:
    """The sheet of a thinner nobody has named."""
    return SheetFigures(
        of="pot",
        said="sheet of pot, 2024",
        flash=None if celsius is None else ZERO + celsius,
        day=1e-3,
    )


LIQUIDS = {
    # 7.88 kPa of 101.3 kPa is 7.8 %
    "ethanol": Line(
        situation=poured("ethanol"), key="vapour.liquid.ethanol", level="FIRST", finding="above",
        headline="ethanol: the air over the jar is inside the flammable band", figure="7.8 % over the liquid",
        limit="3.1 % to 19 %", sources=("iec_60079_20_1", "nfpa_497"), words=("flame and spark", "another solvent"),
    ),
    "limonene": Line(
        situation=poured("limonene"), key="vapour.liquid.limonene", level="NOTE", finding="below",
        headline="limonene: burns once warmed past 43 °C", figure="0.27 % over the liquid", limit="0.7 %",
        sources=("nfpa_497", "iec_60079_20_1"),
    ),
    # 10^(9.09789 - 1458.706/(308.15 - 61.109)) = 1560 Pa, a tenth more below 313 K: 1.7 %
    "o-xylene in a hot room": Line(
        situation=poured("o-xylene", kelvin=ZERO + 35), key="vapour.liquid.o-xylene", level="FIRST",
        finding="above", headline="o-xylene: the air over the jar is inside the flammable band",
        figure="1.7 % over the liquid", limit="1 % to 7.6 %", sources=("iec_60079_20_1",),
    ),
    "a thinner by its sheet": Line(
        situation=poured("", sheet=flash(-5.0)), key="vapour.liquid.pot", level="FIRST", finding="above",
        headline="pot: flashes at -5 °C, data sheet, which this room has", figure="25 °C in the room",
        limit="-5 °C, data sheet", sources=("sheet of pot, 2024",), words=("closed metal can",),
    ),
    "a slow thinner by its sheet": Line(
        situation=poured("", sheet=flash(40.0)), key="vapour.liquid.pot", level="NOTE", finding="below",
        headline="pot: flashes at 40 °C, data sheet", figure="25 °C in the room", limit="40 °C, data sheet",
        sources=("sheet of pot, 2024",),
    ),
    "a slow thinner in a room as warm": Line(
        situation=poured("", sheet=flash(40.0), kelvin=ZERO + 40.0), key="vapour.liquid.pot", level="FIRST",
        finding="above", headline="pot: flashes at 40 °C, data sheet, which this room has",
        figure="40 °C in the room", limit="40 °C, data sheet", sources=("sheet of pot, 2024",),
    ),
    "a thinner whose sheet is silent on fire": Line(
        situation=poured("", sheet=flash(None)), key="vapour.liquid.pot", level="FIRST",
        finding="no figure on file", headline="pot: no fire figure on file, treat as flammable",
        limit="none on file", missing=("its flash point",), sources=("common_practice",),
    ),
}  # fmt: skip

MN = Powder(name="mn", substance="manganese dioxide", mass=0.002)
SOOT = Powder(name="c", substance="carbon black", mass=0.001)
PASTE = Powder(name="paste", substance="EMD", mass=0.003, recovered=True)
WASHED = Powder(name="paste", substance="EMD", mass=0.003, recovered=True, water_soluble=0.012)
CARRIES = "the paste carries NH4Cl, ZnCl2 and traces of lead; older cells held mercury"
VIOLENT = (
    "reacts violently with combustible and reducing materials; reacts with aluminium on heating"
)
MN_LIMIT = "0.02 mg/m³ over 8 h, ACGIH TLV respirable (as Mn, respirable)"


def handled(*powders: Powder, **more: object) -> Situation:
    """Powders in the shop."""
    return Situation(powders=powders, **{"air": FRESH, **more})  # pyright: ignore[reportArgumentType]


POWDERS = {
    # 63.2 % of 3 g is manganese: 1.896 g x (1e-5 to 1e-2) / (0.02 mg/m3 x 800 m3) = 0.12 to 120 %
    "paste, dust": Line(
        situation=handled(PASTE), key="powder.dust", level="FIRST", finding="cannot tell",
        headline="paste: dry dust comes to 0.12 to 120 % of the advised limit of 0.02 mg/m³ over 8 h (ACGIH TLV "
        "respirable); harm to the nervous system adds up over time", figure="0.12 to 120 % of the limit over a day", limit=MN_LIMIT, unverified=True,
        missing=("how much dust is raised (nobody knows; keep it wet)",), sources=("osha_sampling", "osha_sampling"),
        words=("Wet it in the jar", "(from memory), diluted in the room", "a wet paste instead"),
    ),
    # 1 g x (1e-5 to 1e-2) / (3 mg/m3 x 800 m3) = 0.00042 to 0.42 %
    "soot with children": Line(
        situation=handled(SOOT, children=True), key="powder.dust", level="FIRST", finding="below",
        headline="c: dry dust comes to 0.00042 to 0.42 % of the advised limit of 3 mg/m³ over 8 h (ACGIH TLV inhalable)",
        figure="0.00042 to 0.42 % of the limit over a day", limit="3 mg/m³ over 8 h, ACGIH TLV inhalable (inhalable)",
        unverified=True, sources=("inrs_ft264",),
    ),
    "soot in a class": Line(
        situation=handled(SOOT, class_mode=True), key="powder.dust", level="FIRST", finding="below",
        headline="c: dry dust comes to 0.00042 to 0.42 % of the advised limit of 3 mg/m³ over 8 h (ACGIH TLV inhalable)",
        figure="0.00042 to 0.42 % of the limit over a day", limit="3 mg/m³ over 8 h, ACGIH TLV inhalable (inhalable)",
        unverified=True, sources=("inrs_ft264",),
    ),
    "soot alone": Line(
        situation=handled(SOOT), key="powder.dust", level="NOTE", finding="below",
        headline="c: dry dust comes to 0.00042 to 0.42 % of the advised limit of 3 mg/m³ over 8 h (ACGIH TLV inhalable)",
        figure="0.00042 to 0.42 % of the limit over a day", limit="3 mg/m³ over 8 h, ACGIH TLV inhalable (inhalable)",
        unverified=True, sources=("inrs_ft264",),
    ),
    "dust of an unknown mass": Line(
        situation=handled(Powder(name="c", substance="carbon black"), MN), key="powder.dust", level="FIRST",
        finding="no figure on file", headline="c, mn: dust; harm to the nervous system adds up over time",
        figure="not worked out", missing=("the mass of c",), unverified=True,
        sources=("common_practice", "osha_sampling"),
    ),
    "dust in a room nobody described": Line(
        situation=handled(SOOT, air=None), key="powder.dust", level="FIRST", finding="no figure on file",
        headline="c: dust", figure="not worked out", missing=("the room: its volume and its air changes",),
        unverified=True, sources=("common_practice",),
    ),
    "manganese in the open air": Line(
        situation=handled(MN, air=YARD), key="powder.dust", level="FIRST",
        headline="mn: dust; harm to the nervous system adds up over time", figure="not worked out",
        unverified=True, sources=("common_practice", "osha_sampling"),
    ),
    "unwashed": Line(
        situation=handled(PASTE), key="powder.recovered", level="FIRST", finding="no figure on file",
        headline=f"paste: {CARRIES}", figure="what it carries was not measured",
        missing=("its water-soluble part, and the pH of its wash water",), sources=("dry_cell_paste",),
        words=("Wash it until the water is neutral", "not down the drain", "bought powder"),
    ),
    "washed": Line(
        situation=handled(WASHED), key="powder.recovered", level="NOTE",
        headline=f"paste (1.2 % water-soluble): {CARRIES}", sources=("dry_cell_paste",),
    ),
    "one of two washed": Line(
        situation=handled(WASHED, Powder(name="black", substance="EMD", mass=0.001, recovered=True)),
        key="powder.recovered", level="FIRST", finding="no figure on file",
        headline=f"paste (1.2 % water-soluble), black: {CARRIES}", figure="what it carries was not measured",
        missing=("its water-soluble part, and the pH of its wash water",), sources=("dry_cell_paste",),
    ),
    "washed, with child": Line(
        situation=handled(WASHED, pregnancy=True), key="powder.recovered", level="STOP",
        headline=f"paste (1.2 % water-soluble): {CARRIES}", sources=("dry_cell_paste",),
        words=("Leave it to someone else: lead.",),
    ),
    "beside carbon": Line(
        situation=handled(MN, SOOT), key="powder.oxidiser", level="NOTE",
        headline=f"mn beside carbon or plastic: {VIOLENT}", sources=("icsc_0175",),
        words=("No dry grinding together", "another catalyst"),
    ),
    "beside plastic": Line(
        situation=handled(MN, polymers=(Polymer(name="B", substance="PVB"),)), key="powder.oxidiser", level="NOTE",
        headline=f"mn beside carbon or plastic: {VIOLENT}", sources=("icsc_0175",),
    ),
    "beside aluminium powder": Line(
        situation=handled(MN, Powder(name="al", substance="aluminium", mass=0.001)), key="powder.oxidiser",
        level="STOP", headline=f"mn beside aluminium powder: {VIOLENT}", sources=("icsc_0175",),
        words=("Never put these powders together.",),
    ),
    # it gives its oxygen off above 553 degC
    "at 553 degC": Line(
        situation=handled(MN, SOOT, heatings=(Heating(name="p", plate_temperature=ZERO + 553.0),)),
        key="powder.oxidiser", level="STOP", headline=f"mn beside carbon or plastic: {VIOLENT}",
        sources=("icsc_0175",),
    ),
    "at 552 degC": Line(
        situation=handled(MN, SOOT, heatings=(Heating(name="p", plate_temperature=ZERO + 552.0),)),
        key="powder.oxidiser", level="NOTE", headline=f"mn beside carbon or plastic: {VIOLENT}",
        sources=("icsc_0175",),
    ),
}  # fmt: skip

PEOPLE = {
    "toluene, with child": Line(
        situation=Situation(
            air=YARD, pregnancy=True, liquids=(OpenLiquid(name="t", substance="toluene", mass=1e-6),)
        ),
        key="people.unborn", level="STOP", headline="toluene: suspected of damaging the unborn child (H361d)",
        sources=("inrs_ft74",), words=("Leave it to someone else", "another solvent"),
    ),
    "toluene": Line(
        situation=Situation(air=YARD, liquids=(OpenLiquid(name="t", substance="toluene", mass=1e-6),)),
        key="people.unborn", level="NOTE", headline="toluene: suspected of damaging the unborn child (H361d)",
        sources=("inrs_ft74",), words=("If pregnancy is possible",),
    ),
    "children at the bench": Line(
        situation=Situation(
            air=YARD, children=True, liquids=(OpenLiquid(name="e", substance="ethanol", mass=1e-6),),
            heatings=(Heating(name="iron", plate_temperature=ZERO + 60),),
            make_ups=(LyeMakeUp(salt="KOH", solute=0.1, water=0.1),),
        ),
        key="people.children", level="FIRST", headline="children in the room: ethanol, iron, lye",
        sources=("common_practice",), words=("First children out", "children breathe more", "nobody under age"),
    ),
    "PVDF in lye": Line(
        situation=Situation(
            polymers=(Polymer(name="D", substance="PVDF"),),
            make_ups=(LyeMakeUp(salt="KOH", solute=0.1, water=0.1),),
        ),
        key="lye.polymer.PVDF", level="FIRST", headline="D in lye: loses fluoride and turns brittle",
        missing=("the resistance of D to lye from its data sheet",), sources=("zhao_2011",),
    ),
    "acrylonitrile": Line(
        situation=Situation(air=YARD, liquids=(OpenLiquid(name="a", substance="acrylonitrile", mass=1e-6),)),
        key="vapour.cancer.acrylonitrile", level="STOP",
        headline="acrylonitrile: listed as a carcinogen; above the NIOSH limit only supplied air, no cartridge",
        sources=("niosh_pocket_guide",), words=("Do not handle it at home",),
    ),
    "rags": Line(
        situation=Situation(air=YARD, liquids=(OpenLiquid(name="l", substance="limonene", mass=1e-6),)),
        key="vapour.rags.limonene", level="FIRST",
        headline="limonene: rags wet with it can heat themselves and ignite", sources=("sds_limonene",),
        words=("closed metal can with water",),
    ),
    "skin": Line(
        situation=Situation(
            air=YARD,
            liquids=(OpenLiquid(name="l", substance="limonene", mass=1e-6),
                     OpenLiquid(name="t", substance="toluene", mass=1e-6)),
        ),
        key="vapour.skin", level="NOTE",
        headline="limonene: oxidised limonene sensitises the skin; toluene: taken up through the skin (EU "
        "notation)", sources=("nicnas_limonene", "inrs_ft74"), words=("Thin nitrile gloves",),
    ),
}  # fmt: skip

EVERY = {**LYES, **LIQUIDS, **POWDERS, **PEOPLE}


@pytest.mark.parametrize("name", EVERY)
def test_the_line_says_what_was_worked_out_by_hand(name: str) -> None:
    """Level, finding, figure, limit, what is missing and what it rests on, to the printed digit."""
    check(EVERY[name])


def test_a_thinner_that_flashes_late_needs_no_line() -> None:
    """A flash point above 60 degC, the line of the waste rules: no word on fire."""
    found = assess(poured("", sheet=flash(61.0)))
    assert "vapour.liquid.pot" not in {c.key for c in found}
    assert "vapour.liquid.pot" in {c.key for c in assess(poured("", sheet=flash(60.0)))}
