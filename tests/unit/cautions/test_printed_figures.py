"""Every figure that a caution prints, worked out by hand from handbook numbers beside it.

Handbook numbers used: hydrogen 0.4564 L/Ah at 25 degC (half a mole to two faradays), battery room
factor 24 x 0.42e-3 m3/Ah x 5 = 0.0504 m3/Ah, exact dilution to 1 % 0.4564e-3 x 99 = 0.0452 m3/Ah, heat of
solution NaOH 44.3 and KOH 57.8 kJ/mol, water 4.184 kJ/(kg K), lower limits 4 % (hydrogen) and 1 % (toluene),
slope 0.00114 /K, ppm of ammonia x 17.03/24.45 mg/m3. Lines are compared to the digits printed.
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest

from aerode.cautions.engine import assess
from aerode.cautions.situation import (
    Air,
    CellPlan,
    Heating,
    Polymer,
    SheetFigures,
    Situation,
    Span,
    Weighings,
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


HYDROGEN = {
    # 2 x 0.0042 m2 x 10 A/m2 = 0.084 A: 38.3 mL/h; 0.0504 x 0.084 = 0.00423 m3/h. A thousandth to all of
    # it over 40 m3/h at most: 0.00011 %; airless 40 m3 x ln(1/0.99)/38.3 mL/h = 10 490 h, 8 h of it 0.076 %.
    "two assumed, closed": Line(
        situation=Situation(air=CLOSED, cells=(cell(in_series=2, fused=True),)), key="hydrogen.C",
        level="NOTE", finding="below",
        headline="2 cells: up to 38 mL of hydrogen an hour, wants 0.0042 m³/h of air to stay below 1 %",
        figure="38 mL an hour (19 mL each); 0.00011 to 0.076 % of the fresh air at hand; with no air at all "
        "it takes 10000 h to 1 %",
        limit=WANTS, unverified=True, sources=("nfpa_497", "en_50272", "h2tools"),
        words=("corrosion assumed, 1 mA/cm^2 at the high end (from memory)", "Never cap it",
               "battery room formula and exact dilution, the larger",
               "40 m³, closed room: none to 1 air change an hour", "a measured mass loss or gas volume"),
    ),
    # 0.01 m2 x 90 to 110 A/m2: 0.502 L/h; 0.0504 x 1.1 = 0.055 m3/h; over 100 m3/h 0.045 to 0.055 %.
    "measured": Line(
        situation=Situation(
            air=FRESH,
            cells=(cell(salt=LYE, aluminium_area=0.01, corrosion=Span(low=90, high=110, how="gas caught")),),
        ),
        key="hydrogen.C", level="NOTE", finding="below",
        headline="1 cell: up to 0.5 L of hydrogen an hour, wants 0.055 m³/h of air to stay below 1 %",
        figure="0.5 L an hour; 0.045 to 0.055 % of the fresh air at hand", limit=WANTS,
        sources=("nfpa_497", "en_50272", "h2tools"), words=("corrosion as measured (gas caught)",),
    ),
    # 0.03 m2 x 500 A/m2 = 15 A: 6.85 L/h, 0.756 m3/h; 1 m3 airless: 0.01005/6.85e-3 = 1.47 h = 88 min.
    "a closet of 1 m3": Line(
        situation=Situation(
            air=Air(volume=1.0, airing="closed room"), cells=(cell(salt=LYE, aluminium_area=0.03),)
        ),
        key="hydrogen.C", level="FIRST", finding="cannot tell",
        headline="1 cell: up to 6.8 L of hydrogen an hour, wants 0.76 m³/h of air to stay below 1 %",
        figure="6.8 L an hour; an unknown share of the fresh air at hand; with no air at all it takes 88 min to 1 %",
        limit=WANTS, unverified=True,
        missing=("the air changes of the room", "a mass loss or a gas volume of this aluminium"),
        sources=("nfpa_497", "en_50272", "h2tools"), words=("50 mA/cm^2 at the high end",),
    ),
    # nothing is known of the room; 6 x 0.042 A: 0.115 L/h, each 19 mL; 0.0504 x 0.252 = 0.0127 m3/h.
    "no room, six cells": Line(
        situation=Situation(cells=(cell(in_series=3, strings=2),)), key="hydrogen.C", level="FIRST",
        finding="cannot tell",
        headline="6 cells: up to 0.12 L of hydrogen an hour, wants 0.013 m³/h of air to stay below 1 %",
        figure="0.12 L an hour (19 mL each); an unknown share of the fresh air at hand", limit=WANTS,
        missing=("the room: its volume and its air changes", "a mass loss or a gas volume of this aluminium"),
        unverified=True, sources=("nfpa_497", "en_50272", "h2tools"),
    ),
    "open air": Line(
        situation=Situation(air=YARD, cells=(cell(),)), key="hydrogen.C", level="NOTE", finding="below",
        headline="1 cell: up to 19 mL of hydrogen an hour, wants 0.0021 m³/h of air to stay below 1 %",
        figure="19 mL an hour; under 0.01 % of the fresh air at hand", limit=WANTS, unverified=True,
        sources=("nfpa_497", "en_50272", "h2tools"), words=("room: open air",),
    ),
    # 1.5 m3/h of air against 0.0504 x 30 A = 1.512 m3/h, the low end; a measured one over it is a STOP.
    "measured, too much": Line(
        situation=Situation(
            air=Air(volume=1.0, air_changes=1.5 / HOUR),
            cells=(cell(aluminium_area=0.03, corrosion=Span(low=1000, high=1100)),),
        ),
        key="hydrogen.C", level="STOP", finding="above",
        headline="1 cell: up to 15 L of hydrogen an hour, wants 1.7 m³/h of air to stay below 1 %",
        figure="15 L an hour; 100 to 110 % of the fresh air at hand", limit=WANTS,
        sources=("nfpa_497", "en_50272", "h2tools"), words=("corrosion as measured (not said how)",),
    ),
    "no area": Line(
        situation=Situation(cells=(CellPlan(name="C", salt=BRINE),)), key="hydrogen.C", level="FIRST",
        finding="cannot tell", headline="C: how much hydrogen it makes cannot be told, as the aluminium area is missing",
        figure="aluminium area not known", missing=("the wetted area of the aluminium",),
        sources=("common_practice",), words=("open top", "the aluminium area, a measured corrosion"),
    ),
    # 5 A: 2.28 L/h; 2 L x 0.01005/2.28 = 0.53 min; 28 cm2 h/m3 x 0.252 m3/h = 7.1 cm2.
    "box": Line(
        situation=Situation(air=FRESH, cells=(cell(salt=LYE, aluminium_area=0.01, enclosure=0.002),)),
        key="hydrogen.box.C", level="FIRST", finding="cannot tell",
        headline="C: a box of 2 L fills to 1 % in 0.53 min", figure="0.53 min without an opening",
        limit="1 % by volume", missing=("the openings of the box",), unverified=True,
        sources=("nfpa_497", "en_50272"), words=("First an opening of 7.1 cm² at the top", "openings, a measured"),
    ),
    # 42 mA: 19.17 mL/h; 10 L x 0.01005/0.01917 = 5.2 h.
    "slow box": Line(
        situation=Situation(cells=(cell(enclosure=0.010, corrosion=Span(low=0.0, high=10.0)),)),
        key="hydrogen.box.C", level="FIRST", finding="cannot tell",
        headline="C: a box of 10 L fills to 1 % in 5.2 h", figure="5.2 h without an opening",
        limit="1 % by volume", missing=("the openings of the box",), sources=("nfpa_497", "en_50272"),
    ),
    # 1 g: 1.5/26.98 mol x R x 298.15 / 0.5 L = 275.6 kPa.
    "capped": Line(
        situation=Situation(air=FRESH, cells=(cell(aluminium_mass=0.001, headspace=0.0005, capped=True),)),
        key="hydrogen.capped.C", level="STOP", finding="above",
        headline="C is capped: +276 kPa if all its aluminium corrodes", figure="+276 kPa",
        limit="0 kPa: no container of a bench is made to hold it", sources=("codata_2018",),
        words=("Take the cap off", "a vent"),
    ),
    "capped, nothing known": Line(
        situation=Situation(cells=(cell(capped=True),)), key="hydrogen.capped.C", level="STOP",
        finding="no figure on file", headline="C is capped: it bursts", figure="no figure",
        limit="0 kPa: no container of a bench is made to hold it",
        missing=("the mass of the aluminium", "the gas space"), sources=("codata_2018",),
    ),
    # the same gram in a room of 12 degC: 263.6 kPa
    "capped in the cold": Line(
        situation=Situation(
            air=Air(volume=50.0, air_changes=2 / HOUR, temperature=285.15),
            cells=(cell(aluminium_mass=0.001, headspace=0.0005, capped=True),),
        ),
        key="hydrogen.capped.C", level="STOP", finding="above",
        headline="C is capped: +264 kPa if all its aluminium corrodes", figure="+264 kPa",
        limit="0 kPa: no container of a bench is made to hold it", sources=("codata_2018",),
    ),
    "charger": Line(
        situation=Situation(air=FRESH, cells=(cell(salt="sea salt", charger=True),)), key="hydrogen.chlorine.C",
        level="STOP", headline="C: charging or reversing a brine cell makes chlorine: chloride gives it from "
        "1.358 V up", sources=("vanysek_series",),
        words=("a supply drives it backwards", "Do not charge it", "a diode across each cell"),
    ),
    "reversal": Line(
        situation=Situation(air=FRESH, cells=(cell(in_series=2),)), key="hydrogen.chlorine.C", level="NOTE",
        headline="C: charging or reversing a brine cell makes chlorine: chloride gives it from 1.358 V up",
        sources=("vanysek_series",), words=("the weakest cell", "Read each cell by itself"),
    ),
}  # fmt: skip

TIERS = "30 V with wet or salty hands, 60 V extra-low voltage; none if immersed"
ELECTRICITY = {
    # 0.401 - (-2.328) V = 2.729 V for each cell at most: 11 cells 30.02 V, 20 cells 54.6 V.
    "twenty, not measured": Line(
        situation=Situation(air=FRESH, cells=(cell(in_series=20, fused=True),)), key="electrical.touch.C",
        level="FIRST", finding="cannot tell",
        headline="20 cells in series, at most 54.6 V: more than wet hands may touch", figure="at most 54.6 V",
        limit=TIERS, missing=("the open-circuit voltage of one cell",), sources=("iec_61201",),
        words=("one hand", "salt and lye make skin conduct", "fewer cells in series"),
    ),
    "eleven, not measured": Line(
        situation=Situation(air=FRESH, cells=(cell(in_series=11, fused=True),)), key="electrical.touch.C",
        level="FIRST", finding="cannot tell",
        headline="11 cells in series, at most 30 V: more than wet hands may touch", figure="at most 30 V",
        limit=TIERS, missing=("the open-circuit voltage of one cell",), sources=("iec_61201",),
    ),
    "forty of 1.55 to 1.65 V": Line(
        situation=Situation(
            air=FRESH,
            cells=(cell(in_series=40, fused=True, open_circuit_voltage=Span(low=1.55, high=1.65)),),
        ),
        key="electrical.touch.C", level="STOP", finding="above",
        headline="40 cells in series, 66 V: licensed practice", figure="66 V", limit=TIERS,
        sources=("iec_62257",), words=("a licensed electrician",),
    ),
    "twenty-four of 1.3 to 1.4 V": Line(
        situation=Situation(
            air=FRESH,
            cells=(cell(in_series=24, fused=True, open_circuit_voltage=Span(low=1.3, high=1.4)),),
        ),
        key="electrical.touch.C", level="FIRST", finding="above",
        headline="24 cells in series, 33.6 V: more than wet hands may touch", figure="33.6 V", limit=TIERS,
        sources=("iec_61201",),
    ),
    "twenty-five of 1.1 to 1.3 V": Line(
        situation=Situation(
            air=FRESH,
            cells=(cell(in_series=25, fused=True, open_circuit_voltage=Span(low=1.1, high=1.3)),),
        ),
        key="electrical.touch.C", level="FIRST", finding="cannot tell",
        headline="25 cells in series, 32.5 V: more than wet hands may touch", figure="32.5 V", limit=TIERS,
        missing=("the open-circuit voltage of the string itself",), sources=("iec_61201",),
    ),
    "two unfused": Line(
        situation=Situation(air=FRESH, cells=(cell(in_series=2),)), key="electrical.stack.C", level="NOTE",
        headline="2 cells without a fuse: current burns, not voltage", sources=("common_practice",),
        words=("a fuse in each string", "10 A socket", "a short makes heat"),
    ),
    "two strings unfused": Line(
        situation=Situation(air=FRESH, cells=(cell(strings=2),)), key="electrical.stack.C", level="FIRST",
        headline="2 cells without a fuse: current burns, not voltage", sources=("common_practice",),
    ),
}  # fmt: skip

TOLUENE_LIMIT = "0.96 % at 60 °C (1 % at 25 °C); stop at 25 % of it"
HEAT = {
    # 0.1 g / 92.14 g/mol x R x 333.15 K / (101 325 Pa x 20 L) = 0.1483 %; 1 % x (1 - 0.00114 x 35) = 0.9601 %; 0.1545 of it
    "a tenth of a gram in an oven": Line(
        situation=heated(60.0, appliance="oven", closed_volume=0.02, retained_solvent=1e-4,
                         last_solvents=("toluene",)),
        key="heat.flash.p", level="FIRST", finding="below",
        headline="toluene: all at once it makes 0.15 % of vapour, 0.15 times what can burn",
        figure="0.148 % by volume, 0.155 times the lower limit", limit=TOLUENE_LIMIT,
        sources=("iec_60079_20_1", "burgess_wheeler_review", "nfpa_86"),
        words=("0.1 g flashed into 20 L", "constant weight", "a vented oven"),
    ),
    # thirty times as much, and ethanol beside it: toluene is the worse of the two
    "three grams in an oven": Line(
        situation=heated(60.0, appliance="oven", closed_volume=0.02, retained_solvent=3e-3,
                         last_solvents=("ethanol", "toluene")),
        key="heat.flash.p", level="STOP", finding="above",
        headline="toluene: all at once it makes 4.5 % of vapour, 4.6 times what can burn",
        figure="4.45 % by volume, 4.64 times the lower limit", limit=TOLUENE_LIMIT,
        sources=("iec_60079_20_1", "burgess_wheeler_review", "nfpa_86"),
    ),
    "an oven, nothing known": Line(
        situation=heated(60.0, appliance="oven", closed_volume=0.02, last_solvents=("toluene",)),
        key="heat.flash.p", level="FIRST", finding="no figure on file",
        headline="p: whether the vapour in it could burn cannot be told",
        figure="no figure on file; plates at 60 °C", missing=("the solvent still in the coat",), sources=("common_practice",),
        words=("the solvent still in the coat", "constant weight"),
    ),
    # toluene alone is far below its stop, and what the other liquid does nobody knows
    "an oven, an unknown liquid": Line(
        situation=heated(60.0, appliance="oven", closed_volume=0.02, retained_solvent=1e-4,
                         last_solvents=("toluene", "mystery")),
        key="heat.flash.p", level="FIRST", finding="no figure on file",
        headline="p: whether the vapour in it could burn cannot be told",
        figure="no figure on file; plates at 60 °C", missing=("the lower flammable limit of what it was wet with",), sources=("common_practice",),
    ),
    "an oven, only an unknown liquid": Line(
        situation=heated(60.0, appliance="oven", closed_volume=0.02, retained_solvent=1e-4,
                         last_solvents=("mystery",)),
        key="heat.flash.p", level="FIRST", finding="no figure on file",
        headline="p: whether the vapour in it could burn cannot be told",
        figure="no figure on file; plates at 60 °C", missing=("the lower flammable limit of what it was wet with",), sources=("common_practice",),
    ),
    "an oven, an unknown liquid beside far too much": Line(
        situation=heated(60.0, appliance="oven", closed_volume=0.02, retained_solvent=3e-3,
                         last_solvents=("mystery", "toluene")),
        key="heat.flash.p", level="STOP", finding="above",
        headline="toluene: all at once it makes 4.5 % of vapour, 4.6 times what can burn",
        figure="4.45 % by volume, 4.64 times the lower limit", limit=TOLUENE_LIMIT,
        sources=("iec_60079_20_1", "burgess_wheeler_review", "nfpa_86"),
    ),
    # 10 g of toluene first: of two known liquids the worse one is told, whichever is named first
    "an oven, the worse one first": Line(
        situation=heated(60.0, appliance="oven", closed_volume=0.02, retained_solvent=3e-3,
                         last_solvents=("toluene", "xylenes", "ethanol")),
        key="heat.flash.p", level="STOP", finding="above",
        headline="toluene: all at once it makes 4.5 % of vapour, 4.6 times what can burn",
        figure="4.45 % by volume, 4.64 times the lower limit", limit=TOLUENE_LIMIT,
        sources=("iec_60079_20_1", "burgess_wheeler_review", "nfpa_86"),
    ),
    "a plate over an unknown liquid": Line(
        situation=heated(60.0, last_solvents=("mystery",)), key="heat.plate.p.mystery", level="FIRST",
        finding="no figure on file",
        headline="mystery: at what temperature it lights itself is not on file", figure="60 °C",
        limit="none on file", missing=("the autoignition temperature of mystery",), sources=("common_practice",),
    ),
    # by a sheet that is not named 200 degC: 160, or 38 K below; marked, and no STOP
    "a plate over a liquid by an unnamed sheet": Line(
        situation=Situation(
            heatings=(Heating(name="p", plate_temperature=ZERO + 160, last_solvents=("thinner",)),),
            sheets=(SheetFigures(of="thinner", said="a sheet", named=False, autoignition=ZERO + 200.0),),
        ),
        key="heat.plate.p.thinner", level="FIRST", finding="above",
        headline="thinner lights itself at 200 °C; the plates are at 160 °C", figure="160 °C",
        limit="160 °C: 80 % of 200 °C, data sheet", unverified=True, sources=("a sheet", "en_1127_1"),
    ),
    # 80 % of 150 degC is 120; within 37.8 K of it is 112.2, the lower of the two
    "a plate within 38 K": Line(
        situation=Situation(
            heatings=(Heating(name="p", plate_temperature=ZERO + 113, last_solvents=("thinner",)),),
            sheets=(SheetFigures(of="thinner", said="sheet, 2024", autoignition=ZERO + 150.0),),
        ),
        key="heat.plate.p.thinner", level="STOP", finding="above",
        headline="thinner lights itself at 150 °C; the plates are at 113 °C", figure="113 °C",
        limit="112 °C: 38 K below 150 °C, data sheet", sources=("sheet, 2024", "en_1127_1"),
    ),
    # 80 % of 237 degC is 189.6; within 37.8 K would be 199.2
    "limonene": Line(
        situation=heated(200.0, last_solvents=("limonene",)), key="heat.plate.p.limonene", level="STOP",
        finding="above", headline="limonene lights itself at 237 °C; the plates are at 200 °C", figure="200 °C",
        limit="190 °C: 80 % of 237 °C", sources=("nfpa_497", "en_1127_1"),
        words=("Keep the plates below 190 °C", "a skin locks solvent in", "cooler plates"),
    ),
    "a liquid that lights itself nobody knows when": Line(
        situation=Situation(
            heatings=(Heating(name="p", plate_temperature=ZERO + 60, last_solvents=("thinner",)),),
            sheets=(SheetFigures(of="thinner", said="sheet of thinner, 2024", flash=265.0),),
        ),
        key="heat.plate.p.thinner", level="FIRST", finding="no figure on file",
        headline="thinner: at what temperature it lights itself is not on file", figure="60 °C",
        limit="none on file", missing=("the autoignition temperature of thinner",), sources=("common_practice",),
        words=("before the plates are hot", "its autoignition temperature"),
    ),
    "two weighings that agree": Line(
        situation=heated(60.0, last_solvents=("ethanol",),
                         weighings=Weighings(first=0.012430, second=0.012425, interval=900, coating=0.0021,
                                             area=0.001, resolution=1e-6)),
        key="heat.dry.p", level="NOTE", finding="below", headline="p: the weight of the coat is constant",
        figure="5 mg lost in 15 min", limit=DRY_RULE, sources=("common_practice", "prudent_practices"),
        words=("Heat it soon", "a later pair of weighings", "a skin on the coat"),
    ),
    "two weighings that do not": Line(
        situation=heated(60.0, last_solvents=("ethanol",),
                         weighings=Weighings(first=0.01343, second=0.01242, interval=900, coating=0.0021,
                                             area=0.001, resolution=1e-6)),
        key="heat.dry.p", level="STOP", finding="above", headline="p: the coat is still losing weight",
        figure="1.01 g lost in 15 min", limit=DRY_RULE, sources=("common_practice", "prudent_practices"),
        words=("Dry it at room temperature",),
    ),
    "water taken up": Line(
        situation=heated(60.0, last_solvents=("ethanol",),
                         weighings=Weighings(first=0.01242, second=0.01251, interval=600, coating=0.0021,
                                             area=0.001, resolution=1e-6)),
        key="heat.dry.p", level="STOP", finding="above", headline="p: the coat is still losing weight",
        figure="90 mg gained in 10 min", limit=DRY_RULE, sources=("common_practice", "prudent_practices"),
    ),
    "not weighed": Line(
        situation=heated(60.0, last_solvents=("ethanol",)), key="heat.dry.p", level="FIRST", finding="cannot tell",
        headline="p: nobody knows yet whether the coat is dry", figure="not weighed twice", limit=DRY_RULE,
        missing=("two weighings of the piece, ten minutes apart",),
        sources=("common_practice", "prudent_practices"), words=("weigh it twice, ten minutes apart",),
    ),
    "kitchen": Line(
        situation=heated(60.0, appliance="household oven", last_solvents=("ethanol",)), key="heat.appliance.p",
        level="STOP", headline="p: a household oven must not see a coat that was wet with an organic liquid",
        figure="60 °C", sources=("prudent_practices",), words=("food goes in afterwards", "another appliance"),
    ),
    "heat gun": Line(
        situation=heated(60.0, appliance="heat gun", last_solvents=("ethanol",)), key="heat.appliance.p",
        level="FIRST", headline="p: a heat gun must not see a coat that was wet with an organic liquid",
        figure="60 °C", sources=("prudent_practices",), words=("filament", "plates in moving air"),
    ),
    "no temperature": Line(
        situation=heated(None), key="heat.plate.p", level="FIRST", finding="cannot tell",
        headline="p: what the heat does cannot be told, as how hot it gets is missing", figure="plate temperature not known",
        missing=("the plate temperature",), sources=("common_practice",), words=("Measure the plate itself",),
    ),
    "polystyrene past its warning": Line(
        situation=heated(210.0, Polymer(name="PS", substance="polystyrene")), key="heat.polymer.polystyrene",
        level="FIRST", finding="above",
        headline="polystyrene at 210 °C: past the warning line; styrene, traces from 200 °C", figure="210 °C",
        limit="softens from 100 °C, warn 200 °C, stop 270 °C", sources=("pfaffli_1978",),
        words=("an extraction to the outside", "the plate temperature"),
    ),
    "ABS past its shelter": Line(
        situation=heated(100.0, Polymer(name="A", substance="ABS")), key="heat.polymer.ABS", level="FIRST",
        finding="below",
        headline="ABS at 100 °C: softens; styrene, ultrafine particles; printing from 220 °C", figure="100 °C",
        limit="softens from 90 °C, warn 200 °C, stop 240 °C; above 77 °C its acrylonitrile is regulated",
        sources=("abs_printing", "cfr_1910_1045"), words=("Measure the plate itself",),
    ),
    "ABS below it": Line(
        situation=heated(70.0, Polymer(name="A", substance="ABS")), key="heat.polymer.ABS", level="NOTE",
        finding="below",
        headline="ABS at 70 °C: below softening; styrene, ultrafine particles; printing from 220 °C",
        figure="70 °C", limit="softens from 90 °C, warn 200 °C, stop 240 °C", sources=("abs_printing",),
    ),
    "PTFE past its stop": Line(
        situation=heated(340.0, Polymer(name="T", substance="PTFE")), key="heat.polymer.PTFE", level="STOP",
        finding="above",
        headline="PTFE at 340 °C: past the stop line; hazardous fume possible from 330 °C", figure="340 °C",
        limit="softens from 327 °C, warn 300 °C, stop 330 °C", sources=("fluoropolymer_guide",),
        words=("Do not go there", "an extraction to the outside", "carbon, oxides and metal"),
    ),
    "PVB below the house line": Line(
        situation=heated(120.0, Polymer(name="B", substance="PVB")), key="heat.polymer.PVB", level="FIRST",
        finding="no figure on file", headline="PVB: no published heat line on file", figure="120 °C",
        limit="house rule: not above 120 °C without one",
        missing=("the heat limit of PVB from its data sheet",), sources=("common_practice",),
        words=("Not above 120 °C before the heat limit of its data sheet is entered",),
    ),
    "PVB above it": Line(
        situation=heated(121.0, Polymer(name="B", substance="PVB")), key="heat.polymer.PVB", level="STOP",
        finding="no figure on file", headline="PVB: no published heat line on file", figure="121 °C",
        limit="house rule: not above 120 °C without one",
        missing=("the heat limit of PVB from its data sheet",), sources=("common_practice",),
        words=("Do not heat it that far",),
    ),
    "PVDF": Line(
        situation=heated(110.0, Polymer(name="D", substance="PVDF")), key="heat.polymer.PVDF", level="FIRST",
        finding="no figure on file",
        headline="PVDF: no published heat line on file; 230 °C from memory only", figure="110 °C",
        limit="house rule: not above 120 °C without one",
        missing=("the heat limit of PVDF from its data sheet",), unverified=True, sources=("common_practice",),
        words=("hydrogen fluoride; onset from 315 °C (from memory)",),
    ),
    "a data sheet below the plate": Line(
        situation=heated(110.0, Polymer(name="B", substance="PVB", sheet_limit=ZERO + 100, sheet="maker, 2024")),
        key="heat.polymer.PVB", level="STOP", finding="above", headline="PVB at 110 °C: past the stop line",
        figure="110 °C", limit="softens from 45 °C, stop 100 °C",
        sources=("data sheet entered by hand: maker, 2024",),
    ),
    "unknown plastic": Line(
        situation=heated(60.0, Polymer(name="cup", substance="mystery")), key="heat.polymer.cup", level="STOP",
        finding="no figure on file", headline="cup of unknown kind: no heat", figure="60 °C", limit="none on file",
        missing=("what the plastic is",), sources=("common_practice",), words=("Press it cold", "PVC"),
    ),
    "unknown plastic, unknown heat": Line(
        situation=heated(None, Polymer(name="cup", substance="mystery")), key="heat.polymer.cup", level="STOP",
        finding="no figure on file", headline="cup of unknown kind: no heat", figure="hot", limit="none on file",
        missing=("what the plastic is",), sources=("common_practice",),
    ),
}  # fmt: skip

EVERY = {**HYDROGEN, **ELECTRICITY, **HEAT}


@pytest.mark.parametrize("name", EVERY)
def test_the_line_says_what_was_worked_out_by_hand(name: str) -> None:
    """Level, finding, figure, limit, what is missing and what it rests on, to the printed digit."""
    check(EVERY[name])


def test_lines_that_are_not_there() -> None:
    """Below the tiers, with a fuse, without a charger, dry in an oven, cold: nothing to say."""
    ten = Situation(air=FRESH, cells=(cell(in_series=10, fused=True),))
    assert {c.key for c in assess(ten)} == {"hydrogen.C", "hydrogen.chlorine.C"}
    lye = Situation(air=FRESH, cells=(cell(salt=LYE, charger=True),))
    assert "hydrogen.chlorine.C" not in {c.key for c in assess(lye)}
    agree = Weighings(first=0.0124, second=0.0124, interval=900, coating=0.0021, resolution=1e-6)
    dry = heated(
        60.0, appliance="oven", closed_volume=0.02, last_solvents=("toluene",), weighings=agree
    )
    assert "heat.flash.p" not in {c.key for c in assess(dry)}
    # 0.06 g makes 0.089 %, 0.093 of the limit: below a tenth there is no line
    little = heated(60.0, appliance="oven", closed_volume=0.02, retained_solvent=6e-5,
                    last_solvents=("toluene",))  # fmt: skip
    assert "heat.flash.p" not in {c.key for c in assess(little)}
    # limonene's ceiling is 80 % of 237 degC
    assert "heat.plate.p.limonene" not in {
        c.key for c in assess(heated(189.0, last_solvents=("limonene",)))
    }
    # a cold plate, 5 K above a room of 25 degC, heats nothing
    assert assess(heated(30.0, Polymer(name="cup", substance="mystery"))) == ()
    assert assess(heated(30.1, Polymer(name="cup", substance="mystery"))) != ()
