"""Cells of the invented Tern Sound beacon, for examples and tests: round numbers, no claim to be real.

Nothing else in the program takes a figure from here.
"""

from __future__ import annotations

from aerode.physics.anode import AnodeParameters, CorrosionWithCurrent
from aerode.physics.cell import CellParameters
from aerode.physics.cell_cathode import lumped_cathode
from aerode.physics.discharge.chemistry import Electrolyte
from aerode.physics.discharge.parameters import (
    AtomicMasses,
    Contents,
    DischargeParameters,
    Heat,
    IonConductivities,
    MolarVolumes,
)

__all__ = ["beacon_cell", "lye_cell"]

_MASSES = AtomicMasses(
    aluminium=26.9815385e-3, oxygen=15.999e-3, hydrogen=1.008e-3, carbon=12.011e-3
)  # standard atomic weights, rounded (status: unverified, from memory)
_VOLUMES = MolarVolumes(  # judgement: round numbers of an invented cell
    water=18.07e-6,
    hydroxide=12e-6,
    chloride=20e-6,
    aluminate=55e-6,
    carbonate=25e-6,
    solid=32e-6,
    gel_over_solid=8.0,
)
_IONS = IonConductivities(  # judgement: round numbers of an invented cell
    cation=73.5e-4,
    hydroxide=198e-4,
    chloride=76.3e-4,
    aluminate=45e-4,
    carbonate=138e-4,
    peroxide=60e-4,
    temperature_coefficient=0.02,
)


def _cell(
    conductivity: float, corrosion: float, rest: float, open_circuit: float
) -> CellParameters:
    """Judgement: round numbers of an invented cell."""
    anode = AnodeParameters(
        rest_potential=rest,
        resistance=1e-4,
        corrosion_at_rest=corrosion,
        under_load=CorrosionWithCurrent(change_per_current=0.0),
    )
    cathode = lumped_cathode(
        open_circuit=open_circuit,
        tafel_slope=0.04,
        mixed_current=0.5,
        resistance=3e-4,
        limit=1500.0,
    )
    return CellParameters(cathode=cathode, anode=anode, gap=3e-3, conductivity=conductivity)


def lye_cell() -> DischargeParameters:
    """A bench trial of the beacon's cell in lye, with nothing beside current and corrosion.

    Returns
    -------
    DischargeParameters
        10 cm2, 2 g of aluminium, 50 mL of 4 mol/L lye [SI].

    Notes
    -----
    For examples and tests only; every figure is invented or rounded (a judgement).

    Examples
    --------
    >>> lye_cell().electrolyte.value
    'lye'
    """
    return DischargeParameters(
        cell=_cell(57.0, 50.0, -1.45, 0.05),
        cathode_area=1e-3,
        electrolyte=Electrolyte.LYE,
        electrons=4.0,
        contents=Contents(aluminium=2.0 / 26.9815385, water=2.64, hydroxide=0.2),
        masses=_MASSES,
        volumes=_VOLUMES,
        ions=_IONS,
        heat=Heat(thermoneutral=2.915, corrosion_thermoneutral=1.434),
        room_temperature=298.15,
        start_temperature=298.15,
    )


def beacon_cell() -> DischargeParameters:
    """One cell of the beacon in salt water, with nothing beside current and corrosion.

    Returns
    -------
    DischargeParameters
        21 cm2, 3 g of aluminium, 0.6 mol/L salt water [SI].

    Notes
    -----
    For examples and tests only; every figure is invented or rounded (a judgement).

    Examples
    --------
    >>> beacon_cell().contents.hydroxide
    0.0
    """
    return DischargeParameters(
        cell=_cell(5.6, 0.5, -0.75, 0.0),
        cathode_area=2.1e-3,
        electrolyte=Electrolyte.BRINE,
        electrons=4.0,
        contents=Contents(aluminium=3.0 / 26.9815385, water=5.46, chloride=0.06),
        masses=_MASSES,
        volumes=_VOLUMES,
        ions=_IONS,
        heat=Heat(thermoneutral=2.986, corrosion_thermoneutral=1.505),
        room_temperature=298.15,
        start_temperature=298.15,
    )
