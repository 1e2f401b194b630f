"""Two independent ways to solve the same electrode, slow and plain, for the tests and benchmarks only.

`boundary_value` hands the differential equations to scipy's collocation solver (cubic splines on
an adaptive mesh, analytic Jacobian). `finite_volumes` balances oxygen and both potentials cell by
cell. Neither shares a line with the shipped solver: the rate law is written out again here from
its definition, linear in oxygen, without logarithms.
"""

from __future__ import annotations

import math
import time
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
from scipy.integrate import solve_bvp
from scipy.linalg import solve_banded
from scipy.special import i0e, i1e

F = 96485.33212


@dataclass(frozen=True)
class Step:
    """Properties of one step in depth, straight from the parameters."""

    h: float
    kappa: float
    sigma: float
    diffusivity: float
    henry: float
    length: float
    wet: float
    film: float
    rate0: float
    beyond: bool


def steps_of(p: Any) -> list[Step]:
    """Cut the layer at steps and at the collector."""
    divisor = {"sphere": 3.0, "cylinder": 2.0, "slab": 1.0}[str(p.agglomerate_shape)]
    raw = p.sublayers or (None,)
    steps: list[Step] = []
    depth = 0.0
    for sub in raw:

        def of(name: str, sub: Any = sub) -> float:
            own = None if sub is None else getattr(sub, name)
            return getattr(p, name) if own is None else own

        thickness = of("thickness")
        edges = [depth, depth + thickness]
        if depth + 1e-9 * p.thickness < p.collector_depth < depth + thickness - 1e-9 * p.thickness:
            edges.insert(1, p.collector_depth)
        for a, b in pairwise(edges):
            steps.append(
                Step(
                    b - a,
                    of("ionic_conductivity"),
                    of("electronic_conductivity"),
                    of("gas_diffusivity"),
                    of("henry_liquid_per_gas"),
                    of("agglomerate_radius") / divisor,
                    of("agglomerate_fraction") * of("agglomerate_diffusivity"),
                    of("film_transfer"),
                    of("exchange_current") / (p.electrons * F * p.reference_oxygen),
                    a >= p.collector_depth - 1e-9 * p.thickness,
                )
            )
        depth += thickness
    return steps


def share_and_slope(phi: np.ndarray, shape: str) -> tuple[np.ndarray, np.ndarray]:
    """E and dE/dφ from the textbook forms."""
    phi = np.maximum(phi, 1e-12)
    if shape == "slab":
        t = np.tanh(phi)
        e = np.where(phi < 1e-3, 1 - phi**2 / 3, t / phi)
        d = np.where(phi < 1e-3, -2 * phi / 3, (1 - t**2) / phi - t / phi**2)
        return e, d
    if shape == "cylinder":
        r = i1e(2 * phi) / i0e(2 * phi)
        e = np.where(phi < 1e-3, 1 - phi**2 / 2, r / phi)
        d = np.where(phi < 1e-3, -phi, (2 * (1 - r / (2 * phi) - r**2) * phi - r) / phi**2)
        return e, d
    x = 3 * phi
    small = x < 0.3
    xs = np.where(small, 1.0, x)
    coth = 1 / np.tanh(xs)
    e = (coth - 1 / xs) / (xs / 3)
    csch2 = np.where(xs > 300, 0.0, 1 / np.sinh(np.minimum(xs, 300.0)) ** 2)
    d = 3 * (3 * (-csch2 + 1 / xs**2) / xs - 3 * (coth - 1 / xs) / xs**2)
    x2 = np.where(small, x, 0.0) ** 2
    coefficients = [1, -1 / 15, 2 / 315, -1 / 1575, 2 / 31185, -1382 / 212837625 * 1.0]
    es = sum(k * x2**n for n, k in enumerate(coefficients))
    ds = sum(
        2 * n * k * np.where(small, x, 0.0) ** (2 * n - 1) for n, k in enumerate(coefficients) if n
    )
    return np.where(small, es, e), np.where(small, 3 * ds, d)


def rate_law(p: Any, s: Step, eta: np.ndarray, c: np.ndarray) -> tuple[np.ndarray, ...]:
    """Q, ∂Q/∂η, ∂Q/∂c."""
    b = p.tafel_slope
    k = s.rate0 * np.exp(np.clip(eta / b, -400, 400))
    if s.length > 0:
        phi = s.length * np.sqrt(k / s.wet)
        e, de = share_and_slope(phi, str(p.agglomerate_shape))
        ek, dek = e * k, (e + de * phi / 2) * k / b
    else:
        ek, dek = k, k / b
    g = 1 / (1 / ek + 1 / s.film)
    dg = g**2 / ek**2 * dek
    nf = p.electrons * F
    if p.back_slope is None:
        star, dstar = 0.0, 0.0
    else:
        a = 1 / b + 1 / p.back_slope
        star = p.reference_oxygen * np.exp(np.clip(-a * eta, -400, 400))
        dstar = -a * star
    drive = s.henry * c - star
    return nf * drive * g, nf * (drive * dg - dstar * g), nf * s.henry * g


def ends_of(p: Any) -> tuple[float, float, float, float]:
    """Oxygen (as gas) and mass-transfer resistance on the air side and on the electrolyte side."""
    ra = p.air_film / p.air_diffusivity + p.backing_thickness / p.backing_diffusivity
    last = p.sublayers[-1] if p.sublayers else None
    henry = p.henry_liquid_per_gas
    if last is not None and last.henry_liquid_per_gas is not None:
        henry = last.henry_liquid_per_gas
    rb = p.electrolyte_film / (p.dissolved_diffusivity * henry)
    return p.oxygen_air, ra, p.oxygen_electrolyte / henry, rb


class BoundaryValue:
    """scipy.integrate.solve_bvp, one set of four unknowns per step: oxygen, overpotential, ionic
    current, oxygen flux; scaled by air oxygen, b, I and I/(nF)."""

    def __init__(self, p: Any) -> None:
        self.p, self.steps = p, steps_of(p)
        self.ca, self.ra, self.cb, self.rb = ends_of(p)
        self.supply = str(p.oxygen_supply)
        self.c0 = self.cb if self.supply == "electrolyte face" else self.ca
        self.nf = p.electrons * F
        self.sol: Any = None

    def _rhs(self, t: np.ndarray, y: np.ndarray, current: float) -> np.ndarray:
        out = np.empty_like(y)
        for k, s in enumerate(self.steps):
            c, eta, i2, n = y[4 * k : 4 * k + 4]
            q, _, _ = rate_law(self.p, s, eta * self.p.tafel_slope, c * self.c0)
            i1 = (1.0 if s.beyond else 0.0) - i2
            b = self.p.tafel_slope
            out[4 * k] = -s.h * n * current / self.nf / s.diffusivity / self.c0
            out[4 * k + 1] = s.h * current * (i2 / s.kappa - i1 / s.sigma) / b
            out[4 * k + 2] = s.h * q / current
            out[4 * k + 3] = -s.h * q / current
        return out

    def _jac(self, t: np.ndarray, y: np.ndarray, current: float) -> np.ndarray:
        m = y.shape[0]
        out = np.zeros((m, m, t.size))
        for k, s in enumerate(self.steps):
            c, eta = y[4 * k], y[4 * k + 1]
            _, qe, qc = rate_law(self.p, s, eta * self.p.tafel_slope, c * self.c0)
            b = self.p.tafel_slope
            out[4 * k, 4 * k + 3] = -s.h * current / self.nf / s.diffusivity / self.c0
            out[4 * k + 1, 4 * k + 2] = s.h * current * (1 / s.kappa + 1 / s.sigma) / b
            out[4 * k + 2, 4 * k] = s.h * qc * self.c0 / current
            out[4 * k + 2, 4 * k + 1] = s.h * qe * b / current
            out[4 * k + 3, 4 * k] = -out[4 * k + 2, 4 * k]
            out[4 * k + 3, 4 * k + 1] = -out[4 * k + 2, 4 * k + 1]
        return out

    def _ends(
        self, current: float
    ) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
        """Rows a·c + b·n = rhs at the air face and at the electrolyte face."""
        if self.supply == "electrolyte face":
            air = (0.0, 1.0, 0.0)
        else:
            air = (1.0, self.ra * current / self.nf / self.c0, self.ca / self.c0)
        if self.supply == "air face":
            liquid = (0.0, 1.0, 0.0)
        else:
            liquid = (1.0, -self.rb * current / self.nf / self.c0, self.cb / self.c0)
        return air, liquid

    def _bc(self, ya: np.ndarray, yb: np.ndarray, current: float) -> np.ndarray:
        air, liquid = self._ends(current)
        n = len(self.steps)
        out = [ya[2], air[0] * ya[0] + air[1] * ya[3] - air[2]]
        for k in range(n - 1):
            out.extend(yb[4 * k : 4 * k + 4] - ya[4 * k + 4 : 4 * k + 8])
        out.append(yb[4 * n - 2] - 1.0)
        out.append(liquid[0] * yb[4 * n - 4] + liquid[1] * yb[4 * n - 1] - liquid[2])
        return np.array(out)

    def _bc_jac(
        self, ya: np.ndarray, yb: np.ndarray, current: float
    ) -> tuple[np.ndarray, np.ndarray]:
        air, liquid = self._ends(current)
        m = ya.size
        da, db = np.zeros((m, m)), np.zeros((m, m))
        da[0, 2] = 1.0
        da[1, 0], da[1, 3] = air[0], air[1]
        row = 2
        for k in range(len(self.steps) - 1):
            for j in range(4):
                db[row, 4 * k + j] = 1.0
                da[row, 4 * k + 4 + j] = -1.0
                row += 1
        db[row, m - 2] = 1.0
        db[row + 1, m - 4], db[row + 1, m - 1] = liquid[0], liquid[1]
        return da, db

    def start(self, current: float) -> None:
        """An even electrode at a small current."""
        total = sum(s.h for s in self.steps)
        low, high = -3.0, 6.0
        for _ in range(60):
            mid = 0.5 * (low + high)
            q = sum(
                s.h * float(rate_law(self.p, s, np.array([mid]), np.array([self.c0]))[0][0])
                for s in self.steps
            )
            low, high = (mid, high) if q < current else (low, mid)
        t = np.linspace(0, 1, 24)
        y = np.empty((4 * len(self.steps), t.size))
        depth = 0.0
        for k, s in enumerate(self.steps):
            x = (depth + s.h * t) / total
            y[4 * k], y[4 * k + 1], y[4 * k + 2] = 1.0, high / self.p.tafel_slope, x
            y[4 * k + 3] = -x if self.supply == "electrolyte face" else 1.0 - x
            depth += s.h
        self.guess = (t, y)

    def solve(self, current: float, tol: float = 1e-8, max_nodes: int = 20000) -> float | None:
        """V_c at a current, starting from the last solution (warm mesh), or None."""
        t, y = self.guess
        sol = solve_bvp(
            lambda x, v: self._rhs(x, v, current),
            lambda a, b: self._bc(a, b, current),
            t,
            y,
            fun_jac=lambda x, v: self._jac(x, v, current),
            bc_jac=lambda a, b: self._bc_jac(a, b, current),
            tol=tol,
            max_nodes=max_nodes,
        )
        if sol.status != 0 or not np.isfinite(sol.y).all():
            return None
        if (sol.y[0::4] < -1e-6).any():
            return None
        self.guess = (sol.x, sol.y)
        self.sol = sol
        return self.loss(sol, current)

    def loss(self, sol: Any, current: float) -> float:
        """η at the electrolyte face plus the drop in the solid."""
        total = float(sol.y[4 * len(self.steps) - 3, -1]) * self.p.tafel_slope
        nodes, weights = np.polynomial.legendre.leggauss(5)
        for k, s in enumerate(self.steps):
            if s.beyond:
                for a, b in zip(sol.x[:-1], sol.x[1:], strict=True):
                    t = 0.5 * (a + b) + 0.5 * (b - a) * nodes
                    i1 = 1.0 - sol.sol(t)[4 * k + 2]
                    total += 0.5 * (b - a) * float(weights @ i1) * s.h * current / s.sigma
        return total


THIN = 200.0  # e-folds of oxygen across the layer from which on only its skin is computed
SKIN = 60.0  # e-folds of oxygen that the skin keeps: e^-60 of the current lies beyond it


def skin_of(p: Any, current: float) -> float | None:
    """Depth beyond which a uniform layer fed from the air is dead at a current, or None.

    Oxygen enters at c and must carry I = nF D c λ there, so it falls at least as e^(-λx): reaction
    only grows with depth. Far inside the general solver sees nothing but noise of vanished oxygen.
    """
    steps = steps_of(p)
    supply, (air, resistance, _, _) = str(p.oxygen_supply), ends_of(p)
    face = air - current * resistance / (p.electrons * F)
    if len(steps) > 1 or p.collector_depth > 0.0 or supply != "air face" or face <= 0.0:
        return None
    folds = current * steps[0].h / (p.electrons * F * steps[0].diffusivity * face)
    return SKIN / folds * p.thickness if folds > THIN else None


def boundary_value(p: Any, current: float, tol: float = 1e-8, *, cut: bool = True) -> float | None:
    """V_c at one current by continuation with solve_bvp, or None where it gives up.

    Where only a skin lives (`cut`), the skin is solved by itself: behind it all current is ionic and
    the loss grows by I/κ times the depth.
    """
    skin = skin_of(p, current) if cut else None
    if skin is not None:
        alive = continued(replace(p, thickness=skin), current, tol)
        dead = current * (p.thickness - skin) / p.ionic_conductivity
        return None if alive is None else alive + dead
    return continued(p, current, tol)


def continued(p: Any, current: float, tol: float, patience: float = math.inf) -> float | None:
    """The whole layer, from a small current upward; given up after `patience` seconds of CPU."""
    begin = time.process_time()
    solver = BoundaryValue(p)
    total = sum(s.h * (1 / s.kappa + 1 / s.sigma) for s in solver.steps)
    gas = solver.ra + sum(s.h / s.diffusivity for s in solver.steps)
    if solver.supply == "electrolyte face":
        gas = solver.rb + sum(s.h / s.diffusivity for s in solver.steps)
    now = min(current, 0.3 * p.tafel_slope / total, 0.1 * solver.c0 * solver.nf / gas)
    with np.errstate(all="ignore"):
        solver.start(now)
        if solver.solve(now, 1e-4) is None:
            return None
        factor = 3.0
        while now < current * (1 - 1e-12):
            nxt = min(current, now * factor)
            if solver.solve(nxt, 1e-3) is None:
                factor = math.sqrt(factor)
                if factor < 1.002 or time.process_time() - begin > patience:
                    return None
            else:
                now = nxt
                factor = min(3.0, factor * 1.3)
        return solver.solve(current, tol)


def finite_volumes(p: Any, current: float, cells: int = 200) -> float | None:
    """V_c at one current by cell balances of oxygen and both potentials (second order)."""
    steps = steps_of(p)
    ca, ra, cb, rb = ends_of(p)
    supply = str(p.oxygen_supply)
    c0 = cb if supply == "electrolyte face" else ca
    nf, b = p.electrons * F, p.tafel_slope
    widths, owner = [], []
    for k, s in enumerate(steps):
        t = np.linspace(0, 1, cells + 1)
        edges = 0.5 * (1 - np.cos(np.pi * t))
        edges = 0.5 * (1 - np.cos(np.pi * edges))  # clustered twice at both ends of each step
        widths.append(s.h * np.diff(edges))
        owner.append(np.full(cells, k))
    h, own = np.concatenate(widths), np.concatenate(owner)
    n = h.size
    col = {
        name: np.array([getattr(steps[k], name) for k in own])
        for name in ("kappa", "sigma", "diffusivity")
    }
    beyond = np.array([steps[k].beyond for k in own])

    def conductance(values: np.ndarray) -> np.ndarray:
        half = 0.5 * h / values
        return 1.0 / (half[:-1] + half[1:])

    gk, gs, gd = (conductance(col[name]) for name in ("kappa", "sigma", "diffusivity"))
    end_k = col["kappa"][-1] / (0.5 * h[-1])
    first = int(np.argmax(beyond)) if beyond.any() else n  # collector at the left edge of this cell
    air = 1.0 / (ra + 0.5 * h[0] / col["diffusivity"][0]) if supply != "electrolyte face" else 0.0
    liquid = 1.0 / (rb + 0.5 * h[-1] / col["diffusivity"][-1]) if supply != "air face" else 0.0

    def residual(u: np.ndarray, cur: float) -> tuple[np.ndarray, np.ndarray]:
        c, f1, f2 = u[0::3] * c0, u[1::3] * b, u[2::3] * b  # φ1 against the collector, φ2 − E_eq
        eta = f2 - f1
        q, qe, qc = (np.empty(n) for _ in range(3))
        for k, s in enumerate(steps):
            m = own == k
            q[m], qe[m], qc[m] = rate_law(p, s, eta[m], c[m])
        res = np.zeros(3 * n)
        ab = np.zeros((11, 3 * n))  # banded, five below and five above

        def put(row: np.ndarray | int, column: np.ndarray | int, value: Any) -> None:
            ab[5 + np.asarray(row) - np.asarray(column), column] += value

        cells_ = np.arange(n)
        flux = np.zeros(n + 1)
        flux[1:-1] = gd * (c[:-1] - c[1:])
        flux[0] = air * (ca - c[0])
        flux[-1] = -liquid * (cb - c[-1])
        res[0::3] = (flux[1:] - flux[:-1]) * nf / cur + h * q / cur
        put(3 * cells_, 3 * cells_, h * qc * c0 / cur)
        put(3 * cells_, 3 * cells_ + 1, -h * qe * b / cur)
        put(3 * cells_, 3 * cells_ + 2, h * qe * b / cur)
        i, scale = np.arange(n - 1), nf / cur * c0
        put(3 * i, 3 * i, gd * scale)
        put(3 * i, 3 * i + 3, -gd * scale)
        put(3 * i + 3, 3 * i + 3, gd * scale)
        put(3 * i + 3, 3 * i, -gd * scale)
        put(0, 0, air * scale)
        put(3 * n - 3, 3 * n - 3, liquid * scale)
        # solid: conventional current toward −x, i1 = σ dφ1/dx
        i1 = np.zeros(n + 1)
        i1[1:-1] = gs * (f1[1:] - f1[:-1])
        res[1::3] = (i1[1:] - i1[:-1]) / cur + h * q / cur
        if first == 0:
            grip = col["sigma"][0] / (0.5 * h[0])
            res[1] -= grip * f1[0] / cur
            put(1, 1, -grip * b / cur)
        elif first == n:
            grip = col["sigma"][-1] / (0.5 * h[-1])
            res[3 * n - 2] += grip * (0.0 - f1[-1]) / cur
            put(3 * n - 2, 3 * n - 2, -grip * b / cur)
        put(3 * cells_ + 1, 3 * cells_, h * qc * c0 / cur)
        put(3 * cells_ + 1, 3 * cells_ + 1, -h * qe * b / cur)
        put(3 * cells_ + 1, 3 * cells_ + 2, h * qe * b / cur)
        s_ = gs * b / cur
        if 0 < first < n:  # the collector takes the current at this edge: φ1 = 0 there
            left = col["sigma"][first - 1] / (0.5 * h[first - 1])
            right = col["sigma"][first] / (0.5 * h[first])
            j = first - 1
            res[3 * j + 1] += (-i1[first] + left * (0.0 - f1[j])) / cur
            res[3 * j + 4] += (i1[first] - right * (f1[first] - 0.0)) / cur
            s_ = s_.copy()
            s_[j] = 0.0
            put(3 * j + 1, 3 * j + 1, -left * b / cur)
            put(3 * j + 4, 3 * j + 4, -right * b / cur)
        put(3 * i + 1, 3 * i + 1, -s_)
        put(3 * i + 1, 3 * i + 4, s_)
        put(3 * i + 4, 3 * i + 4, -s_)
        put(3 * i + 4, 3 * i + 1, s_)
        # liquid: i2 = κ dφ2/dx, nothing at the air face, all of it at the electrolyte face
        i2 = np.zeros(n + 1)
        i2[1:-1] = gk * (f2[1:] - f2[:-1])
        i2[-1] = cur
        res[2::3] = (i2[1:] - i2[:-1]) / cur - h * q / cur
        put(3 * cells_ + 2, 3 * cells_, -h * qc * c0 / cur)
        put(3 * cells_ + 2, 3 * cells_ + 1, h * qe * b / cur)
        put(3 * cells_ + 2, 3 * cells_ + 2, -h * qe * b / cur)
        k_ = gk * b / cur
        put(3 * i + 2, 3 * i + 2, -k_)
        put(3 * i + 2, 3 * i + 5, k_)
        put(3 * i + 5, 3 * i + 5, -k_)
        put(3 * i + 5, 3 * i + 2, k_)
        return res, ab

    solver = BoundaryValue(p)
    with np.errstate(all="ignore"):
        low, high = -3.0, 6.0
        now = min(current, 1.0)
        for _ in range(60):
            mid = 0.5 * (low + high)
            total = sum(
                s.h * float(rate_law(p, s, np.array([mid]), np.array([solver.c0]))[0][0])
                for s in steps
            )
            low, high = (mid, high) if total < now else (low, mid)
        u = np.zeros(3 * n)
        u[0::3], u[2::3] = 1.0, high / b
        factor = 2.0
        done = False
        while True:
            trial, good = u.copy(), False
            for _ in range(40):
                res, ab = residual(trial, now)
                move = solve_banded((5, 5), ab, -res)
                if not np.isfinite(move).all():
                    break
                size = float(np.abs(move).max())
                trial = trial + move * min(1.0, 2.0 / size)
                if size < 1e-9:
                    good = True
                    break
            if good:
                u, last = trial, now
                if done or now == current:
                    break
                now = min(current, now * factor)
            else:
                factor = math.sqrt(factor)
                if factor < 1.001 or now == min(current, 1.0):
                    return None
                now = last * factor
        return float(u[-1] * b + current / end_k)
