"""What the cathode model needs to know: one frozen set of effective properties, all in SI.

Nothing here is looked up and nothing is guessed: the number of electrons per oxygen in
particular has no default, because two and four differ by a factor of two in every oxygen limit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from enum import StrEnum

from aerode.errors import FieldFault, RecordError
from aerode.physics.effectiveness import Shape

__all__ = [
    "BOUNDS",
    "MAY_BE_INFINITE",
    "CathodeParameters",
    "OxygenSupply",
    "Sublayer",
    "flooded",
    "layered",
    "partly_flooded",
]

# Diffusivity of oxygen in still air at 25 °C: 2.00e-5 (in air) to 2.07e-5 m²/s (in nitrogen) with
# the transport data of cantera. Only the default of a field that every caller may set.
_AIR_DIFFUSIVITY = 2.05e-5
ROUNDED = 1.0 + 1e-12  # numerical: two depths this near to each other are equal


class OxygenSupply(StrEnum):
    """The face through which oxygen enters."""

    AIR_FACE = "air face"
    ELECTROLYTE_FACE = "electrolyte face"
    BOTH_FACES = "both faces"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sublayer:
    """One step of a layer whose properties jump in depth; None takes the value of the whole.

    Parameters
    ----------
    thickness : float
        Thickness of this step [m].
    ionic_conductivity, electronic_conductivity : float or None
        Effective conductivities [S/m].
    gas_diffusivity : float or None
        Effective diffusivity of oxygen in the pores [m²/s].
    henry_liquid_per_gas : float or None
        Dissolved over gaseous concentration [1].
    agglomerate_radius, agglomerate_diffusivity, agglomerate_fraction : float or None
        Size [m], dissolved-oxygen diffusivity [m²/s] and volume share [1] of the wet grains.
    film_transfer : float or None
        Transfer coefficient of the wet film per layer volume [1/s].
    exchange_current : float or None
        Exchange current per layer volume at the reference oxygen [A/m³].
    """

    thickness: float
    ionic_conductivity: float | None = None
    electronic_conductivity: float | None = None
    gas_diffusivity: float | None = None
    henry_liquid_per_gas: float | None = None
    agglomerate_radius: float | None = None
    agglomerate_diffusivity: float | None = None
    agglomerate_fraction: float | None = None
    film_transfer: float | None = None
    exchange_current: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CathodeParameters:
    """Effective properties of one porous air cathode; depth 0 is the air face.

    Parameters
    ----------
    thickness : float
        Thickness of the porous layer [m].
    ionic_conductivity, electronic_conductivity : float
        Effective conductivity of the liquid and of the solid in the layer [S/m].
    gas_diffusivity : float
        Effective diffusivity of oxygen in the pores [m²/s].
    oxygen_air : float
        Oxygen in the surrounding air, far from the electrode [mol/m³].
    air_film : float
        Thickness of the still air in front of the air face [m].
    henry_liquid_per_gas : float
        Dissolved over gaseous oxygen concentration at equilibrium [1].
    agglomerate_radius : float
        Radius of the wet grains; 0 means no diffusion limit inside them [m].
    agglomerate_diffusivity : float
        Diffusivity of dissolved oxygen in the grains [m²/s].
    agglomerate_fraction : float
        Volume of wet grains per layer volume [1].
    film_transfer : float
        Transfer through the wet film, per layer volume; infinity means no film [1/s].
    exchange_current : float
        Exchange current per layer volume at `reference_oxygen` [A/m³].
    reference_oxygen : float
        Dissolved oxygen to which `exchange_current` belongs [mol/m³].
    tafel_slope : float
        Overpotential per e-fold of current, b = RT/(αF) [V].
    electrons : float
        Electrons per oxygen molecule, between 2 (peroxide) and 4 (hydroxide) [1].
    back_slope : float or None
        Overpotential per e-fold of the reverse reaction, RT/((1−α)F); None leaves it out [V].
    agglomerate_shape : Shape
        Ball, rod or film.
    air_diffusivity : float
        Diffusivity of oxygen in the still air [m²/s].
    backing_thickness, backing_diffusivity : float
        A dry, inactive layer between the air and the porous layer [m], [m²/s].
    collector_depth : float
        Depth of the collector mesh: 0 at the air face, `thickness` at the electrolyte face [m].
    oxygen_supply : OxygenSupply
        The face through which oxygen enters.
    oxygen_electrolyte : float
        Dissolved oxygen in the electrolyte, far from the electrode [mol/m³].
    electrolyte_film : float
        Still liquid in front of the electrolyte face [m].
    dissolved_diffusivity : float
        Diffusivity of dissolved oxygen in that still liquid [m²/s].
    sublayers : tuple of Sublayer
        Steps from the air face inwards where properties jump in depth; empty for a uniform layer.

    Raises
    ------
    RecordError
        If one or more values are not possible; every one of them is listed.

    Examples
    --------
    >>> cathode = CathodeParameters(
    ...     thickness=4e-4, ionic_conductivity=2.0, electronic_conductivity=50.0,
    ...     gas_diffusivity=2e-6, oxygen_air=8.56, air_film=0.0, henry_liquid_per_gas=0.0265,
    ...     agglomerate_radius=2e-6, agglomerate_diffusivity=5e-10, agglomerate_fraction=0.4,
    ...     film_transfer=50.0, exchange_current=50.0, reference_oxygen=0.22684,
    ...     tafel_slope=0.05138558, electrons=4.0)
    >>> cathode.thickness
    0.0004
    """

    thickness: float
    ionic_conductivity: float
    electronic_conductivity: float
    gas_diffusivity: float
    oxygen_air: float
    air_film: float
    henry_liquid_per_gas: float
    agglomerate_radius: float
    agglomerate_diffusivity: float
    agglomerate_fraction: float
    film_transfer: float
    exchange_current: float
    reference_oxygen: float
    tafel_slope: float
    electrons: float
    back_slope: float | None = None
    agglomerate_shape: Shape = Shape.SPHERE
    air_diffusivity: float = _AIR_DIFFUSIVITY
    backing_thickness: float = 0.0
    backing_diffusivity: float = _AIR_DIFFUSIVITY
    collector_depth: float = 0.0
    oxygen_supply: OxygenSupply = OxygenSupply.AIR_FACE
    oxygen_electrolyte: float = 0.0
    electrolyte_film: float = 0.0
    dissolved_diffusivity: float = 2.0e-9  # m²/s, oxygen in water at 25 degC: han_bartels_1996
    sublayers: tuple[Sublayer, ...] = ()

    def __post_init__(self) -> None:
        faults = _faults(self)
        if faults:
            raise RecordError("the cathode parameters cannot be taken", tuple(faults))


# Field: (least value, least allowed itself?, greatest value or infinity). The ends that are not
# nature's are judgement: past a layer of 0.1 m, a grain of 1 cm or a slope of 1 mV or 1 V a unit has slipped.
BOUNDS: dict[str, tuple[float, bool, float]] = {
    "thickness": (0.0, False, 0.1),
    "ionic_conductivity": (0.0, False, math.inf),
    "electronic_conductivity": (0.0, False, math.inf),
    "gas_diffusivity": (0.0, False, math.inf),
    "oxygen_air": (0.0, True, math.inf),
    "air_film": (0.0, True, math.inf),
    "henry_liquid_per_gas": (0.0, False, math.inf),
    "agglomerate_radius": (0.0, True, 1e-2),
    "agglomerate_diffusivity": (0.0, False, math.inf),
    "agglomerate_fraction": (0.0, False, 1.0),
    "film_transfer": (0.0, False, math.inf),
    "exchange_current": (0.0, False, math.inf),
    "reference_oxygen": (0.0, False, math.inf),
    "tafel_slope": (1e-3, True, 1.0),
    "electrons": (1.0, True, 4.0),
    "back_slope": (1e-3, True, 10.0),
    "air_diffusivity": (0.0, False, math.inf),
    "backing_thickness": (0.0, True, math.inf),
    "backing_diffusivity": (0.0, False, math.inf),
    "oxygen_electrolyte": (0.0, True, math.inf),
    "electrolyte_film": (0.0, True, math.inf),
    "dissolved_diffusivity": (0.0, False, math.inf),
    "collector_depth": (0.0, True, math.inf),
}
MAY_BE_INFINITE = frozenset({"film_transfer", "ionic_conductivity", "electronic_conductivity"})


def _faults(parameters: CathodeParameters) -> list[FieldFault]:
    faults = [
        fault
        for name, bound in BOUNDS.items()
        for fault in _out_of_bounds(name, name, getattr(parameters, name), bound)
    ]
    for number, step in enumerate(parameters.sublayers):
        for field in fields(step):
            path = f"sublayers.{number}.{field.name}"
            value = getattr(step, field.name)
            faults.extend(_out_of_bounds(path, field.name, value, BOUNDS[field.name]))
    return faults or _contradictions(parameters)


def _out_of_bounds(
    path: str, name: str, value: float | None, bound: tuple[float, bool, float]
) -> list[FieldFault]:
    if value is None:
        return []
    least, closed, greatest = bound
    above = value >= least if closed else value > least
    finite = math.isfinite(value) or (name in MAY_BE_INFINITE and value == math.inf)
    if finite and above and value <= greatest:
        return []
    sign = "at least" if closed else "more than"
    upper = "" if greatest == math.inf else f", at most {greatest:g}"
    return [FieldFault(path, "not possible", f"{sign} {least:g}{upper}", repr(value))]


def _contradictions(parameters: CathodeParameters) -> list[FieldFault]:
    faults: list[FieldFault] = []
    total = sum(step.thickness for step in parameters.sublayers)
    if parameters.sublayers and abs(total - parameters.thickness) > 1e-9 * parameters.thickness:
        faults.append(FieldFault("thickness", "not the sum of the sublayers", f"{total:g}"))
    if parameters.collector_depth > parameters.thickness * ROUNDED:
        faults.append(FieldFault("collector_depth", "deeper than the layer", "0 to thickness"))
    supply = parameters.oxygen_supply
    if supply is not OxygenSupply.ELECTROLYTE_FACE and parameters.oxygen_air == 0.0:
        faults.append(FieldFault("oxygen_air", "no oxygen in the air", "more than 0"))
    if supply is OxygenSupply.ELECTROLYTE_FACE and parameters.oxygen_electrolyte == 0.0:
        faults.append(FieldFault("oxygen_electrolyte", "no oxygen dissolved", "more than 0"))
    return faults


def layered(parameters: CathodeParameters, sublayers: tuple[Sublayer, ...]) -> CathodeParameters:
    """Give the cathode with steps in depth; its thickness becomes the sum of the steps.

    Parameters
    ----------
    parameters : CathodeParameters
        The cathode whose values hold where a step says nothing.
    sublayers : tuple of Sublayer
        Steps from the air face inwards.

    Returns
    -------
    CathodeParameters
        The stepped cathode. A collector at the electrolyte face stays at that face.

    Raises
    ------
    RecordError
        If a value is not possible.

    Examples
    --------
    >>> from dataclasses import replace
    >>> base = CathodeParameters(
    ...     thickness=4e-4, ionic_conductivity=2.0, electronic_conductivity=50.0,
    ...     gas_diffusivity=2e-6, oxygen_air=8.56, air_film=0.0, henry_liquid_per_gas=0.0265,
    ...     agglomerate_radius=2e-6, agglomerate_diffusivity=5e-10, agglomerate_fraction=0.4,
    ...     film_transfer=50.0, exchange_current=50.0, reference_oxygen=0.22684,
    ...     tafel_slope=0.05138558, electrons=4.0)
    >>> layered(base, (Sublayer(thickness=1e-4), Sublayer(thickness=2e-4))).thickness
    0.00030000000000000003
    """
    total = sum(step.thickness for step in sublayers)
    at_the_end = parameters.collector_depth >= parameters.thickness
    depth = total if at_the_end else parameters.collector_depth
    return replace(parameters, thickness=total, collector_depth=depth, sublayers=sublayers)


def flooded(parameters: CathodeParameters, dissolved_diffusivity: float) -> CathodeParameters:
    """Give the same cathode with all its pores full of liquid.

    Parameters
    ----------
    parameters : CathodeParameters
        A uniform cathode.
    dissolved_diffusivity : float
        Effective diffusivity of dissolved oxygen in the filled pores [m²/s].

    Returns
    -------
    CathodeParameters
        No film and no agglomerate limit remain; oxygen crosses the layer dissolved.

    Raises
    ------
    RecordError
        If a value is not possible.

    Notes
    -----
    Concentrations stay counted as the gas that would stand in equilibrium with the liquid, so the
    diffusivity is multiplied by Henry's ratio: N = −D_l d(Hc)/dx. Limiting case of a porous gas
    electrode with the gas term switched off.

    Examples
    --------
    >>> base = CathodeParameters(
    ...     thickness=4e-4, ionic_conductivity=2.0, electronic_conductivity=50.0,
    ...     gas_diffusivity=2e-6, oxygen_air=8.56, air_film=0.0, henry_liquid_per_gas=0.025,
    ...     agglomerate_radius=2e-6, agglomerate_diffusivity=5e-10, agglomerate_fraction=0.4,
    ...     film_transfer=50.0, exchange_current=50.0, reference_oxygen=0.212,
    ...     tafel_slope=0.05138558, electrons=4.0)
    >>> flooded(base, 8e-10).agglomerate_radius
    0.0
    """
    return replace(
        parameters,
        gas_diffusivity=dissolved_diffusivity * parameters.henry_liquid_per_gas,
        agglomerate_radius=0.0,
        film_transfer=math.inf,
        sublayers=(),
    )


def partly_flooded(
    parameters: CathodeParameters, flooded_depth: float, dissolved_diffusivity: float
) -> CathodeParameters:
    """Give the same cathode with liquid standing in its pores up to a depth from the electrolyte.

    Parameters
    ----------
    parameters : CathodeParameters
        A uniform cathode.
    flooded_depth : float
        How far the liquid stands in, counted from the electrolyte face, less than the thickness [m].
    dissolved_diffusivity : float
        Effective diffusivity of dissolved oxygen in the filled pores [m²/s].

    Returns
    -------
    CathodeParameters
        A dry step on the air side and a flooded one on the electrolyte side.

    Raises
    ------
    RecordError
        If a value is not possible.

    Examples
    --------
    >>> base = CathodeParameters(
    ...     thickness=4e-4, ionic_conductivity=2.0, electronic_conductivity=50.0,
    ...     gas_diffusivity=2e-6, oxygen_air=8.56, air_film=0.0, henry_liquid_per_gas=0.025,
    ...     agglomerate_radius=2e-6, agglomerate_diffusivity=5e-10, agglomerate_fraction=0.4,
    ...     film_transfer=50.0, exchange_current=50.0, reference_oxygen=0.212,
    ...     tafel_slope=0.05138558, electrons=4.0)
    >>> len(partly_flooded(base, 1e-4, 8e-10).sublayers)
    2
    """
    dry = Sublayer(thickness=parameters.thickness - flooded_depth)
    wet = Sublayer(
        thickness=flooded_depth,
        gas_diffusivity=dissolved_diffusivity * parameters.henry_liquid_per_gas,
        agglomerate_radius=0.0,
        film_transfer=math.inf,
    )
    return layered(parameters, (dry, wet))
