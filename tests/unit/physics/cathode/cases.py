"""Random cathodes from published seeds: ordinary ones, and hard ones with thin fronts and no oxygen."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from aerode.physics.cathode import (
    CathodeParameters,
    OxygenSupply,
    Sublayer,
    flooded,
    layered,
    limiting_current,
    partly_flooded,
)
from aerode.physics.effectiveness import Shape

SEEDS = (20250101, 20250202, 20250303)  # the hard set is these three
OXYGEN = 8.56


def ordinary_case(rng: np.random.Generator) -> CathodeParameters:
    """A cathode a bench could have made."""
    thickness = rng.uniform(2e-4, 8e-4)
    henry = rng.uniform(0.003, 0.03)
    return CathodeParameters(
        thickness=thickness,
        ionic_conductivity=10 ** rng.uniform(-0.3, 1.2),
        electronic_conductivity=10 ** rng.uniform(1.0, 2.7),
        gas_diffusivity=10 ** rng.uniform(-6.5, -5.5),
        oxygen_air=OXYGEN,
        air_film=5e-3,
        henry_liquid_per_gas=henry,
        agglomerate_radius=10 ** rng.uniform(-7.0, -5.3),
        agglomerate_diffusivity=10 ** rng.uniform(-10.0, -9.0),
        agglomerate_fraction=rng.uniform(0.2, 0.6),
        film_transfer=10 ** rng.uniform(2.0, 4.0),
        exchange_current=10 ** rng.uniform(-7.5, -4.5) * 1e4 / thickness,
        reference_oxygen=henry * OXYGEN,
        tafel_slope=rng.uniform(0.055, 0.140) / math.log(10.0),
        electrons=rng.uniform(2.0, 4.0),
    )


def hard_case(rng: np.random.Generator) -> tuple[CathodeParameters, float]:
    """A cathode and a current with a thin reaction layer, hardly any oxygen, or both."""
    thickness = 10 ** rng.uniform(-4.0, -2.7)
    henry = 10 ** rng.uniform(-2.6, -1.5)
    cathode = CathodeParameters(
        thickness=thickness,
        ionic_conductivity=10 ** rng.uniform(-1.3, 1.3),
        electronic_conductivity=10 ** rng.uniform(0.0, 2.7),
        gas_diffusivity=10 ** rng.uniform(-9.0, -5.3),
        oxygen_air=OXYGEN,
        air_film=float(rng.choice([0.0, 5e-3])),
        henry_liquid_per_gas=henry,
        agglomerate_radius=10 ** rng.uniform(-7.0, -5.0),
        agglomerate_diffusivity=10 ** rng.uniform(-10.0, -9.0),
        agglomerate_fraction=rng.uniform(0.2, 0.6),
        film_transfer=10 ** rng.uniform(0.0, 4.0),
        exchange_current=10 ** rng.uniform(-9.0, -4.0) * 1e4 / thickness,
        reference_oxygen=henry * OXYGEN,
        tafel_slope=rng.uniform(0.055, 0.140) / math.log(10.0),
        electrons=rng.uniform(2.0, 4.0),
    )
    if rng.random() < 0.2:
        cathode = flooded(cathode, 10 ** rng.uniform(-9.5, -8.7))
    # No aluminium cell has three volts to lose in the liquid of its cathode.
    current = min(10 ** rng.uniform(0.5, 3.3), 3.0 * cathode.ionic_conductivity / thickness)
    return cathode, min(current, limiting_current(cathode) * rng.uniform(0.5, 0.999))


def reverse_case(rng: np.random.Generator) -> tuple[CathodeParameters, float]:
    """A hard case with a reverse reaction: as it is, partly drowned, drowned, or drowned and fed from the liquid."""
    cathode, current = hard_case(rng)
    kind, wet = int(rng.integers(4)), 10 ** rng.uniform(-9.5, -8.7)
    if kind == 1:
        grains = replace(cathode, agglomerate_radius=max(cathode.agglomerate_radius, 1e-7))
        cathode = partly_flooded(grains, rng.uniform(0.1, 0.9) * cathode.thickness, wet)
    elif kind > 1 and cathode.agglomerate_radius > 0.0:
        cathode = flooded(cathode, wet)
    if kind == 3:
        cathode = replace(
            cathode,
            oxygen_supply=OxygenSupply.ELECTROLYTE_FACE,
            oxygen_electrolyte=0.2 * rng.uniform(0.2, 1.0),
            electrolyte_film=10 ** rng.uniform(-5.0, -3.5),
        )
    cathode = replace(cathode, back_slope=rng.uniform(0.03, 0.2))
    return cathode, min(current, limiting_current(cathode) * rng.uniform(0.3, 0.999))


def any_supply(
    rng: np.random.Generator, hard: bool, supplies: tuple[OxygenSupply, ...]
) -> CathodeParameters:
    """An ordinary or hard cathode fed from one of these faces, some with a reverse reaction.

    A drowned layer (grains of no size) that is fed from both keeps none: the solver gives up on many.
    """
    cathode = hard_case(rng)[0] if hard else ordinary_case(rng)
    reverse = rng.random() < 0.3
    supply = supplies[rng.integers(len(supplies))]
    if supply is OxygenSupply.BOTH_FACES and cathode.agglomerate_radius == 0.0:
        reverse = False
    return replace(
        cathode,
        oxygen_supply=supply,
        oxygen_electrolyte=cathode.henry_liquid_per_gas * OXYGEN * rng.uniform(0.2, 1.0),
        electrolyte_film=10 ** rng.uniform(-5.0, -3.5),
        back_slope=rng.uniform(0.03, 0.2) if reverse else None,
    )


def special_cases(reference: CathodeParameters) -> dict[str, CathodeParameters]:
    """One cathode for every switch of the model."""
    wet = flooded(reference, 8e-10)
    return {
        "collector at the electrolyte": replace(reference, collector_depth=4e-4),
        "collector inside": replace(reference, collector_depth=1.5e-4, electronic_conductivity=3.0),
        "reverse reaction": replace(reference, back_slope=0.05),
        "slab grains": replace(reference, agglomerate_shape=Shape.SLAB),
        "rod grains": replace(reference, agglomerate_shape=Shape.CYLINDER, agglomerate_radius=2e-5),
        "backing layer": replace(
            reference, backing_thickness=1e-3, backing_diffusivity=1e-7, air_film=0.0
        ),
        "two steps": layered(
            reference,
            (
                Sublayer(thickness=1e-4, ionic_conductivity=0.5),
                Sublayer(thickness=3e-4, exchange_current=500.0, electronic_conductivity=5.0),
            ),
        ),
        "three steps, collector inside": replace(
            layered(
                reference,
                (
                    Sublayer(thickness=1e-4, gas_diffusivity=1e-7),
                    Sublayer(thickness=2e-4, agglomerate_radius=1e-5),
                    Sublayer(thickness=1e-4, film_transfer=500.0, henry_liquid_per_gas=0.01),
                ),
            ),
            collector_depth=2e-4,
        ),
        "partly flooded": partly_flooded(reference, 1e-4, 8e-10),
        "flooded from the air": wet,
        "flooded from the electrolyte": replace(
            wet,
            oxygen_supply=OxygenSupply.ELECTROLYTE_FACE,
            oxygen_electrolyte=0.2,
            electrolyte_film=1e-4,
        ),
        "flooded from both": replace(
            wet,
            oxygen_supply=OxygenSupply.BOTH_FACES,
            oxygen_electrolyte=0.2,
            electrolyte_film=1e-4,
        ),
    }
