"""The hidden truth of an invented cell: what the aluminium, the film and the gap really do."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["HiddenCell", "settle"]


@dataclass(frozen=True, slots=True)
class HiddenCell:
    """An invented cell with everything known.

    Current densities [mA/cm^2], resistances per area [V cm^2/mA = kohm cm^2], voltages [V]. `vigour`
    scales what the film can give: 1.1 means ten per cent more current from its kinetics.
    """

    vigour: float
    area: float
    """[cm^2]"""
    joint: float
    """Resistance of tab and lead [ohm]."""
    standing: float = 0.655
    """Voltage that 1 mA/cm^2 would give without resistance, at vigour 1."""
    slope: float = 0.050
    """[V per e-fold of current]"""
    film: float = 0.054
    gap: float = 0.006
    ceiling: float = 40.0
    """[mA/cm^2]"""

    def voltage(self, current_density: float) -> float:
        """Voltage at the electrode's tab at a current density."""
        eased = current_density / self.vigour
        left = 1.0 - eased / self.ceiling
        if left <= 0.0 or eased <= 0.0:
            return -math.inf if left <= 0.0 else math.inf
        kinetic = self.slope * (math.log(left) - math.log(eased))
        return self.standing + kinetic - self.film * eased - self.gap * current_density

    def current_density_at(self, voltage: float) -> float:
        """Current density at a voltage at the tab, by bisection."""
        return self._root(lambda j: self.voltage(j) - voltage)

    def current(self, load: float) -> float:
        """Current [A] through a load [ohm] in series with the joint, by bisection."""
        total = load + self.joint
        j = self._root(lambda x: self.voltage(x) - x * self.area * 1e-3 * total)
        return j * self.area * 1e-3

    def _root(self, difference: Callable[[float], float]) -> float:
        low, high = 1e-9, self.ceiling * self.vigour * (1.0 - 1e-12)
        for _ in range(200):
            middle = math.sqrt(low * high)
            if difference(middle) > 0.0:
                low = middle
            else:
                high = middle
        return math.sqrt(low * high)


def settle(final: float, start: float, time_constant: float, at: float) -> float:
    """A reading on its way from `start` to `final` [V] after `at` seconds."""
    return final + (start - final) * math.exp(-at / time_constant)
