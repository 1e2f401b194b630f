"""Quadrature, integral matrices and mesh operators against polynomials integrated by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from aerode.physics.cathode import CathodeParameters, OxygenSupply, Sublayer, layered
from aerode.physics.cathode.nodes import interpolation, nodes
from aerode.physics.cathode.operators import Mesh, base_mesh, build, refine
from aerode.physics.cathode.packed import pack


@pytest.mark.parametrize("count", [2, 4, 8, 12, 24, 48])
def test_integrals_of_powers(count: int) -> None:
    """Every matrix integrates every power it should, exactly."""
    local = nodes(count)
    t = local.position
    for power in range(count):
        f = t**power
        n = power + 1.0
        assert local.from_left @ f == pytest.approx(t**n / n, abs=1e-13)
        assert local.from_right @ f == pytest.approx((1 - t**n) / n, abs=1e-13)
        twice = t ** (n + 1) / (n * (n + 1))
        assert local.left_left @ f == pytest.approx(twice, abs=1e-13)
        assert local.right_left @ f == pytest.approx(1 / (n * (n + 1)) - twice, abs=1e-13)
        both = (1 - t) / n - (1 / (n * (n + 1)) - twice)
        assert local.right_right @ f == pytest.approx(both, abs=1e-13)
        assert local.first_moment @ f == pytest.approx(1 / (n + 1), abs=1e-13)
        assert local.last_moment @ f == pytest.approx(1 / n - 1 / (n + 1), abs=1e-13)
        places = np.array([0.0, 0.3, 1.0])
        assert interpolation(count, places) @ f == pytest.approx(places**power, abs=1e-11)


def test_legendre_coefficients() -> None:
    """A single Legendre polynomial has a single coefficient."""
    local = nodes(8)
    p3 = np.polynomial.legendre.Legendre.basis(3)(2 * local.position - 1)
    assert local.legendre @ p3 == pytest.approx(np.eye(8)[3], abs=1e-13)


@pytest.mark.parametrize("supply", list(OxygenSupply))
def test_operators_do_not_depend_on_the_mesh(
    reference: CathodeParameters, supply: OxygenSupply
) -> None:
    """Uneven panels give the same currents, overpotential and oxygen as one fine panel per step."""
    stepped = layered(
        replace(reference, oxygen_electrolyte=0.1, electrolyte_film=1e-4, oxygen_supply=supply),
        (
            Sublayer(thickness=1e-4, ionic_conductivity=0.5, gas_diffusivity=1e-7),
            Sublayer(thickness=3e-4, electronic_conductivity=5.0),
        ),
    )
    cathode = pack(replace(stepped, collector_depth=2e-4))
    coarse = base_mesh(cathode, 12)
    fine = refine(coarse, np.array([True, False, True]), 12)
    fine = refine(fine, np.array([False, True, False, False, True]), 12)

    def at_nodes(mesh: Mesh) -> list[np.ndarray]:
        made = build(cathode, mesh)
        rate = 3.0 * mesh.depth**2 + 0.0
        oxygen = made.oxygen_start + 2.0 * made.oxygen_unknown + 5.0 * (made.oxygen @ rate)
        return [
            made.ionic_share @ rate,
            made.overpotential @ rate,
            oxygen,
            np.array([made.balance @ rate, made.loss @ rate, made.balance_unknown]),
        ]

    one, other = at_nodes(coarse), at_nodes(fine)
    assert one[0] == pytest.approx(coarse.depth**3, abs=1e-13)
    assert other[0] == pytest.approx(fine.depth**3, abs=1e-13)
    for row in (1, 2):
        for step in range(3):
            a, b = (mesh.node_step == step for mesh in (coarse, fine))
            shape = np.polynomial.Polynomial.fit(coarse.depth[a], one[row][a], 6)
            scale = np.abs(one[row]).max()
            assert other[row][b] == pytest.approx(shape(fine.depth[b]), abs=1e-11 * scale)
    assert other[3] == pytest.approx(one[3], rel=1e-11)
