"""What a discharge run gives: amounts, voltages and balances at each time, and why it ended."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from aerode.physics.checked_inputs import Floats
from aerode.physics.constants import FARADAY
from aerode.physics.discharge.chemistry import REACTIONS, Process, Species, composition
from aerode.physics.discharge.parameters import DischargeParameters
from aerode.physics.discharge.state import Bench, Moment

__all__ = ["Balances", "Discharge", "EndReason", "balances_of"]


class EndReason(StrEnum):
    """Why a run ended, in words for a person."""

    TIME_UP = "the time asked for is over"
    ALUMINIUM_GONE = "the aluminium is used up"
    VOLTAGE_TOO_LOW = "the voltage has fallen to the cut-off"
    WATER_LOW = "too little water is left"
    GEL_FULL = "gel and solids fill the cell"
    HYDROXIDE_GONE = "the free hydroxide is used up"
    CATHODE_GIVES_OUT = "the cathode no longer carries this current"
    CARBONATE_HIGH = "carbonate has reached the limit at which pores clog"
    TOO_HOT = "the temperature limit is reached"


@dataclass(frozen=True, slots=True, kw_only=True)
class Balances:
    """What does not close, over what has passed, at each time; all shape (K,), all [1].

    Parameters
    ----------
    atoms : ndarray
        The worst of aluminium, oxygen, hydrogen and carbon.
    mass : ndarray
        Mass of everything inside and exchanged.
    ions : ndarray
        Charge of the ions in the liquid.
    charge : ndarray
        Electrons from the aluminium against those drawn, given to water and given to oxygen.
    """

    atoms: Floats
    mass: Floats
    ions: Floats
    charge: Floats

    @property
    def worst(self) -> float:
        """The largest of all of them."""
        return float(max(part.max() for part in (self.atoms, self.mass, self.ions, self.charge)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Discharge:
    """A discharge at each output time, the last one being its end; arrays have shape (K,).

    Parameters
    ----------
    time : ndarray
        From the start [s].
    current, voltage, corrosion : ndarray
        Drawn [A], at the tabs [V], hydrogen-equivalent corrosion [A].
    temperature, conductivity, volume : ndarray
        Of the liquid [K], [S/m], [m^3].
    solids_share, drowned_share : ndarray
        Gel in the volume, drowned share of the cathode's face [1].
    supersaturation : ndarray
        Aluminate over its saturation; 0 without a rule for it [1].
    aluminium, water, hydroxide, aluminate, carbonate, peroxide, solid : ndarray
        In the cell [mol].
    oxygen_taken, hydrogen_made, carbon_dioxide_taken, water_evaporated, water_added : ndarray
        Exchanged since the start [mol].
    charge, energy, heat : ndarray
        Drawn [C], [J]; made as heat [J].
    mass_change : ndarray
        What a balance under the cell would show since the start [kg].
    balances : Balances
        What does not close.
    end : EndReason
        Why it ended.
    faradaic_efficiency, aluminium_used : float
        Charge drawn over charge in the aluminium used; share of the aluminium used [1].

    Examples
    --------
    See `aerode.physics.discharge.discharge`.
    """

    time: Floats
    current: Floats
    voltage: Floats
    corrosion: Floats
    temperature: Floats
    conductivity: Floats
    volume: Floats
    solids_share: Floats
    drowned_share: Floats
    supersaturation: Floats
    aluminium: Floats
    water: Floats
    hydroxide: Floats
    aluminate: Floats
    carbonate: Floats
    peroxide: Floats
    solid: Floats
    oxygen_taken: Floats
    hydrogen_made: Floats
    carbon_dioxide_taken: Floats
    water_evaporated: Floats
    water_added: Floats
    charge: Floats
    energy: Floats
    heat: Floats
    mass_change: Floats
    balances: Balances
    end: EndReason
    faradaic_efficiency: float
    aluminium_used: float


def balances_of(bench: Bench, extents: Floats) -> Balances:
    """What does not close between everything that was counted.

    Parameters
    ----------
    bench : Bench
        The cell.
    extents : ndarray, shape (K, 12) [mol], [C], [J]
        How far each process has gone.

    Returns
    -------
    Balances, shape (K,) [1]

    Notes
    -----
    Changes are compared with changes, so a short run is judged as sharply as a long one. Charge
    drawn is integrated apart from the aluminium that gave it.

    Examples
    --------
    See `aerode.physics.discharge.discharge`, which carries them.
    """
    p = bench.parameters
    moved = extents[:, None, :REACTIONS] * bench.table[None, :, :]
    atoms = composition(p.electrolyte)
    passed = np.abs(moved).sum(axis=2)
    changed = moved.sum(axis=2)
    open_atoms = np.abs(changed @ atoms[:, :4])
    masses = atoms[:, :4] @ np.array(
        [p.masses.aluminium, p.masses.oxygen, p.masses.hydrogen, p.masses.carbon]
    )
    ions = np.abs(changed @ atoms[:, 4])
    return Balances(
        atoms=_over(open_atoms, passed @ atoms[:, :4]).max(axis=1),
        mass=_over(np.abs(changed @ masses), passed @ masses),
        ions=_over(ions, passed @ np.abs(atoms[:, 4])),
        charge=_charge(changed, extents),
    )


def _charge(changed: Floats, extents: Floats) -> Floats:
    from_aluminium = -3.0 * FARADAY * changed[:, Species.ALUMINIUM]
    to_water = 2.0 * FARADAY * changed[:, Species.HYDROGEN_OUTSIDE]
    to_oxygen = 3.0 * FARADAY * extents[:, Process.CORROSION_BY_OXYGEN]
    drawn = extents[:, Process.CHARGE]
    return _over(np.abs(from_aluminium - to_water - to_oxygen - drawn), from_aluminium)


def _over(left: Floats, passed: Floats) -> Floats:
    """What is left open over what has passed; 0 where nothing has passed and nothing is open."""
    return np.divide(left, passed, out=np.where(left > 0.0, np.inf, 0.0), where=passed > 0.0)


def collect(
    bench: Bench, times: Floats, extents: Floats, moments: list[Moment], end: EndReason
) -> Discharge:
    """The result from the moments of a run."""
    amounts = np.array([m.amounts for m in moments])
    values = {
        name: np.array([float(getattr(m, name)) for m in moments])
        for name in (
            "current",
            "voltage",
            "corrosion",
            "temperature",
            "conductivity",
            "volume",
            "solids_share",
            "drowned_share",
            "supersaturation",
        )
    }
    inside = {s.name.lower(): amounts[:, s] for s in Species if s <= Species.SOLID}
    used = bench.parameters.contents.aluminium - float(amounts[-1, Species.ALUMINIUM])
    charge = extents[:, Process.CHARGE]
    efficiency = float(charge[-1]) / (3.0 * FARADAY * used) if used > 0.0 else 0.0
    return Discharge(
        time=times,
        **values,
        **inside,
        oxygen_taken=0.0 - amounts[:, Species.OXYGEN_OUTSIDE],
        hydrogen_made=amounts[:, Species.HYDROGEN_OUTSIDE],
        carbon_dioxide_taken=0.0 - amounts[:, Species.CARBON_DIOXIDE_OUTSIDE],
        water_evaporated=amounts[:, Species.VAPOUR_OUTSIDE],
        water_added=0.0 - amounts[:, Species.WATER_SUPPLY],
        charge=charge,
        energy=extents[:, Process.ENERGY],
        heat=extents[:, Process.HEAT_MADE],
        mass_change=_mass_change(bench.parameters, amounts - bench.start),
        balances=balances_of(bench, extents),
        end=end,
        faradaic_efficiency=efficiency,
        aluminium_used=used / bench.parameters.contents.aluminium,
    )


def _mass_change(p: DischargeParameters, changed: Floats) -> Floats:
    masses = composition(p.electrolyte)[:, :4] @ np.array(
        [p.masses.aluminium, p.masses.oxygen, p.masses.hydrogen, p.masses.carbon]
    )
    inside = slice(0, Species.SOLID + 1)
    return np.asarray(changed[:, inside] @ masses[inside], dtype=np.float64)
