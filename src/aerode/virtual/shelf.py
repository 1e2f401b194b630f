"""What stands in the invented net shed: materials, instruments, mixes, electrodes, cells."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from aerode.records.electrodes import (
    Cell,
    Coat,
    Electrode,
    Firmness,
    Layer,
    LayerRole,
    Press,
    RecipeState,
    Seal,
    Sensing,
    Tab,
)
from aerode.records.instruments import Instrument, MeterRange, Sort
from aerode.records.marks import Condition, Entry, Known, Share
from aerode.records.materials import (
    Aluminium,
    Dish,
    Electrolyte,
    Function,
    MeshCard,
    PowderLot,
    Price,
    Solution,
    SolventLot,
)
from aerode.records.mixes import Batch, Ingredient, Mix, Portion
from aerode.records.places import Airing, Bench, Claim, Room
from aerode.virtual.plans import LOADS

if TYPE_CHECKING:
    from numpy.random import Generator

    from aerode.virtual.plans import Plan

__all__ = [
    "bench_and_places",
    "electrode_and_cell",
    "instruments",
    "materials",
    "mix_and_batch",
    "resistor_name",
]

ZERO_CELSIUS = 273.15
DAY = "2026-05-09"


def resistor_name(ohms: float) -> str:
    """The label on a resistor's card."""
    return f"{ohms:g} ohm"


def bench_and_places() -> list[Any]:
    """The bench itself, the shed, and the question asked before the result."""
    return [
        Bench(
            title="Tern Sound beacon (invented demo bench)",
            scale="kitchen scale",
            meter="yellow meter",
        ),
        Room(
            name="net shed",
            volume=Entry(value=60.0, standard_uncertainty=6.0, how="paced out", text="60 m^3"),
            airing=Airing.WINDOW,
            temperature=Condition(
                known=Known.MEASURED, value=ZERO_CELSIUS + 22.0, how="phone", text="22 °C"
            ),
        ),
        Claim(
            name="less binder",
            question="Does less binder give more current at the beacon's voltage?",
            factor="binder",
            at=0.45,
            margin=1.10,
            builds=8,
            made="2026-04-20",
        ),
    ]


def materials() -> list[Any]:
    """Five dry materials, two liquids, a mesh, sea water, roofing aluminium."""
    return [
        PowderLot(
            name="bamboo biochar",
            substance="biochar",
            function=Function.ACTIVE_CARBON,
            moisture=Entry(
                value=0.07, standard_uncertainty=0.02, how="oven, 2 h", text="7 % ± 2 %"
            ),
            largest_grain=Entry(value=90e-6, how="sieve", text="90 um"),
            supplier="own kiln",
            stock=Entry(value=0.400, text="400 g"),
            price=Price(amount=2.0, per_mass=1.0),
        ),
        PowderLot(
            name="lamp black",
            substance="carbon black",
            function=Function.CONDUCTOR,
            moisture=Entry(
                value=0.01, standard_uncertainty=0.005, how="oven, 2 h", text="1 % ± 0.5 %"
            ),
            stock=Entry(value=0.250, text="250 g"),
            price=Price(amount=9.0, per_mass=0.25),
        ),
        PowderLot(
            name="magnetite pigment",
            substance="magnetite",
            function=Function.CATALYST,
            moisture=Entry(
                value=0.005, standard_uncertainty=0.003, how="oven, 2 h", text="0.5 % ± 0.3 %"
            ),
            assay=Entry(value=0.96, how="label", published="label", text="96 %"),
            water_soluble=Entry(
                value=0.031, standard_uncertainty=0.004, how="rinse and dry", text="3.1 %"
            ),
            stock=Entry(value=0.500, text="500 g"),
            price=Price(amount=7.5, per_mass=0.5),
        ),
        Solution(
            name="glass-film PVB",
            polymer="polyvinyl butyral",
            liquid=(Share(of="ethanol", fraction=1.0),),
            dishes=(
                Dish(empty=0.00512, wet=0.01534, dried=0.00636),
                Dish(empty=0.00498, wet=0.01521, dried=0.00627),
                Dish(empty=0.00505, wet=0.01492, dried=0.00628),
            ),
            label_solids=Entry(value=0.15, how="jar label", published="jar label", text="15 %"),
            plasticiser=Entry(
                value=0.26, standard_uncertainty=0.03, how="supplier's sheet", text="26 %"
            ),
            stock=Entry(value=0.600, text="600 g"),
            price=Price(amount=4.0, per_mass=0.5),
        ),
        Solution(
            name="beeswax emulsion",
            polymer="beeswax",
            function=Function.WET_PROOFER,
            liquid=(Share(of="water", fraction=1.0),),
            solids=Entry(value=0.30, standard_uncertainty=0.01, how="one dish", text="30 %"),
            dispersed=True,
            stock=Entry(value=0.200, text="200 g"),
            price=Price(amount=6.0, per_mass=0.25),
        ),
        SolventLot(
            name="ethanol",
            substance="ethanol",
            stock=Entry(value=0.800, text="800 g"),
            price=Price(amount=5.0, per_volume=0.001),
        ),
        MeshCard(
            name="fly screen",
            material="stainless steel",
            wire_diameter=Entry(
                value=0.22e-3, standard_uncertainty=0.01e-3, how="calipers", text="0.22 mm"
            ),
            pitch=Entry(
                value=1.41e-3, standard_uncertainty=0.02e-3, how="ruler over 20", text="1.41 mm"
            ),
            mass_per_area=Entry(
                value=0.43, standard_uncertainty=0.01, how="scale", text="430 g/m^2"
            ),
            magnetic=False,
            lacquered=False,
            price=Price(amount=12.0, per_area=1.0),
        ),
        Electrolyte(
            name="estuary water",
            salt="sea salt",
            mass_fraction=Entry(
                value=0.031, standard_uncertainty=0.0005, how="hydrometer", text="31 g/kg"
            ),
            volume=Entry(value=0.5e-3, text="0.5 L"),
            made=DAY,
        ),
        Aluminium(name="roofing sheet", grade="roofing, not known", surface="sanded, reused"),
    ]


def instruments() -> list[Any]:
    """The meter with its three sockets, the scale, the resistors, thermometer and calipers."""
    meter = Instrument(
        name="yellow meter",
        sort=Sort.MULTIMETER,
        ranges=(
            MeterRange(
                name="2 V",
                full_scale=2.0,
                count=0.001,
                of_reading=0.005,
                counts=2,
                input_resistance=1e7,
            ),
            MeterRange(
                name="200 mA",
                measures="current",
                full_scale=0.2,
                count=0.0001,
                of_reading=0.012,
                counts=3,
                burden=Entry(
                    value=1.90, standard_uncertainty=0.05, how="second meter", text="1.90 ohm"
                ),
            ),
            MeterRange(
                name="10 A socket",
                measures="current",
                full_scale=10.0,
                count=0.01,
                of_reading=0.02,
                counts=3,
                burden=Entry(
                    value=0.13, standard_uncertainty=0.02, how="second meter", text="0.13 ohm"
                ),
            ),
        ),
    )
    resistors = [
        Instrument(
            name=resistor_name(r),
            sort=Sort.RESISTOR,
            nominal_resistance=r,
            tolerance=0.01,
            power_rating=0.5,
        )
        for r in LOADS
    ]
    return [
        meter,
        *resistors,
        Instrument(name="kitchen scale", sort=Sort.SCALE, resolution=1e-5, limit_of_error=2e-5),
        Instrument(
            name="phone thermometer",
            sort=Sort.THERMOMETER,
            resolution=0.1,
            limit_of_error=1.0,
            assumed=True,
        ),
        Instrument(name="calipers", sort=Sort.CALIPERS, resolution=1e-5, limit_of_error=3e-5),
    ]


def _shares(plan: Plan) -> tuple[Share, ...]:
    parts = {
        "bamboo biochar": 0.76 - plan.binder - plan.magnetite,
        "lamp black": 0.20,
        "magnetite pigment": plan.magnetite,
        "glass-film PVB": plan.binder,
        "beeswax emulsion": 0.04,
    }
    return tuple(Share(of=of, fraction=round(part, 6)) for of, part in parts.items() if part > 0)


_DRY = 3.0e-3
"""[kg]; the dry mass of one pot."""


def _portions(plan: Plan) -> tuple[Portion, ...]:
    """What was really weighed for one pot: 3 g of dry mass, to the scale's 0.01 g."""
    dry = _DRY
    as_received = {
        "bamboo biochar": 1.0 / (1.0 - 0.07),
        "lamp black": 1.0 / (1.0 - 0.01),
        "magnetite pigment": 1.0 / (1.0 - 0.005),
        "glass-film PVB": 1.0 / 0.124,
        "beeswax emulsion": 1.0 / 0.30,
    }
    shelf = {"glass-film PVB": Ingredient.SOLUTION, "beeswax emulsion": Ingredient.SOLUTION}
    weighed = [
        Portion(
            of=share.of,
            shelf=shelf.get(share.of, Ingredient.POWDER),
            mass=Entry(
                value=round(dry * share.fraction * as_received[share.of], 5),
                standard_uncertainty=1.2e-5,
                how="kitchen scale",
            ),
        )
        for share in _shares(plan)
    ]
    thinner = Portion(
        of="ethanol", shelf=Ingredient.SOLVENT, mass=Entry(value=3.0e-3, how="kitchen scale")
    )
    return (*weighed, thinner)


def _wet_over_dry(plan: Plan) -> float:
    """How much heavier a coat of this pot is wet than dry."""
    wet = sum(portion.mass.value for portion in _portions(plan) if portion.mass is not None)
    return wet / _DRY


def mix_and_batch(plan: Plan) -> list[Any]:
    """A recipe and the pot made for one electrode: each electrode has its own pot."""
    mix = Mix(name=plan.recipe, wanted=_shares(plan), portions=_portions(plan))
    pot = Batch(
        name=f"pot {plan.name}",
        mix=plan.recipe,
        portions=_portions(plan),
        made="2026-05-02",
        rested=3600.0,
    )
    repeat_of_earlier = plan.name in {"T6", "T7", "T8"}
    return [pot] if repeat_of_earlier else [mix, pot]


def electrode_and_cell(plan: Plan, dice: Generator, *, control: bool = False) -> list[Any]:
    """The electrode as the person would enter it, and the cell it was put in."""
    photo = plan.area * (1.0 + 0.009 * float(dice.standard_normal()))
    tab = plan.joint + 0.02 * float(dice.standard_normal())
    loading = 0.045 * (1.0 + 0.05 * float(dice.standard_normal()))
    thickness = (
        [0.62, 0.66, 0.71, 0.78, 0.81] if plan.name == "T6" else [0.69, 0.70, 0.72, 0.68, 0.71]
    )
    dry_mass = loading * photo * 1e-3
    layer = Layer(
        role=LayerRole.ACTIVE,
        mix="" if control else plan.recipe,
        batch="" if control else f"pot {plan.name}",
        how="brush",
        coats=(
            Coat(wet_mass=0.5 * dry_mass * _wet_over_dry(plan), dry_mass=dry_mass * 0.5),
            Coat(dry_mass=dry_mass * 0.5),
        ),
        dry_mass=Entry(value=dry_mass, standard_uncertainty=1.2e-5, how="kitchen scale"),
    )
    electrode = Electrode(
        name=plan.name,
        recipe="bought" if control else plan.recipe,
        recipe_state=RecipeState.BOUGHT if control else RecipeState.MIX,
        factors={}
        if control
        else {
            "binder": f"{plan.binder * 100:g} %",
            "magnetite": f"{plan.magnetite * 100:g} %",
            "plate temperature": f"{plan.plate:g} °C",
        },
        layers=() if control else (layer,),
        mesh="" if control else "fly screen",
        press=()
        if control
        else (
            Press(
                plate_temperature=Entry(
                    value=ZERO_CELSIUS + plan.plate,
                    standard_uncertainty=4.0,
                    how="probe",
                    text=f"{plan.plate:.0f} °C",
                ),
                duration=300.0,
                firmness=Firmness.FIRM,
                means="laundry iron, two steel plates, C-clamps",
                release="baking paper",
            ),
        ),
        seal=None
        if control
        else Seal(sealant="beeswax bead", overlap=Entry(value=3e-3, text="3 mm")),
        tab=Tab(
            how="fold-crimp",
            resistance=Entry(
                value=round(tab, 2),
                standard_uncertainty=0.03,
                how="two meters",
                text=f"{tab:.2f} ohm",
            ),
        ),
        wetted_area=Entry(
            value=round(photo, 2) * 1e-4,
            standard_uncertainty=0.009 * photo * 1e-4,
            how="photo with marker sheet",
            text=f"{photo:.2f} cm^2",
        ),
        thickness=() if control else tuple(t * 1e-3 for t in thickness),
        control=control,
        ageing_per_run=Entry(
            value=0.0,
            standard_uncertainty=0.002,
            how="three days of runs in April, fresh aluminium",
        )
        if control
        else None,
        made="2025-11-01" if control else "2026-05-05",
        photos=() if plan.name == "T3" else (f"{plan.name}.jpg",),
        note="cut with the wide gasket" if plan.name == "T6" else "",
    )
    cell = Cell(
        name=f"cell {plan.name}",
        electrode=plan.name,
        aluminium="roofing sheet",
        aluminium_area=Entry(value=12e-4, standard_uncertainty=0.3e-4, how="ruler", text="12 cm^2"),
        electrolyte="estuary water",
        gap=Entry(value=4e-3, standard_uncertainty=0.3e-3, how="printed spacer", text="4 mm"),
        sensing=Sensing.CLIPS,
    )
    return [electrode, cell]
