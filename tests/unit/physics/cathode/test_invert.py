"""Currents at given voltages come back to those voltages, for every shape of grain and every supply."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from types import ModuleType

import numpy as np
import pytest

from aerode.physics.cathode import (
    CathodeParameters,
    OxygenSupply,
    current_at_loss,
    current_at_overpotential,
    flooded,
    operating_point,
    polarization,
)
from aerode.physics.effectiveness import Shape
from aerode.quantities import Reason

ONE_FACE = (OxygenSupply.AIR_FACE, OxygenSupply.ELECTROLYTE_FACE)
TIGHT = 1e-11  # V
SAME = 1e-9  # of the loss
DIGITS = 2e-14  # what the last digits of a current are worth, with some to spare


def grid(
    cases: ModuleType, seed: int, count: int, supplies: tuple[OxygenSupply, ...]
) -> Iterator[tuple[CathodeParameters, float]]:
    """Cathodes with a loss to look for, ordinary and hard by turns, each in all shapes."""
    rng = np.random.default_rng(seed)
    for k in range(count):
        cathode = cases.any_supply(rng, k % 2 == 1, supplies)
        loss = rng.uniform(0.02, 0.8)
        for shape in Shape:
            yield replace(cathode, agglomerate_shape=shape), loss


def check(cathode: CathodeParameters, loss: float) -> Reason | None:
    """One loss there and back; a refusal is believed only where the curve itself bears it out."""
    found = current_at_loss(cathode, [loss], tolerance=TIGHT)
    reason, limit = found.reasons[0], found.limiting_current
    if reason is None:
        current = float(found.current_density[0])
        back = float(polarization(cathode, [current], tolerance=TIGHT).complete()[0])
        rounding = DIGITS * cathode.tafel_slope / (1.0 - current / limit)
        assert abs(back - loss) <= SAME * loss + rounding
        assert abs(back - loss) <= 2.0 * float(found.error_estimate[0]) + TIGHT
        return None
    if reason is Reason.NOT_SOLVED:
        # the curve itself has a gap there, which only a reverse reaction makes
        assert cathode.back_slope is not None
        currents = min(limit, 1e5) * np.geomspace(1e-4, 0.999, 40)
        assert any(polarization(cathode, [i]).reasons[0] is reason for i in currents)
    elif reason is Reason.BEYOND_LIMIT:
        assert polarization(cathode, [limit * (1.0 - 1e-5)]).complete()[0] < loss
    elif reason is Reason.DEPLETED:
        currents = min(limit, 1e5) * np.geomspace(1e-9, 0.999, 60)
        losses = polarization(cathode, currents).loss
        assert np.isnan(losses).any()
        assert np.nanmax(losses) < loss
    else:
        assert cathode.back_slope is not None
        unequal = cathode.oxygen_supply is OxygenSupply.BOTH_FACES
        assert reason is (Reason.RUNS_BACK if unequal else Reason.OUT_OF_RANGE)
    return reason


def test_there_and_back(cases: ModuleType) -> None:
    """Two hundred and ten cathodes fed from one face, three shapes: 1e-9 of the loss, none refused unexplained."""
    answers = [check(*case) for case in grid(cases, 31, 210, ONE_FACE)]
    assert len(answers) == 630
    assert sum(reason is None for reason in answers) > 600


def test_there_and_back_from_both_faces(cases: ModuleType) -> None:
    """The same for oxygen from both faces, which only the plain solver knows."""
    answers = [check(*case) for case in grid(cases, 32, 8, (OxygenSupply.BOTH_FACES,))]
    assert sum(reason is None for reason in answers) >= 18


@pytest.mark.slow
def test_there_and_back_from_both_faces_in_full(cases: ModuleType) -> None:
    """Seventy cathodes fed from both faces, three shapes."""
    answers = [check(*case) for case in grid(cases, 33, 70, (OxygenSupply.BOTH_FACES,))]
    assert sum(reason is None for reason in answers) > 170


@pytest.mark.parametrize("loss", [0.05, 0.3])
@pytest.mark.parametrize("supply", list(OxygenSupply))
def test_rods_answer(reference: CathodeParameters, supply: OxygenSupply, loss: float) -> None:
    """Rods were refused where balls and films were not: their share was NaN at the end of a search."""
    rods = replace(
        reference,
        agglomerate_shape=Shape.CYLINDER,
        oxygen_supply=supply,
        oxygen_electrolyte=0.2,
        electrolyte_film=1e-4,
    )
    assert check(rods, loss) is None


def test_the_face_overpotential_comes_back(cases: ModuleType) -> None:
    """The overpotential at the electrolyte face, asked for, is that of the operating point found."""
    for cathode, asked in grid(cases, 34, 10, ONE_FACE):
        found = current_at_overpotential(cathode, [asked], tolerance=TIGHT)
        if found.reasons[0] is None:
            point = operating_point(cathode, float(found.current_density[0]), tolerance=TIGHT)
            assert point.face_overpotential == pytest.approx(asked, rel=1e-8)


def test_close_to_the_limit_is_said(reference: CathodeParameters) -> None:
    """A volt that only the last millionth of the limiting current would lose is beyond it."""
    found = current_at_loss(reference, [0.5, 3.0])
    assert found.reasons == (None, Reason.BEYOND_LIMIT)


def test_the_smallest_currents_from_both_faces(
    reference: CathodeParameters, cases: ModuleType, oracles: ModuleType
) -> None:
    """Oxygen that only crosses from face to face is in the first guess; cell balances agree."""
    both = replace(
        reference,
        oxygen_supply=OxygenSupply.BOTH_FACES,
        oxygen_electrolyte=0.1,
        electrolyte_film=4e-5,
        back_slope=0.15,
    )
    currents = [0.005, 0.02, 0.1]
    losses = polarization(both, currents).complete()
    for current, loss in zip(currents, losses, strict=True):
        assert loss == pytest.approx(oracles.finite_volumes(both, current, 100), abs=2e-6)


def test_a_face_that_drives_the_other_is_named(reference: CathodeParameters) -> None:
    """A drowned layer between unequal oxygen runs backwards at one face: refused with that reason."""
    drowned = replace(
        flooded(reference, 8e-10),
        oxygen_supply=OxygenSupply.BOTH_FACES,
        oxygen_electrolyte=0.02,
        electrolyte_film=1e-5,
        back_slope=0.05,
    )
    assert polarization(drowned, [1e-3]).reasons == (Reason.RUNS_BACK,)
    assert current_at_loss(drowned, [0.002]).reasons == (Reason.RUNS_BACK,)
