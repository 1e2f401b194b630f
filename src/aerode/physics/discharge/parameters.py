"""What a discharge run needs to know: the cell, what is in it, and each slow process beside the current.

Every figure comes from the caller with its source. A process left at None does not take place;
nothing of the chemistry is assumed here.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass

from aerode.errors import RangeError
from aerode.physics import checked_inputs
from aerode.physics.cell import CellParameters
from aerode.physics.checked_scalars import above_zero, not_negative
from aerode.physics.discharge.chemistry import Electrolyte

__all__ = [
    "AtomicMasses",
    "Carbonation",
    "Contents",
    "DischargeParameters",
    "EndConditions",
    "Evaporation",
    "Heat",
    "IonConductivities",
    "MolarVolumes",
    "Precipitation",
    "Wetting",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class AtomicMasses:
    """Atomic masses of what moves.

    Parameters
    ----------
    aluminium, oxygen, hydrogen, carbon : float
        Standard atomic masses [kg/mol].
    """

    aluminium: float
    oxygen: float
    hydrogen: float
    carbon: float

    def __post_init__(self) -> None:
        above_zero(
            aluminium=self.aluminium,
            oxygen=self.oxygen,
            hydrogen=self.hydrogen,
            carbon=self.carbon,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Contents:
    """What is in the cell at the start; the one kind of cation follows from the charges.

    Parameters
    ----------
    aluminium : float
        Metal in contact with the liquid [mol].
    water : float
        In the liquid [mol].
    hydroxide, chloride, aluminate, carbonate : float
        Dissolved; free hydroxide only for lye [mol].
    """

    aluminium: float
    water: float
    hydroxide: float = 0.0
    chloride: float = 0.0
    aluminate: float = 0.0
    carbonate: float = 0.0

    def __post_init__(self) -> None:
        above_zero(aluminium=self.aluminium, water=self.water)
        not_negative(
            hydroxide=self.hydroxide,
            chloride=self.chloride,
            aluminate=self.aluminate,
            carbonate=self.carbonate,
        )
        if self.cation <= 0.0:
            raise RangeError("no ions at all", where="contents", allowed="lye or salt in the water")

    @property
    def cation(self) -> float:
        """The cation that balances the charges [mol]."""
        return self.hydroxide + self.chloride + self.aluminate + 2.0 * self.carbonate


@dataclass(frozen=True, slots=True, kw_only=True)
class MolarVolumes:
    """Volumes per mol, with the cation counted into each salt.

    Parameters
    ----------
    water, hydroxide, chloride, aluminate, carbonate : float
        In the liquid [m^3/mol].
    solid : float
        Dry aluminium hydroxide [m^3/mol].
    gel_over_solid : float
        Volume of the settled gel over that of the dry solid in it, 1 or more [1].
    """

    water: float
    hydroxide: float
    chloride: float
    aluminate: float
    carbonate: float
    solid: float
    gel_over_solid: float

    def __post_init__(self) -> None:
        above_zero(water=self.water, solid=self.solid)
        not_negative(
            hydroxide=self.hydroxide,
            chloride=self.chloride,
            aluminate=self.aluminate,
            carbonate=self.carbonate,
        )
        if not 1.0 <= self.gel_over_solid < 1e3:  # judgement: a slip beyond it
            raise RangeError(
                "gel smaller than its solid", where="gel over solid", allowed="1 to 1000"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class IonConductivities:
    """Molar conductivities of the ions; only their ratios matter, the start value is measured.

    Parameters
    ----------
    cation, hydroxide, chloride, aluminate, carbonate, peroxide : float
        Per mol of ion (carbonate: per mol, twice its equivalent value) [S m^2/mol].
    temperature_coefficient : float
        Relative change of the conductivity per kelvin, at the start temperature [1/K].
    """

    cation: float
    hydroxide: float
    chloride: float
    aluminate: float
    carbonate: float
    peroxide: float
    temperature_coefficient: float = 0.0

    def __post_init__(self) -> None:
        above_zero(cation=self.cation)
        not_negative(
            hydroxide=self.hydroxide,
            chloride=self.chloride,
            aluminate=self.aluminate,
            carbonate=self.carbonate,
            peroxide=self.peroxide,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Precipitation:
    """Aluminium hydroxide leaving lye.

    Parameters
    ----------
    log_constant : float
        Decadic logarithm of [OH-]/[Al(OH)4-] at saturation, at `reference_temperature` [1].
    enthalpy : float
        Of Al(OH)4- = Al(OH)3 + OH- [J/mol].
    reference_temperature : float
        Temperature of `log_constant` [K].
    activity_ratio : float
        What strong lye holds over the dilute limit: 1 or more, a band [1].
    onset_ratio : float
        Aluminate over saturation at which the first solid forms; 1 with seeds about [1].
    growth_constant : float
        Growth per seed area and square of supersaturation, at infinite temperature [m^4/(mol s)].
    growth_temperature : float
        Activation energy over the gas constant [K].
    seed_area : float
        Surface once the first solid has formed [m^2].
    area_per_solid : float
        Surface that grows with the solid [m^2/mol].
    """

    log_constant: float
    enthalpy: float
    reference_temperature: float
    activity_ratio: float
    onset_ratio: float
    growth_constant: float
    growth_temperature: float
    seed_area: float
    area_per_solid: float = 0.0

    def __post_init__(self) -> None:
        above_zero(
            reference_temperature=self.reference_temperature,
            activity_ratio=self.activity_ratio,
            onset_ratio=self.onset_ratio,
            seed_area=self.seed_area,
        )
        not_negative(
            growth_constant=self.growth_constant,
            growth_temperature=self.growth_temperature,
            area_per_solid=self.area_per_solid,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Carbonation:
    """Carbon dioxide from the air turning hydroxide into carbonate.

    Parameters
    ----------
    carbon_dioxide : float
        In the air [mol/m^3].
    gas_transfer : float
        Diffusivity over the still layer, or a measured coefficient [m/s].
    liquid_per_gas : float
        Dissolved over gaseous concentration at equilibrium [1].
    rate_constant : float
        Of CO2 + OH- [m^3/(mol s)].
    diffusivity : float
        Of carbon dioxide in the liquid [m^2/s].
    area : float
        Of liquid open to the air, through the cathode and beside it [m^2].
    """

    carbon_dioxide: float
    gas_transfer: float
    liquid_per_gas: float
    rate_constant: float
    diffusivity: float
    area: float

    def __post_init__(self) -> None:
        above_zero(
            gas_transfer=self.gas_transfer,
            liquid_per_gas=self.liquid_per_gas,
            rate_constant=self.rate_constant,
            diffusivity=self.diffusivity,
        )
        not_negative(carbon_dioxide=self.carbon_dioxide, area=self.area)


@dataclass(frozen=True, slots=True, kw_only=True)
class Evaporation:
    """Water leaving to the room, or coming from it.

    Parameters
    ----------
    transfer : float
        Diffusivity over the still layer, dry layer counted [m/s].
    saturation_pressure : callable, float [K] -> float [Pa]
        Of pure water.
    room_vapour : float
        Water vapour in the room [mol/m^3].
    area : float
        Of liquid open to the air [m^2].
    molality, activity : tuple of float
        Table of water activity over mol of cation per kilogram of water, rising molality; its
        ends are held beyond.
    enthalpy : float
        Of evaporation [J/mol].
    """

    transfer: float
    saturation_pressure: Callable[[float], float]
    room_vapour: float
    area: float
    molality: tuple[float, ...]
    activity: tuple[float, ...]
    enthalpy: float

    def __post_init__(self) -> None:
        above_zero(transfer=self.transfer)
        not_negative(room_vapour=self.room_vapour, area=self.area, enthalpy=self.enthalpy)
        table = checked_inputs.not_negative("molality", self.molality)
        checked_inputs.above_zero("water activity", self.activity)
        rising = all(b > a for a, b in itertools.pairwise(table))
        if table.size == 0 or table.size != len(self.activity) or not rising:
            raise RangeError(
                "not a table", where="water activity", allowed="as many activities, rising molality"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Heat:
    """Heat made, kept and passed on.

    Parameters
    ----------
    thermoneutral : float
        Of the cell reaction with its product [V].
    corrosion_thermoneutral : float
        Heat of corrosion by water per charge [V].
    precipitation : float
        Heat given off per solid formed in lye; 0 where `thermoneutral` is that of the solid [J/mol].
    capacity : float or None
        Of the whole cell; None holds it at the room's temperature [J/K].
    loss : float
        Heat passed to the room per kelvin of difference [W/K].
    """

    thermoneutral: float
    corrosion_thermoneutral: float
    precipitation: float = 0.0
    capacity: float | None = None
    loss: float = 0.0

    def __post_init__(self) -> None:
        above_zero(
            thermoneutral=self.thermoneutral,
            corrosion_thermoneutral=self.corrosion_thermoneutral,
        )
        not_negative(loss=self.loss)
        if self.capacity is not None:
            above_zero(heat_capacity=self.capacity)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wetting:
    """The share of the cathode's face that has drowned, settling slowly.

    Parameters
    ----------
    start, end : float
        Share at the start and after long [1].
    time_constant : float
        From repeated polarization curves, never from theory [s].
    """

    start: float
    end: float
    time_constant: float

    def __post_init__(self) -> None:
        checked_inputs.share("drowned share at the start", self.start)
        checked_inputs.share("drowned share in the end", self.end)
        above_zero(time_constant=self.time_constant)


@dataclass(frozen=True, slots=True, kw_only=True)
class EndConditions:
    """What ends a run before its last time; None switches a condition off.

    Parameters
    ----------
    cutoff_voltage : float
        Below this the cell no longer serves [V].
    least_water_share : float
        Of the water at the start [1].
    greatest_solids_share : float
        Of the volume, gel counted [1].
    least_hydroxide_share : float
        Of the hydroxide at the start, lye only; above 0 [1].
    greatest_carbonate : float or None
        Concentration at which the pores clog [mol/m^3].
    greatest_temperature : float or None
        [K]
    """

    cutoff_voltage: float
    least_water_share: float
    greatest_solids_share: float
    least_hydroxide_share: float = 0.01  # judgement
    greatest_carbonate: float | None = None
    greatest_temperature: float | None = None

    def __post_init__(self) -> None:
        checked_inputs.finite("cut-off voltage", self.cutoff_voltage)
        for name in ("least_water_share", "greatest_solids_share", "least_hydroxide_share"):
            value = float(getattr(self, name))
            above_zero(**{name: value})
            checked_inputs.share(name.replace("_", " "), value)


@dataclass(frozen=True, slots=True, kw_only=True)
class DischargeParameters:
    """One cell, what is in it and what happens to it; see each part for its fields.

    Parameters
    ----------
    cell : CellParameters
        At the start; its conductivity is that of the fresh, clear electrolyte.
    cathode_area : float
        Wetted geometric area [m^2].
    electrolyte : Electrolyte
        Lye or brine.
    electrons : float
        Electrons per oxygen, 2 to 4: run both ends of its band [1].
    contents : Contents
        At the start.
    masses : AtomicMasses
    volumes : MolarVolumes
    ions : IonConductivities
    heat : Heat
    room_temperature, start_temperature : float
        [K]
    precipitation, carbonation, evaporation, wetting : or None
        Slow processes; precipitation and carbonation only in lye.
    peroxide_decay : float
        First-order decay of peroxide [1/s].
    oxygen_corrosion_share : float
        Share of corrosion that uses oxygen instead of water, so gives no hydrogen [1].
    refill : float
        Water added steadily [mol/s].
    voltage_per_hydroxide : float
        Cell voltage gained per e-fold of hydroxide over its start, from data [V].

    Raises
    ------
    RangeError
        A value of the wrong sign, or lye without hydroxide, or a lye process in brine.
    """

    cell: CellParameters
    cathode_area: float
    electrolyte: Electrolyte
    electrons: float
    contents: Contents
    masses: AtomicMasses
    volumes: MolarVolumes
    ions: IonConductivities
    heat: Heat
    room_temperature: float
    start_temperature: float
    precipitation: Precipitation | None = None
    carbonation: Carbonation | None = None
    evaporation: Evaporation | None = None
    wetting: Wetting | None = None
    peroxide_decay: float = 0.0
    oxygen_corrosion_share: float = 0.0
    refill: float = 0.0
    voltage_per_hydroxide: float = 0.0

    def __post_init__(self) -> None:
        above_zero(
            cathode_area=self.cathode_area,
            room_temperature=self.room_temperature,
            start_temperature=self.start_temperature,
        )
        not_negative(peroxide_decay=self.peroxide_decay, refill=self.refill)
        if not 0.0 <= self.oxygen_corrosion_share <= 1.0:
            raise RangeError("not a share", where="oxygen corrosion share", allowed="0 to 1")
        if not 2.0 <= self.electrons <= 4.0:
            raise RangeError("not possible", where="electrons", allowed="2 to 4")
        self._check_kind()
        if self.heat.capacity is None and self.start_temperature != self.room_temperature:
            raise RangeError(
                "held at the room's temperature but started at another",
                where="start temperature",
                allowed="the room's, or a heat capacity",
            )

    def _check_kind(self) -> None:
        lye = self.electrolyte is Electrolyte.LYE
        if lye and self.contents.hydroxide <= 0.0:
            raise RangeError("lye without hydroxide", where="contents", allowed="above 0 mol")
        dissolved = self.contents.hydroxide + self.contents.aluminate + self.contents.carbonate
        if not lye and dissolved > 0.0:
            raise RangeError(
                "brine with hydroxide, aluminate or carbonate", where="contents", allowed="chloride"
            )
        if not lye and (self.precipitation is not None or self.carbonation is not None):
            raise RangeError(
                "in brine the product comes out at once and no free hydroxide takes up gas",
                where="precipitation, carbonation",
                allowed="None",
            )
