"""The shipped solver against two other discretisations, on ordinary, special and hard cathodes."""

from __future__ import annotations

from types import ModuleType
from typing import Any

import numpy as np
import pytest

from aerode.physics.cathode import CathodeParameters, limiting_current, polarization
from aerode.quantities import Reason

ORACLE = 2e-8  # what estimate and boundary-value solver (tolerance 1e-8) may be short by [V]
SPECIAL = [
    "collector at the electrolyte",
    "collector inside",
    "reverse reaction",
    "slab grains",
    "rod grains",
    "backing layer",
    "two steps",
    "three steps, collector inside",
    "partly flooded",
    "flooded from the air",
    "flooded from the electrolyte",
    "flooded from both",
]


@pytest.mark.parametrize("name", SPECIAL)
def test_special(
    name: str, reference: CathodeParameters, oracles: ModuleType, cases: ModuleType
) -> None:
    """Every switch of the model agrees with the boundary-value solver to 1e-8 V."""
    cathode = cases.special_cases(reference)[name]
    limit = limiting_current(cathode)
    top = 5.0 if name.startswith("flooded") else 500.0
    currents = [min(i, f * limit) for i, f in ((0.05 * top, 0.3), (top, 0.9))]
    curve = polarization(cathode, currents)
    for current, loss in zip(currents, curve.complete(), strict=True):
        assert loss == pytest.approx(oracles.boundary_value(cathode, current, 1e-9), abs=1e-8)


@pytest.mark.parametrize("name", [name for name in SPECIAL if not name.startswith("flooded")])
def test_special_by_cells(
    name: str, reference: CathodeParameters, oracles: ModuleType, cases: ModuleType
) -> None:
    """Cell balances, second order, come to the same voltage; four times the cells, a sixteenth."""
    cathode = cases.special_cases(reference)[name]
    current = min(300.0, 0.8 * limiting_current(cathode))
    loss = float(polarization(cathode, [current]).complete()[0])
    misses = [abs(oracles.finite_volumes(cathode, current, cells) - loss) for cells in (50, 200)]
    assert misses[1] < 2e-5
    assert misses[1] < misses[0] / 8.0


def test_ordinary(oracles: ModuleType, cases: ModuleType) -> None:
    """Forty ordinary cathodes at three currents agree to 1e-8 V, within the stated error."""
    rng = np.random.default_rng(7)
    for _ in range(40):
        cathode = cases.ordinary_case(rng)
        currents = np.array([1.0, 30.0, 300.0])
        curve = polarization(cathode, currents)
        for k in (0, 1, 2):
            exact = oracles.boundary_value(cathode, float(currents[k]), 1e-7)
            assert abs(curve.loss[k] - exact) < curve.error_estimate[k] + 1e-9


def test_the_skin_stands_for_the_whole_layer(oracles: ModuleType, cases: ModuleType) -> None:
    """Where oxygen dies in a skin but both can be solved, the skin alone and the whole layer agree."""
    rng = np.random.default_rng(cases.SEEDS[0])
    compared = 0
    while compared < 3:
        cathode, current = cases.hard_case(rng)
        skin = oracles.skin_of(cathode, current)
        if skin is None or skin < 0.01 * cathode.thickness:
            continue
        whole = oracles.boundary_value(cathode, current, 1e-8, cut=False)
        if whole is not None:
            compared += 1
            assert oracles.boundary_value(cathode, current, 1e-8) == pytest.approx(whole, abs=1e-8)


def check_hard(oracles: ModuleType, cases: ModuleType, seed: int, count: int) -> dict[str, Any]:
    """Count refusals and collect the misses of the hard set; slow oracle, so once per point."""
    rng = np.random.default_rng(seed)
    found: dict[str, Any] = {"refused": 0, "silent": 0, "answered": 0, "worst": 0.0}
    for _ in range(count):
        cathode, current = cases.hard_case(rng)
        curve = polarization(cathode, [current])
        found["refused"] += curve.reasons[0] is not None
        exact = oracles.boundary_value(cathode, current, 1e-8)
        if exact is None or curve.reasons[0] is not None:
            continue
        miss = abs(float(curve.loss[0]) - exact)
        found["answered"] += 1
        found["worst"] = max(found["worst"], miss)
        found["silent"] += miss > float(curve.error_estimate[0]) + ORACLE
    return found


def test_hard_quick(oracles: ModuleType, cases: ModuleType) -> None:
    """A hundred hard points: none refused or unchecked, none silently wrong, none off by 1e-6 V."""
    found = check_hard(oracles, cases, cases.SEEDS[0], 100)
    assert found["refused"] == 0
    assert found["silent"] == 0
    assert found["answered"] == 100
    assert found["worst"] < 1e-6


def check_reverse(
    oracles: ModuleType, cases: ModuleType, seed: int, count: int, compared: int
) -> dict[str, Any]:
    """The same with a reverse reaction; only some are given to the oracle, which needs seconds for many."""
    rng = np.random.default_rng(seed)
    found: dict[str, Any] = {"refused": 0, "answered": 0, "worst": 0.0}
    for k in range(count):
        cathode, current = cases.reverse_case(rng)
        curve = polarization(cathode, [current])
        why = curve.reasons[0]
        found["refused"] += why is not None
        assert why in (None, Reason.NOT_SOLVED)
        if k >= compared or why is not None:
            continue
        with np.errstate(all="ignore"):
            exact = oracles.continued(cathode, current, 1e-8, 5.0)
        if exact is not None:
            found["answered"] += 1
            found["worst"] = max(found["worst"], abs(float(curve.loss[0]) - exact))
    return found


def test_hard_with_a_reverse_reaction(oracles: ModuleType, cases: ModuleType) -> None:
    """Hard, partly drowned and drowned layers near equilibrium inside: hardly any refused, none off by 1e-6 V."""
    found = check_reverse(oracles, cases, 1, 120, 16)
    assert found["refused"] == 0
    assert found["answered"] >= 10
    assert found["worst"] < 1e-6


@pytest.mark.slow
def test_hard_with_a_reverse_reaction_full(oracles: ModuleType, cases: ModuleType) -> None:
    """Twelve hundred of them: at most one in two hundred refused, those that the oracle can do agree."""
    refused = answered = 0
    for seed in (1, 2, 3, 4):
        found = check_reverse(oracles, cases, seed, 300, 40)
        refused += found["refused"]
        answered += found["answered"]
        assert found["worst"] < 1e-6
    assert refused <= 6
    assert answered >= 100


@pytest.mark.slow
@pytest.mark.parametrize("number", [0, 1, 2])
def test_hard_full(number: int, oracles: ModuleType, cases: ModuleType) -> None:
    """Eight hundred hard points a seed: at most two refused in all, none silently wrong."""
    found = check_hard(oracles, cases, cases.SEEDS[number], 800)
    assert found["refused"] <= 1
    assert found["silent"] == 0
    assert found["answered"] + found["refused"] >= 790
    assert found["worst"] < 1e-6
