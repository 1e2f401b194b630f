"""The one look-up: substance and state to a quantity with unit, uncertainty, source, range, status.

from aerode.properties import lookup, solution, conductivity
lookup("NaCl", "conductivity", temperature=298.15, mass_fraction=0.035)
lookup("toluene", "vapour_pressure", temperature=298.15)
conductivity(solution("KOH", 298.15, molarity=4000.0))
"""

from __future__ import annotations

from aerode.properties.aluminium_cell import (
    COUPLES,
    PRODUCTS,
    anode_bands,
    cell_emf,
    charge_balance,
    couple_potential,
    standard_emf,
    theoretical_capacity,
    thermoneutral,
)
from aerode.properties.answers import PropertyAnswer
from aerode.properties.conduction import (
    calibration_conductivity,
    calibration_factor,
    conductivity,
    second_opinion,
    strength_from_conductivity,
)
from aerode.properties.dissolved_oxygen import (
    air_oxygen_pressure,
    oxygen_diffusivity,
    oxygen_solubility,
)
from aerode.properties.lookup import lookup, properties_of, sources_for
from aerode.properties.recipes import MakeUpSheet, evaporated, make_up_sheet, top_up
from aerode.properties.sea_water import practical_salinity
from aerode.properties.solution_water import (
    activity_coefficient,
    freezing_temperature,
    water_activity,
    water_vapour_pressure,
)
from aerode.properties.solutions import SALTS, Solution, density, solution, viscosity
from aerode.properties.solvents import Hint, SolubilityHint, solubility_hint

__all__ = [
    "COUPLES",
    "PRODUCTS",
    "SALTS",
    "Hint",
    "MakeUpSheet",
    "PropertyAnswer",
    "SolubilityHint",
    "Solution",
    "activity_coefficient",
    "air_oxygen_pressure",
    "anode_bands",
    "calibration_conductivity",
    "calibration_factor",
    "cell_emf",
    "charge_balance",
    "conductivity",
    "couple_potential",
    "density",
    "evaporated",
    "freezing_temperature",
    "lookup",
    "make_up_sheet",
    "oxygen_diffusivity",
    "oxygen_solubility",
    "practical_salinity",
    "properties_of",
    "second_opinion",
    "solubility_hint",
    "solution",
    "sources_for",
    "standard_emf",
    "strength_from_conductivity",
    "theoretical_capacity",
    "thermoneutral",
    "top_up",
    "viscosity",
    "water_activity",
    "water_vapour_pressure",
]
