"""What the solver is measured against: a general boundary-value solver, used as well as it can be.

scipy.integrate.solve_bvp with the equations in their leanest form (oxygen, overpotential, ionic
current, scaled to one), the analytic Jacobian of equations and ends, and the solution at the last
current, or a secant through the last two, as the start of the next.
"""

from __future__ import annotations

import numpy as np
from scipy.integrate import solve_bvp

from aerode.physics.cathode import CathodeParameters

FARADAY = 96485.33212


class WarmBoundaryValue:
    """One uniform cathode with spherical grains, oxygen from the air, collector at the air face."""

    def __init__(self, cathode: CathodeParameters) -> None:
        self.cathode = cathode
        c = cathode
        self.charge = c.electrons * FARADAY
        self.k0 = c.exchange_current / (self.charge * c.reference_oxygen)
        self.grain = (c.agglomerate_radius / 3.0) ** 2 / (
            c.agglomerate_fraction * c.agglomerate_diffusivity
        )
        self.film = 1.0 / c.film_transfer
        self.outside = c.air_film / c.air_diffusivity
        self.b = c.tafel_slope

    def _share(self, k: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """E and d ln E/d ln φ of the sphere, series where φ is small."""
        x = 3.0 * np.sqrt(self.grain * k) + 1e-300
        small = x < 0.05
        safe = np.where(small, 1.0, x)
        coth = 1.0 / np.tanh(safe)
        share = np.where(small, 1.0 - x * x / 15.0, 3.0 * (coth - 1.0 / safe) / safe)
        y = coth - 1.0 / safe
        slope = np.where(
            small, -2.0 * x * x / 15.0, safe * (1.0 - 2.0 * y / safe - y * y) / y - 1.0
        )
        return share, slope

    def _rate(self, oxygen: np.ndarray, eta: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Q over oxygen, and its relative slope with η (both scaled)."""
        k = self.k0 * np.exp(np.minimum(eta, 600.0))
        share, slope = self._share(k)
        inner = 1.0 / (share * k)
        factor = self.charge * self.cathode.henry_liquid_per_gas / (inner + self.film)
        return factor, inner / (inner + self.film) * (1.0 + 0.5 * slope)

    def curve(
        self, currents: np.ndarray, tol: float, start_nodes: int = 12, secant: bool = True
    ) -> np.ndarray:
        """Losses at rising currents [V]; NaN after the first that fails.

        The solver only ever adds nodes, so carrying its whole mesh along doubles it at every
        current; the last solutions (both, for a secant in ln I) are laid on a small mesh instead.
        """
        c = self.cathode
        length, air = c.thickness, c.oxygen_air
        losses = np.full(currents.size, np.nan)
        mesh = np.linspace(0.0, 1.0, start_nodes)
        even = np.full_like(mesh, self._even(currents[0]))
        y = np.array([np.ones_like(mesh), even, mesh])
        logs, before = np.log(currents), None
        for place, current in enumerate(currents):
            to_gas = length * current / (self.charge * c.gas_diffusivity * air)
            to_liquid = length * current / (c.ionic_conductivity * self.b)
            to_solid = length * current / (c.electronic_conductivity * self.b)
            made = length * air / current
            step = self.outside * current / self.charge / air

            def equations(
                x: np.ndarray, y: np.ndarray,
                g: float = to_gas, i: float = to_liquid, s: float = to_solid, m: float = made,
            ) -> np.ndarray:  # fmt: skip
                factor, _ = self._rate(y[0], y[1])
                rest = 1.0 - y[2]
                return np.array([-g * rest, i * y[2] - s * rest, m * factor * y[0]])

            def slopes(
                x: np.ndarray, y: np.ndarray,
                g: float = to_gas, i: float = to_liquid, s: float = to_solid, m: float = made,
            ) -> np.ndarray:  # fmt: skip
                factor, relative = self._rate(y[0], y[1])
                out = np.zeros((3, 3, x.size))
                out[0, 2] = g
                out[1, 2] = i + s
                out[2, 0] = m * factor
                out[2, 1] = m * factor * y[0] * relative
                return out

            def ends(a: np.ndarray, b: np.ndarray, step: float = step) -> np.ndarray:
                return np.array([a[0] + step - 1.0, a[2], b[2] - 1.0])

            left = np.array([[1.0, 0, 0], [0, 0, 1.0], [0, 0, 0]])
            right = np.array([[0, 0, 0], [0, 0, 0], [0, 0, 1.0]])
            found = solve_bvp(
                equations, ends, mesh, y, fun_jac=slopes, tol=tol, max_nodes=5000,
                bc_jac=lambda a, b, left=left, right=right: (left, right),
            )  # fmt: skip
            if found.status != 0 or found.y[0].min() < 0.0:
                return losses
            x, rest = found.x, 1.0 - found.y[2]
            # Simpson over every interval with the spline's own midpoint.
            middle = 1.0 - found.sol(0.5 * (x[1:] + x[:-1]))[2]
            drop = float(np.diff(x) @ (rest[1:] + rest[:-1] + 4.0 * middle) / 6.0)
            losses[place] = self.b * float(found.y[1, -1]) + to_solid * self.b * drop
            y = here = found.sol(mesh)
            if secant and before is not None and place + 1 < currents.size:
                forward = logs[place + 1] - logs[place]
                y = here + (here - before) * forward / (logs[place] - logs[place - 1])
                y[0] = np.maximum(y[0], 0.5 * here[0])
            before = here
        return losses

    def _even(self, current: float) -> float:
        low, high = -40.0, 60.0
        for _ in range(50):
            middle = 0.5 * (low + high)
            factor, _ = self._rate(np.ones(1), np.array([middle]))
            made = float(factor[0]) * self.cathode.oxygen_air * self.cathode.thickness
            low, high = (middle, high) if made < current else (low, middle)
        return high
