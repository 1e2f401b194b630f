"""Runs that came near a limit: curves met where they cross their load lines, and the thin ridge that such a run leaves."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import expit

from aerode.measure.area import Area
from aerode.measure.porous.fitting import PorousModel, PorousRun
from aerode.measure.porous.load_lines import Curves, Lines, followed
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


def curves_of(lines: Lines) -> Curves:
    """The truth's curve over the readings of some load lines."""
    limit = limiting_current(TRUTH) * AREA

    def losses(currents: np.ndarray, rows: np.ndarray) -> np.ndarray:
        assert rows.tolist() == [0]
        return np.array([polarization(TRUTH, row / AREA).loss for row in currents])

    ((_, curves),) = followed(lines, np.array([limit]), losses)
    return curves


@pytest.mark.parametrize("largest", [1.25, 0.6])
def test_a_curve_is_followed_to_its_load_lines(largest: float) -> None:
    """Read off by up to a quarter, the largest beyond the limit or far below it: all crossings are found to 30 microamperes."""
    total = np.array(LOADS if largest > 1.0 else LOADS[:-2])
    real = np.array([crossing(r) for r in total])
    off = np.append([1.0, 1.01, 0.99, 1.02, 0.98, 1.02, 1.05][: total.size - 1], largest)
    limit = limiting_current(TRUTH) * AREA
    assert (real[-1] > 0.95 * limit) == (largest > 1.0)
    assert (real[-1] * off[-1] > limit) == (largest > 1.0)

    curves = curves_of(Lines(seen=np.sort(real * off), total=total, shown=total))
    level, rest = np.array([[LEVEL]]), np.array([[OUTSIDE]])
    place = curves.crossed(level, rest, curves.start, 8)
    current = curves.limit * expit(place)

    assert current[0] == pytest.approx(real, abs=3e-5)
    base, effects = curves.effects(rest, place)
    read = base + LEVEL * effects[:, 0] + OUTSIDE * effects[:, 1]
    assert read[0] == pytest.approx(real * total, abs=2.5e-4)


def test_a_spline_is_the_curve_between_its_places() -> None:
    """Losses and slopes a quarter of a millivolt from those of the solver anywhere between the readings and up to the limit."""
    total = np.array(LOADS)
    curves = curves_of(Lines(seen=np.array([crossing(r) for r in LOADS]), total=total, shown=total))
    place = np.linspace(float(curves.first[0, 0]), 6.0, 67)[None]
    loss, slope = curves.at(place)
    limit, step = float(curves.limit[0, 0]) / AREA, 1e-3

    def solved(shift: float) -> np.ndarray:
        return polarization(TRUTH, limit * expit(place[0] + shift), tolerance=1e-9).loss

    assert loss[0] == pytest.approx(solved(0.0), abs=2.5e-4)
    steep = (solved(step) - solved(-step)) / (2.0 * step)
    assert slope[0] == pytest.approx(steep, abs=0.02 * float(steep.max()))
    far, tangent = curves.at(np.array([[7.0, 8.0]]))
    assert far[0, 1] - far[0, 0] == pytest.approx(tangent[0, 0])


def coordinate(model: PorousModel, name: str) -> float:
    """The truth's place in the prior of one field, by bracketing."""
    k = model.names.index(name)

    def off(place: float) -> float:
        row = np.zeros((1, model.size_of_row))
        row[0, k] = place
        return float(np.log(model.columns(row)[name][0] / getattr(TRUTH, name)))

    return float(brentq(off, -3.9, 3.9))


def exact_height(model: PorousModel, row: np.ndarray) -> float:
    """ln of the density of the readings at a row by brute force: every crossing by bracketing, both integrals by sums."""
    fields = {name: float(values[0]) for name, values in model.columns(row).items()}
    cathode = replace(model.base, **fields)  # pyright: ignore[reportArgumentType]
    top = limiting_current(cathode) * AREA * (1.0 - 1e-9)
    logs = np.linspace(np.log(model.seen[0] / 3.0), np.log(top), 4001)
    currents = np.append(np.exp(logs[:-1]), top * (1.0 - np.geomspace(1e-3, 1e-8, 300)))
    currents.sort()
    losses = polarization(cathode, currents / AREA).loss
    known = np.isfinite(losses)
    currents, losses = currents[known], losses[known]
    best, spread = model.linear(row).mean[0], np.sqrt(np.diag(model.linear(row).covariance[0]))
    levels = best[0] + spread[0] * np.linspace(-6.0, 6.0, 61)
    rests = np.linspace(max(best[1] - 6.0 * spread[1], 0.0), best[1] + 6.0 * spread[1], 61)
    ends = np.ones(61)
    ends[[0, -1]] = 0.5  # trapezium
    variance = model.size + model.scatters(row)[0] ** 2
    heights = np.empty((61, 61))
    for a, level in enumerate(levels):
        for b, rest in enumerate(rests):
            volts = level - losses - currents * rest
            read = [
                np.interp(0.0, currents * r - volts, currents) * s
                for r, s in zip(model.lines.total, model.lines.shown, strict=True)
            ]
            off = (model.tab / model.lines.total * model.lines.shown - np.array(read)) @ model.turn
            prior = ((level - 1.3) / 0.5) ** 2 + ((rest - model.rest) / (2.0 * model.rest)) ** 2
            heights[a, b] = -0.5 * ((off**2 / variance).sum() + np.log(variance).sum() + prior)
    area = (levels[1] - levels[0]) * (rests[1] - rests[0])
    return float(np.log((np.exp(heights - heights.max()) * np.outer(ends, ends)).sum() * area)
                 + heights.max())  # fmt: skip


@pytest.mark.slow
def test_the_density_of_a_row_is_that_of_brute_force() -> None:
    """Differences of heights between rows, near the limit and not, to a tenth of an e-fold."""
    model = PorousModel(run_near_a_limit())
    dice = np.random.default_rng(4)
    rows = np.zeros((6, model.size_of_row))
    for k, name in enumerate(model.names):
        if name != "electrons":
            rows[:, k] = coordinate(model, name)
    rows[:, -1] = 1.0
    rows[1:] += 0.02 * dice.standard_normal((5, model.size_of_row))
    exact = np.array([exact_height(model, row[None]) for row in rows])
    found = model.linear(rows).height

    assert np.ptp(exact) > 0.9
    assert found - found[0] == pytest.approx(exact - exact[0], abs=0.1)


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
            row[0, k] = coordinate(model, name)
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
    """Named, the ridge is sampled with its share and the evidence; unnamed, it is missed or the sample owns up to be poor."""
    found = sample_from_prior(ridged, COORDINATES, np.random.default_rng(seed), ridge=Tilted())
    near = np.abs(found.samples[:, :2].sum(axis=1) - 2.0) < 5.0 * WIDE
    unnamed = sample_from_prior(ridged, COORDINATES, np.random.default_rng(seed))

    assert found.reason is None
    assert found.weights[near].sum() == pytest.approx(0.2, abs=0.06)
    assert found.log_evidence == pytest.approx(EVIDENCE, abs=0.1)
    assert unnamed.reason is not None or unnamed.log_evidence < EVIDENCE - 0.15
