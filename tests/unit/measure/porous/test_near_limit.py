"""Runs that came near a limit: curves met where they cross their load lines, and the thin ridge that such a run leaves."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq

from aerode.measure.area import Area
from aerode.measure.porous.fitting import PorousModel, PorousRun
from aerode.measure.porous.load_lines import Lines, started
from aerode.measure.porous.near_limit import LimitRidge
from aerode.measure.porous.recipe import FIELDS
from aerode.measure.porous.sampling import sample_from_prior
from aerode.measure.readings import RunData, read_run
from aerode.physics.cathode import CathodeParameters, limiting_current, polarization
from aerode.physics.cathode.batch import limits_batch
from aerode.records.runs import Reading, Run, Settling
from aerode.stats.proposals import TMixture

AREA = 4e-4
LOADS = (470.0, 220.0, 100.0, 47.0, 22.0, 10.0, 4.7, 2.2)
LEVEL, OUTSIDE = 1.3, 1.0
TRUTH = CathodeParameters(
    thickness=5e-4, ionic_conductivity=2.0, electronic_conductivity=50.0, gas_diffusivity=2e-6,
    oxygen_air=8.5, air_film=5e-3, henry_liquid_per_gas=0.026, agglomerate_radius=1e-6,
    agglomerate_diffusivity=5e-10, agglomerate_fraction=0.4, film_transfer=15.0,
    exchange_current=50.0, reference_oxygen=0.22, tafel_slope=0.04, electrons=3.0,
)  # fmt: skip


def crossing(total: float) -> float:
    """Where the truth meets a load line, by bracketing [A]."""
    top = limiting_current(TRUTH) * AREA * (1.0 - 1e-9)

    def excess(current: float) -> float:
        loss = float(polarization(TRUTH, [current / AREA]).loss[0])
        return LEVEL - loss - current * (OUTSIDE + total)

    return float(brentq(excess, 1e-9, top, xtol=1e-13))


def test_a_curve_is_followed_to_its_load_lines() -> None:
    """Read too high by up to a quarter, the largest beyond the limit, every crossing is found to ten microamperes."""
    total = np.array(LOADS)
    real = np.array([crossing(r) for r in LOADS])
    off = np.array([1.0, 1.01, 0.99, 1.02, 0.98, 1.02, 1.05, 1.25])
    limit = limiting_current(TRUTH) * AREA
    assert real[-1] > 0.95 * limit
    assert real[-1] * off[-1] > limit

    def losses(currents: np.ndarray) -> np.ndarray:
        return np.array([polarization(TRUTH, row / AREA).loss for row in currents])

    lines = Lines(seen=real * off, total=total, shown=total)
    touched = started(lines, np.array([limit]), losses)
    level, rest = np.array([[LEVEL]]), np.array([[OUTSIDE]])
    for _ in range(2):
        touched = touched.moved(touched.crossed(level, rest), losses)

    assert touched.current[0] == pytest.approx(real, abs=1e-5)
    base, effects = touched.effects(rest)
    read = base + LEVEL * effects[:, 0] + OUTSIDE * effects[:, 1]
    assert read[0] == pytest.approx(real * total, abs=1e-4)


def run_near_a_limit() -> PorousRun:
    """Readings without any scatter of a cathode whose film lets no more through, with wide bands."""
    readings = tuple(
        Reading(resistance=r, voltage=crossing(r) * r, settling=Settling.SETTLED) for r in LOADS
    )
    data: RunData = read_run(
        Run(name="near", readings=readings), {}, area=Area(AREA, 0.01), resistor_tolerance=0.001
    )
    dice = np.random.default_rng(1)
    columns = {name: np.full(400, float(getattr(TRUTH, name))) for name in FIELDS}
    columns["film_transfer"] = 100.0 * np.exp(2.0 * dice.standard_normal(400))
    columns["exchange_current"] = 50.0 * np.exp(2.0 * dice.standard_normal(400))
    return PorousRun(data=data, columns=columns, rest=OUTSIDE)


def test_the_truth_has_a_density_where_a_reading_lies_beyond_its_limit() -> None:
    """Noise of a reading may carry its current past the limit: the row of the truth is not ruled out by that."""
    model = PorousModel(run_near_a_limit())
    row = np.zeros((1, model.size_of_row))
    for k, name in enumerate(model.names):
        if name != "electrons":
            row[0, k] = (np.log(getattr(TRUTH, name)) - model.middle[name]) / model.width[name]
    pair = np.array([[LEVEL, OUTSIDE]])
    assert np.abs(model.misses(row, pair)).max() < 2e-4

    beyond = replace(
        run_near_a_limit(),
        data=replace(model.data, voltage=model.data.voltage * np.where(np.array(LOADS) < 3.0, 1.2, 1.0)),
    )  # fmt: skip
    moved = PorousModel(beyond)
    assert moved.seen[-1] > limiting_current(TRUTH) * AREA
    assert np.isfinite(moved(row))[0]
    assert moved(row)[0] < model(row)[0]


def test_straight_and_bent_are_each_others_way_back() -> None:
    """Rows through ln of the limit and back; a limit that no film gives leads nowhere."""
    model = PorousModel(run_near_a_limit())
    ridge = model.ridge()
    assert isinstance(ridge, LimitRidge)
    rows = 0.7 * np.random.default_rng(2).standard_normal((50, model.size_of_row))
    straight, volume = ridge.straight(rows)

    assert np.isfinite(volume).all()
    assert ridge.bent(straight) == pytest.approx(rows, abs=1e-6)
    column = model.names.index("film_transfer")
    film = limits_batch(model.base, model.columns(rows)) * AREA / model.seen[-1]
    assert straight[:, column] == pytest.approx(np.log(film))
    straight[:, column] = 30.0
    assert np.abs(ridge.bent(straight)).min() > 10.0


def test_where_no_film_gives_such_a_limit_there_is_no_ridge() -> None:
    """Currents far above anything the film could stop at: all rows of the ridge lie nowhere, without weight."""
    model = PorousModel(run_near_a_limit())
    ridge = model.ridge()
    assert ridge is not None
    nowhere = ridge.bent(np.full((3, model.size_of_row), 30.0))

    assert model(nowhere).tolist() == [-np.inf] * 3


COORDINATES = 8


class Tilted:
    """A ridge along z0 + z1 = 2."""

    @property
    def first(self) -> TMixture:
        """The prior, and the sum near two."""
        centre, factor = np.zeros((1, COORDINATES)), np.eye(COORDINATES)[None].copy()
        centre[0, 0], factor[0, 0, 0] = 2.0, 0.2
        return TMixture(np.ones(1), centre, factor, 7.0)

    def straight(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """The sum in place of z0."""
        made = points.copy()
        made[:, 0] = points[:, 0] + points[:, 1]
        return made, np.zeros(len(points))

    def bent(self, straight: np.ndarray) -> np.ndarray:
        """And back."""
        made = straight.copy()
        made[:, 0] = straight[:, 0] - straight[:, 1]
        return made

    def on_it(self, straight: np.ndarray) -> np.ndarray:
        """Within half of two."""
        return np.abs(straight[:, 0] - 2.0) < 0.5


WIDE = 0.02
# the sum of two standard normals is normal with variance 2, so a ridge of height 1 holds this much
ALONE = WIDE * np.sqrt(2.0 * np.pi) * np.exp(-1.0) / np.sqrt(4.0 * np.pi)
# three coordinates are told to 0.3 about 1 besides: normal integrals in closed form
EVIDENCE = 4.0 * np.log(2.0 * np.pi) + np.log(1.25) + 3.0 * (0.5 * np.log(0.09 / 1.09) - 0.5 / 1.09)


def ridged(z: np.ndarray) -> np.ndarray:
    """A fifth of the probability on a ridge a fiftieth wide, the rest as broad as the prior."""
    high = 0.25 * np.exp(-0.5 * np.square((z[:, 0] + z[:, 1] - 2.0) / WIDE)) / ALONE
    told = -0.5 * np.square((z[:, 2:5] - 1.0) / 0.3).sum(axis=1)
    return np.log1p(high) + told - 0.5 * np.square(z).sum(axis=1)


@pytest.mark.parametrize("seed", [1, 2])
def test_a_thin_ridge_gets_its_share(seed: int) -> None:
    """Named, the ridge is sampled with its share and the evidence; unnamed, the sample owns up to be poor."""
    found = sample_from_prior(ridged, COORDINATES, np.random.default_rng(seed), ridge=Tilted())
    near = np.abs(found.samples[:, :2].sum(axis=1) - 2.0) < 5.0 * WIDE
    unnamed = sample_from_prior(ridged, COORDINATES, np.random.default_rng(seed))

    assert found.reason is None
    assert found.weights[near].sum() == pytest.approx(0.2, abs=0.06)
    assert found.log_evidence == pytest.approx(EVIDENCE, abs=0.1)
    assert unnamed.reason is not None
