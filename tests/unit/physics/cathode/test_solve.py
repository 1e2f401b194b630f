"""Curves, points, inversion, parts, profiles, and reasons instead of numbers."""

from __future__ import annotations

import math
from dataclasses import replace
from types import ModuleType

import numpy as np
import pytest

from aerode.errors import CannotTellError, RangeError
from aerode.physics.cathode import (
    CathodeParameters,
    current_at_loss,
    flooded,
    limiting_current,
    operating_point,
    polarization,
)
from aerode.physics.constants import FARADAY
from aerode.quantities import Reason


def test_order_does_not_matter(reference: CathodeParameters) -> None:
    """The answer to a list is the answer to each current, in the order asked."""
    currents = [300.0, 1.0, 2e4, 30.0]
    curve = polarization(reference, currents)
    alone = [polarization(reference, [i]).loss[0] for i in (300.0, 1.0, 30.0)]
    assert curve.loss[[0, 1, 3]] == pytest.approx(alone, abs=1e-7)
    assert curve.reasons[2] is Reason.BEYOND_LIMIT


def test_every_gap_has_a_reason(reference: CathodeParameters) -> None:
    """NaN exactly where a reason stands, and the complete list is refused with that reason."""
    curve = polarization(reference, [10.0, limiting_current(reference) * 1.0001])
    assert [bool(np.isnan(v)) for v in curve.loss] == [r is not None for r in curve.reasons]
    with pytest.raises(CannotTellError, match="limiting current"):
        curve.complete()
    with pytest.raises(CannotTellError, match="limiting current"):
        operating_point(reference, 1e5)


@pytest.mark.parametrize("currents", [[0.0], [-1.0], [math.nan], [math.inf], [], [[1.0]]])
def test_impossible_currents(reference: CathodeParameters, currents: list[float]) -> None:
    """Currents that are not finite and positive are refused."""
    with pytest.raises(RangeError):
        polarization(reference, currents)


def test_impossible_tolerance_and_loss(reference: CathodeParameters) -> None:
    """So are a tolerance out of range and a loss that is no number."""
    with pytest.raises(RangeError):
        polarization(reference, [1.0], tolerance=1.0)
    with pytest.raises(RangeError):
        current_at_loss(reference, [math.nan])


def test_inversion(reference: CathodeParameters) -> None:
    """The current found at a loss has that loss, from far below to close to the limit."""
    losses = np.array([-0.2, 0.05, 0.3, 0.5, 0.8, 1.2])
    found = current_at_loss(reference, losses)
    back = polarization(reference, found.current_density)
    assert back.complete() == pytest.approx(losses, abs=1e-7)
    assert found.current_density[-1] > 0.99 * found.limiting_current


def test_inversion_below_open_circuit(reference: CathodeParameters) -> None:
    """With a reverse reaction no forward current flows below the open circuit."""
    balanced = replace(reference, back_slope=0.05)
    found = current_at_loss(balanced, [-0.1, 0.1])
    assert found.reasons == (Reason.OUT_OF_RANGE, None)
    assert np.isnan(found.current_density[0])


def test_parts_add_up(reference: CathodeParameters, cases: ModuleType) -> None:
    """The four parts are positive where they must be and add up to the loss."""
    for name, cathode in cases.special_cases(reference).items():
        current = min(5.0 if "flooded" in name else 200.0, 0.8 * limiting_current(cathode))
        parts = operating_point(cathode, current).losses
        assert abs(parts.gap) < 2e-8, name
        assert parts.ionic > 0.0, name
        assert parts.electronic > 0.0, name
        assert parts.oxygen > 0.0, name


def test_profile_balances(reference: CathodeParameters, cases: ModuleType) -> None:
    """Currents start and end as they must, oxygen flux feeds the current, and all is ordered."""
    for name, cathode in cases.special_cases(reference).items():
        current = min(5.0 if "flooded" in name else 200.0, 0.8 * limiting_current(cathode))
        inside = operating_point(cathode, current).profile
        assert inside.ionic_current[0] == pytest.approx(0.0, abs=1e-7 * current), name
        assert inside.ionic_current[-1] == pytest.approx(current, rel=1e-7), name
        assert (np.diff(inside.depth) > -1e-15).all(), name
        assert (inside.oxygen > 0.0).all(), name
        made = np.trapezoid(inside.local_rate, inside.depth)
        assert made == pytest.approx(current, rel=0.03), name
        if name == "collector inside":
            assert inside.electronic_current.min() < 0.0


def test_flux_at_the_air_face(reference: CathodeParameters) -> None:
    """n F N(0) = I: the oxygen step across the still air carries the whole current."""
    inside = operating_point(reference, 400.0).profile
    flux = (reference.oxygen_air - inside.oxygen[0]) * reference.air_diffusivity / 5e-3
    assert 4.0 * FARADAY * flux == pytest.approx(400.0, rel=1e-9)


def test_drowned_profile_says_where_it_ends(reference: CathodeParameters) -> None:
    """Where oxygen is used up the profile ends, with the reason, and the loss is still known."""
    point = operating_point(flooded(reference, 8e-10), 50.0)
    assert point.profile.reason is Reason.DEPLETED
    assert point.profile.depth[-1] < 2e-4
    assert point.profile.ionic_current[-1] == pytest.approx(50.0, rel=1e-9)
    assert abs(point.losses.gap) < 2e-8


def test_limit_of_a_film(reference: CathodeParameters) -> None:
    """Without transport in the pores the film alone limits, and in air alone the air does."""
    open_pores = replace(reference, air_film=0.0, gas_diffusivity=1e3)
    ceiling = 4 * FARADAY * 0.0265 * 8.56 * 50.0 * 4e-4
    assert limiting_current(open_pores) == pytest.approx(ceiling, rel=1e-6)
    no_film = replace(reference, film_transfer=math.inf)
    still_air = 4 * FARADAY * 8.56 * reference.air_diffusivity / 5e-3
    assert limiting_current(no_film) == pytest.approx(still_air, rel=1e-12)


def test_limit_is_approached(reference: CathodeParameters, cases: ModuleType) -> None:
    """Just below the limit there is a loss, larger the closer; above it a reason."""
    for name, cathode in cases.special_cases(reference).items():
        limit = limiting_current(cathode)
        if "flooded" in name:  # their limits ask for tens of volts, or are infinite
            continue
        curve = polarization(cathode, limit * np.array([0.9, 0.99, 0.999, 1.0001]))
        assert curve.reasons[3] is Reason.BEYOND_LIMIT
        assert (np.diff(curve.loss[:3]) > 0.0).all(), name


def test_depleted_between_two_faces_is_refused_with_its_reason(
    reference: CathodeParameters, cases: ModuleType
) -> None:
    """Oxygen from both faces, used up in the middle, is more than this model solves: it says so."""
    both = cases.special_cases(reference)["flooded from both"]
    curve = polarization(both, [1.0, 50.0])
    assert curve.reasons == (None, Reason.DEPLETED)
    assert np.isnan(curve.loss[1])
