"""One moment of a discharge: amounts, concentrations, voltage, and how fast each process goes."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import brentq

from aerode.errors import CannotTellError
from aerode.physics.anode import corrosion_current, potential_of
from aerode.physics.cell import gap_resistance
from aerode.physics.checked_inputs import Floats
from aerode.physics.constants import FARADAY, GAS_CONSTANT
from aerode.physics.discharge.chemistry import (
    Electrolyte,
    Process,
    Species,
    amounts_changed,
    stoichiometry,
)
from aerode.physics.discharge.loads import ConstantCurrent, Resistor
from aerode.physics.discharge.parameters import DischargeParameters
from aerode.quantities import Reason

__all__ = ["Bench", "Moment", "carbonation_rate", "evaporation_rate", "saturated_aluminate"]

_ELECTRONS = 3.0  # per aluminium
_EDGE = 1.0 - 1e-6  # as near to the cathode's limit as a run goes; numerical
_FULL = 0.999  # share of solids beyond which a trial step is no longer told apart; numerical


def saturated_aluminate(
    hydroxide: float,
    temperature: float,
    *,
    log_constant: float,
    enthalpy: float,
    reference_temperature: float,
    activity_ratio: float,
) -> float:
    """The aluminate that lye holds at equilibrium with its solid hydroxide.

    Parameters
    ----------
    hydroxide : float [mol/m^3]
        Free hydroxide.
    temperature : float [K]
        Temperature.
    log_constant, enthalpy, reference_temperature, activity_ratio : float
        As in `Precipitation` [1], [J/mol], [K], [1].

    Returns
    -------
    float [mol/m^3]

    Notes
    -----
    c = c_OH 10^-log K exp[(dH/R)(1/T - 1/T0)] x activity ratio, van 't Hoff (wesolowski_1992 for
    gibbsite: log K 1.143, dH -22.5 kJ/mol). The ratio is 1 when dilute and uncertain when strong.

    Examples
    --------
    >>> gibbsite = {"log_constant": 1.143, "enthalpy": -22500.0, "activity_ratio": 1.0}
    >>> round(saturated_aluminate(1.0, 298.15, reference_temperature=298.15, **gibbsite), 3)
    0.072
    """
    warm = enthalpy / GAS_CONSTANT * (1.0 / temperature - 1.0 / reference_temperature)
    return hydroxide * 10.0**-log_constant * math.exp(warm) * activity_ratio


def carbonation_rate(
    hydroxide: float,
    *,
    carbon_dioxide: float,
    gas_transfer: float,
    liquid_per_gas: float,
    rate_constant: float,
    diffusivity: float,
) -> float:
    """The carbon dioxide that lye takes from still air through its open surface.

    Parameters
    ----------
    hydroxide : float [mol/m^3]
        Free hydroxide.
    carbon_dioxide, gas_transfer, liquid_per_gas, rate_constant, diffusivity : float
        As in `Carbonation` [mol/m^3], [m/s], [1], [m^3/(mol s)], [m^2/s].

    Returns
    -------
    float [mol/(m^2 s)]

    Notes
    -----
    c_CO2/[1/k_gas + 1/(H sqrt(k c_OH D))]: gas film in series with fast reaction near the surface
    (Hatta, Danckwerts; status: unverified, from memory). Two hydroxides go with each.

    Examples
    --------
    >>> air = {"carbon_dioxide": 0.0172, "gas_transfer": 3.2e-3, "liquid_per_gas": 0.8}
    >>> carbonation_rate(0.0, rate_constant=10.0, diffusivity=1.5e-9, **air)
    0.0
    """
    liquid = liquid_per_gas * math.sqrt(rate_constant * max(hydroxide, 0.0) * diffusivity)
    if liquid == 0.0:
        return 0.0
    return carbon_dioxide / (1.0 / gas_transfer + 1.0 / liquid)


def evaporation_rate(
    temperature: float,
    *,
    saturation_pressure: float,
    water_activity: float,
    room_vapour: float,
    transfer: float,
) -> float:
    """The water that leaves an open surface through still air; below zero where it comes in.

    Parameters
    ----------
    temperature : float [K]
        Of the liquid.
    saturation_pressure : float [Pa]
        Of pure water there.
    water_activity : float [1]
        Of the liquid.
    room_vapour : float [mol/m^3]
        Water vapour in the room.
    transfer : float [m/s]
        Diffusivity over the still layer.

    Returns
    -------
    float [mol/(m^2 s)]

    Notes
    -----
    J = k (a_w p_sat/(R T) - c_room), Fick through a still layer.

    Examples
    --------
    >>> room = 0.5 * 3169.9 / (8.314462618 * 298.15)
    >>> rate = evaporation_rate(298.15, saturation_pressure=3169.9, water_activity=0.98,
    ...     room_vapour=room, transfer=2.5e-5 / 5e-3)
    >>> round(rate * 18.015e-3 * 3600 * 100, 1)  # mg/(cm2 h)
    19.9
    """
    surface = water_activity * saturation_pressure / (GAS_CONSTANT * temperature)
    return transfer * (surface - room_vapour)


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """Everything that follows from how far each process has gone; amounts [mol], rest SI.

    Parameters
    ----------
    amounts : ndarray, shape (12,)
        See `Species`; outside ones count from zero [mol].
    temperature, volume, conductivity : float
        Of the liquid [K], [m^3], [S/m].
    solids_share, drowned_share : float
        Gel in the volume, drowned cathode face [1].
    current, voltage, corrosion : float
        Drawn [A], at the tabs [V], hydrogen-equivalent [A].
    cathode_margin : float
        Current left below the cathode's limit, over that limit [1].
    supersaturation : float
        Aluminate over its saturation; 0 in brine [1].
    rates : ndarray, shape (12,)
        See `Process` [mol/s], [A], [W].
    """

    amounts: Floats
    temperature: float
    volume: float
    conductivity: float
    solids_share: float
    drowned_share: float
    current: float
    voltage: float
    corrosion: float
    cathode_margin: float
    supersaturation: float
    rates: Floats


@dataclass(frozen=True, slots=True)
class Bench:
    """A discharge set up for repeated use: give it extents and a load, it gives the moment.

    Parameters
    ----------
    parameters : DischargeParameters
    """

    parameters: DischargeParameters
    table: Floats = field(init=False)
    start: Floats = field(init=False)

    def __post_init__(self) -> None:
        p = self.parameters
        object.__setattr__(self, "table", stoichiometry(p.electrolyte, p.electrons))
        start = np.zeros(len(Species))
        start[Species.ALUMINIUM] = p.contents.aluminium
        start[Species.WATER] = p.contents.water
        start[Species.HYDROXIDE] = p.contents.hydroxide
        start[Species.ALUMINATE] = p.contents.aluminate
        start[Species.CARBONATE] = p.contents.carbonate
        object.__setattr__(self, "start", start)

    def moment(
        self, time: float, extents: Floats, load: ConstantCurrent | Resistor, seeded: bool
    ) -> Moment:
        """The moment at a time, with `seeded` telling whether any solid has formed."""
        p = self.parameters
        amounts = self.start + amounts_changed(self.table, extents)
        temperature = self.temperature(extents)
        volume = self._volume(amounts)
        solids = self._solids(amounts, volume)
        conductivity = self._conductivity(amounts, volume, temperature)
        drowned = self._drowned(time)
        # numerical: no logarithm of zero
        hydroxide = max(float(amounts[Species.HYDROXIDE]) / volume, 1e-9)
        current, voltage, margin = self._electric(load, conductivity, solids, drowned, amounts)
        if not math.isfinite(voltage):
            raise CannotTellError(
                str(Reason.NOT_CONVERGED),
                where=f"voltage of the cell after {time:.0f} s",
                next_step="look at the cathode's curve: it gives no number here",
            )
        density = current / (p.cathode_area * p.cell.anode_per_cathode_area)
        lost = float(
            corrosion_current(
                p.cell.anode,
                density,
                hydroxide=hydroxide if p.electrolyte is Electrolyte.LYE else None,
                temperature=temperature,
            )
        )
        corrosion = lost * p.cathode_area * p.cell.anode_per_cathode_area
        over, growth = self._growth(amounts, volume, temperature, seeded)
        rates = self._rates(amounts, volume, temperature, current, voltage, corrosion, growth)
        return Moment(
            amounts=amounts,
            temperature=temperature,
            volume=volume,
            conductivity=conductivity,
            solids_share=solids,
            drowned_share=drowned,
            current=current,
            voltage=voltage,
            corrosion=corrosion,
            cathode_margin=margin,
            supersaturation=over,
            rates=rates,
        )

    def temperature(self, extents: Floats) -> float:
        """Temperature [K] from the heats counted so far."""
        heat = self.parameters.heat
        if heat.capacity is None:
            return self.parameters.room_temperature
        taken = 0.0
        if self.parameters.evaporation is not None:
            taken = self.parameters.evaporation.enthalpy * float(extents[Process.EVAPORATION])
        kept = float(extents[Process.HEAT_MADE] - extents[Process.HEAT_PASSED_ON]) - taken
        return self.parameters.start_temperature + kept / heat.capacity

    def _volume(self, amounts: Floats) -> float:
        v, contents = self.parameters.volumes, self.parameters.contents
        return max(
            float(
                v.water * amounts[Species.WATER]
                + v.hydroxide * (amounts[Species.HYDROXIDE] + amounts[Species.PEROXIDE])
                + v.chloride * contents.chloride
                + v.aluminate * amounts[Species.ALUMINATE]
                + v.carbonate * amounts[Species.CARBONATE]
            ),
            1e-9 * v.water * contents.water,
        )

    def _solids(self, amounts: Floats, volume: float) -> float:
        v = self.parameters.volumes
        solid = v.solid * max(float(amounts[Species.SOLID]), 0.0)
        return v.gel_over_solid * solid / (volume + solid)

    def _conductivity(self, amounts: Floats, volume: float, temperature: float) -> float:
        """The measured start value, moved by what the ions contribute per volume."""
        p, ions = self.parameters, self.parameters.ions
        fresh = self._carried(self.start) / self._volume(self.start)
        now = self._carried(amounts) / volume
        warm = 1.0 + ions.temperature_coefficient * (temperature - p.start_temperature)
        return p.cell.conductivity * max(now / fresh * warm, 1e-6)  # numerical

    def _carried(self, amounts: Floats) -> float:
        ions, contents = self.parameters.ions, self.parameters.contents
        lye = self.parameters.electrolyte is Electrolyte.LYE
        peroxide = ions.peroxide * float(amounts[Species.PEROXIDE]) if lye else 0.0
        return float(
            ions.cation * contents.cation
            + ions.chloride * contents.chloride
            + ions.hydroxide * amounts[Species.HYDROXIDE]
            + ions.aluminate * amounts[Species.ALUMINATE]
            + ions.carbonate * amounts[Species.CARBONATE]
            + peroxide
        )

    def _drowned(self, time: float) -> float:
        wetting = self.parameters.wetting
        if wetting is None:
            return 0.0
        fade = math.exp(-time / wetting.time_constant)
        return wetting.end - (wetting.end - wetting.start) * fade

    def _electric(
        self,
        load: ConstantCurrent | Resistor,
        conductivity: float,
        solids: float,
        drowned: float,
        amounts: Floats,
    ) -> tuple[float, float, float]:
        """Current, voltage, and the margin below the cathode's limit."""
        p, cell = self.parameters, self.parameters.cell
        gap = gap_resistance(
            cell.gap,
            conductivity,
            bubble_share=cell.bubble_share,
            solids_share=min(max(solids, 0.0), _FULL),
        )
        series = gap + cell.contact_resistance + cell.product_resistance
        dry = 1.0 - drowned
        limit = cell.cathode.limit * dry
        shift = 0.0
        if p.electrolyte is Electrolyte.LYE:
            left = max(float(amounts[Species.HYDROXIDE]) / p.contents.hydroxide, 1e-9)  # numerical
            shift = p.voltage_per_hydroxide * math.log(left)

        def voltage(i: float) -> float:
            cathode = float(cell.cathode.potential(np.float64(min(i, _EDGE * limit) / dry)))
            anode = potential_of(cell.anode, i / cell.anode_per_cathode_area)
            return cathode - anode - i * series + shift

        if isinstance(load, ConstantCurrent):
            i = load.current / p.cathode_area
        else:
            i = _through(voltage, load.resistance * p.cathode_area, _EDGE * limit)
        margin = 1.0 if math.isinf(limit) else _EDGE - i / limit
        return i * p.cathode_area, voltage(i), margin

    def _growth(
        self, amounts: Floats, volume: float, temperature: float, seeded: bool
    ) -> tuple[float, float]:
        """Aluminate over saturation, and solid formed [mol/s]."""
        rule = self.parameters.precipitation
        if rule is None:
            return 0.0, 0.0
        # numerical: no logarithm of zero
        hydroxide = max(float(amounts[Species.HYDROXIDE]) / volume, 1e-9)
        held = saturated_aluminate(
            hydroxide,
            temperature,
            log_constant=rule.log_constant,
            enthalpy=rule.enthalpy,
            reference_temperature=rule.reference_temperature,
            activity_ratio=rule.activity_ratio,
        )
        aluminate = float(amounts[Species.ALUMINATE]) / volume
        over = max(aluminate - held, 0.0)
        if not seeded or over == 0.0:
            return aluminate / held, 0.0
        area = rule.seed_area + rule.area_per_solid * max(float(amounts[Species.SOLID]), 0.0)
        speed = rule.growth_constant * math.exp(-rule.growth_temperature / temperature)
        return aluminate / held, speed * area * over**2

    def _rates(
        self,
        amounts: Floats,
        volume: float,
        temperature: float,
        current: float,
        voltage: float,
        corrosion: float,
        growth: float,
    ) -> Floats:
        p = self.parameters
        rates = np.zeros(len(Process))
        to_aluminium = 1.0 / (_ELECTRONS * FARADAY)
        by_oxygen = p.oxygen_corrosion_share * corrosion
        rates[Process.DISCHARGE] = current * to_aluminium
        rates[Process.CORROSION_BY_WATER] = (corrosion - by_oxygen) * to_aluminium
        rates[Process.CORROSION_BY_OXYGEN] = by_oxygen * to_aluminium
        rates[Process.PRECIPITATION] = growth
        rates[Process.CARBONATION] = self._carbonation(amounts, volume)
        rates[Process.PEROXIDE_DECAY] = p.peroxide_decay * float(amounts[Species.PEROXIDE])
        rates[Process.EVAPORATION] = self._evaporation(amounts, temperature)
        rates[Process.REFILL] = p.refill
        rates[Process.CHARGE] = current
        rates[Process.ENERGY] = current * voltage
        heat = p.heat
        rates[Process.HEAT_MADE] = (
            current * (heat.thermoneutral - voltage)
            + (corrosion - by_oxygen) * heat.corrosion_thermoneutral
            + by_oxygen * heat.thermoneutral
            + heat.precipitation * growth
        )
        rates[Process.HEAT_PASSED_ON] = heat.loss * (temperature - p.room_temperature)
        return rates

    def _carbonation(self, amounts: Floats, volume: float) -> float:
        rule = self.parameters.carbonation
        if rule is None:
            return 0.0
        return rule.area * carbonation_rate(
            float(amounts[Species.HYDROXIDE]) / volume,
            carbon_dioxide=rule.carbon_dioxide,
            gas_transfer=rule.gas_transfer,
            liquid_per_gas=rule.liquid_per_gas,
            rate_constant=rule.rate_constant,
            diffusivity=rule.diffusivity,
        )

    def _evaporation(self, amounts: Floats, temperature: float) -> float:
        rule, p = self.parameters.evaporation, self.parameters
        if rule is None:
            return 0.0
        mass = (2.0 * p.masses.hydrogen + p.masses.oxygen) * max(
            float(amounts[Species.WATER]), 1e-9 * p.contents.water
        )
        activity = float(np.interp(p.contents.cation / mass, rule.molality, rule.activity))
        return rule.area * evaporation_rate(
            temperature,
            saturation_pressure=rule.saturation_pressure(temperature),
            water_activity=activity,
            room_vapour=rule.room_vapour,
            transfer=rule.transfer,
        )


def _through(voltage: Callable[[float], float], load: float, limit: float) -> float:
    """The current density through a resistor, or the limit where the cathode gives out first."""
    top = limit
    if math.isinf(limit):
        top = 1.0
        while voltage(top) > top * load:
            top *= 4.0
    if voltage(0.0) <= 0.0:
        return 0.0
    if voltage(top) > top * load:
        return limit
    return float(brentq(lambda i: voltage(i) - i * load, 0.0, top, xtol=1e-13, rtol=1e-14))
