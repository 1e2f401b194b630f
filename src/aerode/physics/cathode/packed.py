"""A cathode as two plain arrays: what the solvers, plain and compiled, both read."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from aerode.physics.cathode.parameters import CathodeParameters, OxygenSupply, Sublayer
from aerode.physics.constants import FARADAY
from aerode.physics.effectiveness import Shape, characteristic_length

__all__ = ["PackedCathode", "pack"]

Floats = NDArray[np.float64]

# Columns of `steps`, one row per step in depth.
THICKNESS = 0  # [m]
IONIC = 1  # 1/κ [Ω·m]
ELECTRONIC = 2  # 1/σ [Ω·m]
OXYGEN = 3  # 1/(nF D) [mol·s/(C·m²)]
LOG_RATE = 4  # ln of the rate constant at no overpotential, a i0/(nF c_ref) [1/s]
LOG_GRAIN = 5  # ln(ℓ²/(f D_ag)) [s]
FILM = 6  # 1/k_f [s]
CHARGE = 7  # nF H [C/mol]
BEYOND = 8  # 1 where the collector lies on the air side of the step, else 0
STEP_COLUMNS = 9

# Entries of `whole`.
INVERSE_SLOPE = 0  # 1/b [1/V]
REVERSE = 1  # 1/b + 1/b_back, or 0 without a reverse reaction [1/V]
REFERENCE = 2  # nF c_ref [C/m³]
SUPPLY = 3  # 0 air face, 1 electrolyte face, 2 both
AIR = 4  # oxygen in the air [mol/m³]
AIR_RESISTANCE = 5  # film and backing over nF [mol·m²/(m³·A)]
LIQUID = 6  # oxygen in the electrolyte as gas in equilibrium [mol/m³]
LIQUID_RESISTANCE = 7  # still liquid over nF, for that gas [mol·m²/(m³·A)]
SHAPE = 8  # 0 sphere, 1 cylinder, 2 slab
WHOLE_ENTRIES = 9

# Numerical: ln of a grain time so short that its modulus is nothing: "no diffusion limit in the grains".
NO_GRAIN = -1e3

SUPPLIES = (OxygenSupply.AIR_FACE, OxygenSupply.ELECTROLYTE_FACE, OxygenSupply.BOTH_FACES)
SHAPES = (Shape.SPHERE, Shape.CYLINDER, Shape.SLAB)


@dataclass(frozen=True, slots=True)
class PackedCathode:
    """The arrays the solvers read.

    Parameters
    ----------
    steps : ndarray, shape (S, 9)
        One row per step in depth, columns named in this module.
    whole : ndarray, shape (9,)
        What belongs to the electrode as a whole, entries named in this module.

    Examples
    --------
    >>> PackedCathode(np.ones((1, 9)), np.ones(9)).total_thickness
    1.0
    """

    steps: Floats
    whole: Floats

    @property
    def total_thickness(self) -> float:
        """Thickness of the layer [m]."""
        return float(self.steps[:, THICKNESS].sum())


# judgement: so many cathodes are remembered
@lru_cache(maxsize=512)
def pack(parameters: CathodeParameters) -> PackedCathode:
    """Give the arrays of a cathode; a step is cut in two where the collector lies inside it.

    Parameters
    ----------
    parameters : CathodeParameters
        The cathode.

    Returns
    -------
    PackedCathode
        Read-only arrays.

    Examples
    --------
    >>> cathode = CathodeParameters(
    ...     thickness=4e-4, ionic_conductivity=2.0, electronic_conductivity=50.0,
    ...     gas_diffusivity=2e-6, oxygen_air=8.56, air_film=0.0, henry_liquid_per_gas=0.0265,
    ...     agglomerate_radius=2e-6, agglomerate_diffusivity=5e-10, agglomerate_fraction=0.4,
    ...     film_transfer=50.0, exchange_current=50.0, reference_oxygen=0.22684,
    ...     tafel_slope=0.05138558, electrons=4.0, collector_depth=1e-4)
    >>> pack(cathode).steps.shape
    (2, 9)
    """
    steps = parameters.sublayers or (Sublayer(thickness=parameters.thickness),)
    rows: list[list[float]] = []
    depth = 0.0
    for step in steps:
        rows.extend(_rows(parameters, step, depth))
        depth += step.thickness
    table = np.array(rows)
    whole = _whole(parameters, float(rows[-1][CHARGE]))
    table.setflags(write=False)
    whole.setflags(write=False)
    return PackedCathode(table, whole)


def _rows(whole: CathodeParameters, step: Sublayer, depth: float) -> list[list[float]]:
    """One row, or two where the collector cuts the step (closer than 1e-9 to an edge: none)."""
    margin = 1e-9 * whole.thickness
    above = whole.collector_depth - depth
    row = _row(whole, step)
    if above <= margin:
        return [[step.thickness, *row, 1.0]]
    if above >= step.thickness - margin:
        return [[step.thickness, *row, 0.0]]
    return [[above, *row, 0.0], [step.thickness - above, *row, 1.0]]


def _row(whole: CathodeParameters, step: Sublayer) -> list[float]:
    def of(name: str) -> float:
        own: float | None = getattr(step, name)
        value: float = getattr(whole, name) if own is None else own
        return value

    charge = whole.electrons * FARADAY
    length = characteristic_length(whole.agglomerate_shape, of("agglomerate_radius"))
    wet = of("agglomerate_fraction") * of("agglomerate_diffusivity")
    return [
        1.0 / of("ionic_conductivity"),
        1.0 / of("electronic_conductivity"),
        1.0 / (charge * of("gas_diffusivity")),
        math.log(of("exchange_current") / (charge * whole.reference_oxygen)),
        math.log(length**2 / wet) if length > 0.0 else NO_GRAIN,
        1.0 / of("film_transfer"),
        charge * of("henry_liquid_per_gas"),
    ]


def _whole(parameters: CathodeParameters, last_charge: float) -> Floats:
    charge = parameters.electrons * FARADAY
    henry = last_charge / charge
    back = parameters.back_slope
    reverse = 0.0 if back is None else 1.0 / parameters.tafel_slope + 1.0 / back
    air = parameters.air_film / parameters.air_diffusivity
    air += parameters.backing_thickness / parameters.backing_diffusivity
    liquid = parameters.electrolyte_film / (parameters.dissolved_diffusivity * henry)
    return np.array(
        [
            1.0 / parameters.tafel_slope,
            reverse,
            charge * parameters.reference_oxygen,
            float(SUPPLIES.index(parameters.oxygen_supply)),
            parameters.oxygen_air,
            air / charge,
            parameters.oxygen_electrolyte / henry,
            liquid / charge,
            float(SHAPES.index(parameters.agglomerate_shape)),
        ]
    )
