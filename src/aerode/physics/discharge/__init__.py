"""A cell over hours and days: what is used up, what is made, and what ends it.

Amounts [mol], everything else SI, for the whole cell. Run both ends of what is not known well
(electrons per oxygen, corrosion under load, growth of the product): one run is one assumption.
"""

from __future__ import annotations

from aerode.physics.discharge.chemistry import Electrolyte
from aerode.physics.discharge.loads import (
    ConstantCurrent,
    Load,
    LoadProfile,
    LoadStep,
    Resistor,
)
from aerode.physics.discharge.parameters import (
    AtomicMasses,
    Carbonation,
    Contents,
    DischargeParameters,
    EndConditions,
    Evaporation,
    Heat,
    IonConductivities,
    MolarVolumes,
    Precipitation,
    Wetting,
)
from aerode.physics.discharge.result import Balances, Discharge, EndReason
from aerode.physics.discharge.run import discharge
from aerode.physics.discharge.state import (
    carbonation_rate,
    evaporation_rate,
    saturated_aluminate,
)

__all__ = [
    "AtomicMasses",
    "Balances",
    "Carbonation",
    "ConstantCurrent",
    "Contents",
    "Discharge",
    "DischargeParameters",
    "Electrolyte",
    "EndConditions",
    "EndReason",
    "Evaporation",
    "Heat",
    "IonConductivities",
    "Load",
    "LoadProfile",
    "LoadStep",
    "MolarVolumes",
    "Precipitation",
    "Resistor",
    "Wetting",
    "carbonation_rate",
    "discharge",
    "evaporation_rate",
    "saturated_aluminate",
]
