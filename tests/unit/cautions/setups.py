"""Twelve set-ups and the levels a careful hygienist would give them.

Written down before there was an engine, from the hazard notes of the project alone (limits, fire
figures, heat gates, the rules of thumb of the trade); the reasoning stands beside each. The engine
is bent to these, and not the other way round: whoever changes an expected level writes the reason
into the set-up.

The rules of reading used throughout, in words:

- STOP: published figures put even the low end over a published limit, or the act itself is one that
  the trade refuses outright. FIRST: something has to be done or found out before. NOTE: read it.
- Open flammable liquid whose air space can burn: FIRST (put out every flame and spark), however
  little it is. What is breathed gets a line whenever a volatile organic liquid is open.
- Dust of carbon and oxides in gram amounts: NOTE. Manganese, whose limit is a hundred times lower:
  FIRST, as nobody knows how much is raised.
- A heated piece that was wet with something flammable: FIRST until two weighings agree, NOTE after.
- Plates from 45 degC on burn the hand that takes them off the press: NOTE, with gloves before it is
  switched on. Came in later, as nothing spoke of the commonest hurt at a press.
- Brine cells make a little hydrogen: NOTE. Anything capped: STOP.
"""

from __future__ import annotations

from dataclasses import dataclass

from aerode.cautions.situation import (
    Air,
    CellPlan,
    Heating,
    OpenLiquid,
    Polymer,
    Powder,
    Situation,
    Weighings,
)

__all__ = ["HARMFUL", "HARMLESS", "SetUp"]

HOUR = 3600.0
ZERO_CELSIUS = 273.15


@dataclass(frozen=True, slots=True, kw_only=True)
class SetUp:
    """A situation, the levels expected by hazard, and why."""

    name: str
    situation: Situation
    expected: dict[str, str]
    why: str


GARAGE = Air(name="garage", volume=40.0, airing="window ajar")
SHED = Air(name="net shed", volume=60.0, airing="window ajar")
WORKSHOP = Air(name="workshop", volume=50.0, air_changes=2.0 / HOUR)
BEDROOM = Air(name="bedroom", volume=30.0, airing="closed room")
OUTDOORS = Air(name="yard", airing="open air")

HARMLESS = (
    SetUp(
        name="water-based wax paint, cold",
        situation=Situation(
            about=("wax paint",),
            liquids=(OpenLiquid(name="water", substance="water", mass=0.040),),
            open_area=0.01,
            powders=(
                Powder(name="biochar", substance="biochar", mass=0.020),
                Powder(name="lamp black", substance="carbon black", mass=0.004),
            ),
            polymers=(Polymer(name="wax emulsion", substance="beeswax"),),
            air=GARAGE,
        ),
        expected={"dust": "NOTE"},
        why="Nothing volatile but water, nothing heated. Two dozen grams of carbon in a 40 m3 garage: "
        "damp it before stirring.",
    ),
    SetUp(
        name="5 mL of ethanol slurry in the open air",
        situation=Situation(
            about=("ethanol slurry",),
            liquids=(OpenLiquid(name="ethanol", substance="ethanol", mass=0.0039),),
            open_area=0.005,
            powders=(Powder(name="biochar", substance="biochar", mass=0.006),),
            polymers=(Polymer(name="PVB", substance="PVB"),),
            air=OUTDOORS,
        ),
        expected={"flammable liquid": "FIRST", "vapour breathed": "NOTE", "dust": "NOTE"},
        why="The air over ethanol at room temperature (8 %) lies between 3.1 and 19 %, so flames out first. "
        "4 g outdoors is nowhere near 1000 ppm for anyone.",
    ),
    SetUp(
        name="dry polystyrene layer pressed at 110 degC",
        situation=Situation(
            about=("P1",),
            polymers=(Polymer(name="PS", substance="polystyrene"),),
            air=GARAGE,
            heatings=(
                Heating(
                    name="plates",
                    plate_temperature=ZERO_CELSIUS + 110.0,
                    last_solvents=("ethyl acetate",),
                    weighings=Weighings(
                        first=0.00500,
                        second=0.00500,
                        interval=900.0,
                        coating=0.00200,
                        area=0.0010,
                        resolution=0.00001,
                    ),
                ),
            ),
        ),
        expected={"dry enough": "NOTE", "polymer heat": "NOTE", "burnt hands": "NOTE"},
        why="Weight constant to 0.01 g on 2 g of coating over 15 min (0.5 %, within the 1 % rule). 110 degC is "
        "past softening (100) and 90 K below the first styrene (200); plates far below 80 % of 427 degC.",
    ),
    SetUp(
        name="one brine cell on the table",
        situation=Situation(
            about=("cell A",),
            air=GARAGE,
            cells=(
                CellPlan(
                    name="cell A", salt="sodium chloride", mass_fraction=0.035, aluminium_area=0.002
                ),
            ),
        ),
        expected={"hydrogen": "NOTE"},
        why="Up to 1 mA/cm2 on 20 cm2 is 20 mA: millilitres of hydrogen an hour in 40 m3. Do not cap it.",
    ),
    SetUp(
        name="two brine cells in series for a beacon",
        situation=Situation(
            about=("beacon",),
            air=SHED,
            cells=(
                CellPlan(
                    name="beacon",
                    salt="sea salt",
                    mass_fraction=0.033,
                    aluminium_area=0.0042,
                    in_series=2,
                ),
            ),
        ),
        expected={"hydrogen": "NOTE", "chlorine": "NOTE", "stack current": "NOTE"},
        why="Under 4 V, so no touch hazard. In a string the weaker cell can be driven backwards (chlorine from "
        "brine); a string wants its fuse.",
    ),
    SetUp(
        name="2 mL of 2-propanol to wipe a mesh",
        situation=Situation(
            about=("mesh wipe",),
            liquids=(OpenLiquid(name="IPA", substance="2-propanol", mass=0.00157),),
            open_area=0.01,
            air=WORKSHOP,
        ),
        expected={"flammable liquid": "FIRST", "vapour breathed": "NOTE"},
        why="5.7 % over the liquid lies between 2 and 12.7 %. 1.6 g in 50 m3 is at most 31 mg/m3 in the room, "
        "against 490 (200 ppm).",
    ),
)

HARMFUL = (
    SetUp(
        name="a quarter litre of toluene in a closed bedroom",
        situation=Situation(
            about=("toluene cement",),
            liquids=(OpenLiquid(name="toluene", substance="toluene", mass=0.217),),
            open_area=0.25,
            polymers=(Polymer(name="PS", substance="polystyrene"),),
            air=BEDROOM,
        ),
        expected={
            "vapour breathed": "STOP",
            "flammable liquid": "FIRST",
            "flammable vapour": "FIRST",
            "skin": "NOTE",
            "unborn child": "NOTE",
        },
        why="217 g in 30 m3 at one air change an hour averages some hundreds of mg/m3 over the day even if it "
        "evaporates slowly, against 75 (20 ppm). Quick evaporation passes a quarter of the lower flammable "
        "limit near the sheet, slow does not: flames out, and find out how fast.",
    ),
    SetUp(
        name="toluene-wet sheet in a 20 L kitchen oven at 100 degC",
        situation=Situation(
            about=("P2",),
            polymers=(Polymer(name="PS", substance="polystyrene"),),
            air=Air(name="kitchen", volume=25.0, airing="closed room"),
            heatings=(
                Heating(
                    name="toaster oven",
                    plate_temperature=ZERO_CELSIUS + 100.0,
                    appliance="household oven",
                    closed_volume=0.020,
                    retained_solvent=0.003,
                    last_solvents=("toluene",),
                ),
            ),
        ),
        expected={
            "flash in the closed space": "STOP",
            "household oven": "STOP",
            "dry enough": "FIRST",
            "polymer heat": "NOTE",
            "burnt hands": "NOTE",
            "skin": "NOTE",
            "unborn child": "NOTE",
        },
        why="3 g in 20 L is 5 % of vapour against a lower limit near 1 %. A kitchen oven is refused for organics "
        "anyhow, and nobody weighed the sheet twice. Polystyrene itself at 100 degC only softens.",
    ),
    SetUp(
        name="limonene coat under a plate at 250 degC",
        situation=Situation(
            about=("P3",),
            polymers=(Polymer(name="PS", substance="polystyrene"),),
            air=GARAGE,
            heatings=(
                Heating(
                    name="plates",
                    plate_temperature=ZERO_CELSIUS + 250.0,
                    last_solvents=("limonene",),
                ),
            ),
        ),
        expected={
            "ignition by the plate": "STOP",
            "dry enough": "FIRST",
            "polymer heat": "FIRST",
            "burnt hands": "NOTE",
            "skin": "NOTE",
        },
        why="Limonene lights itself at 237 degC; 80 % of it is 190. Polystyrene gives off styrene between 200 and "
        "270 degC. Old limonene sensitises the skin.",
    ),
    SetUp(
        name="PTFE sintered 10 K over its fume line, no extraction",
        situation=Situation(
            about=("P4",),
            polymers=(Polymer(name="PTFE", substance="PTFE"),),
            air=GARAGE,
            heatings=(
                Heating(
                    name="plates",
                    plate_temperature=ZERO_CELSIUS + 340.0,
                    last_solvents=("water",),
                ),
            ),
        ),
        expected={"polymer heat": "STOP", "burnt hands": "NOTE"},
        why="Published guide: hazardous fume possible above 330 degC. Water leaves no flammable vapour.",
    ),
    SetUp(
        name="strong lye and a gram of aluminium in a capped bottle",
        situation=Situation(
            about=("bottle cell",),
            air=GARAGE,
            cells=(
                CellPlan(
                    name="bottle cell",
                    salt="potassium hydroxide",
                    mass_fraction=0.19,
                    aluminium_area=0.0025,
                    aluminium_mass=0.001,
                    capped=True,
                    headspace=0.0005,
                ),
            ),
        ),
        expected={
            "closed container": "STOP",
            "lye": "FIRST",
            "hydrogen": "NOTE",
            "waste": "NOTE",
        },
        why="1 g of aluminium makes 1.36 L of hydrogen: nearly three atmospheres more in half a litre. In the "
        "garage itself that gas is nothing. Spent lye above pH 12.5 is corrosive waste.",
    ),
    SetUp(
        name="a class with unwashed battery paste and lye",
        situation=Situation(
            about=("class cell",),
            powders=(
                Powder(
                    name="dry-cell paste",
                    substance="manganese dioxide",
                    mass=0.005,
                    recovered=True,
                ),
                Powder(name="lamp black", substance="carbon black", mass=0.001),
            ),
            air=WORKSHOP,
            cells=(
                CellPlan(
                    name="class cell",
                    salt="potassium hydroxide",
                    mass_fraction=0.19,
                    aluminium_area=0.002,
                ),
            ),
            children=True,
            class_mode=True,
        ),
        expected={
            "class": "STOP",
            "ammonia": "STOP",
            "recovered powder": "FIRST",
            "lye": "FIRST",
            "dust": "FIRST",
            "oxidiser and fuel": "NOTE",
            "hydrogen": "NOTE",
            "waste": "NOTE",
        },
        why="Lye is refused for a class. Unwashed paste carries ammonium chloride, which lye turns into ammonia, "
        "and traces of lead: wash it first. Manganese dust: 5 g, limits of 0.02 to 0.1 mg/m3. Manganese dioxide "
        "beside carbon: no dry grinding, no heat.",
    ),
)
