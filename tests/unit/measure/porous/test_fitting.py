"""The porous posterior: its integrals against plain ones, its sampler against known answers, a truth found again."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import multivariate_normal

from aerode.errors import CannotTellError
from aerode.measure.area import Area
from aerode.measure.porous import fitting
from aerode.measure.porous.bands import Band
from aerode.measure.porous.fit_answer import KEPT, porous_fit, told
from aerode.measure.porous.fitting import PorousRun, _linear, fit_porous  # pyright: ignore[reportPrivateUsage]
from aerode.measure.porous.recipe import _ASSUMED, Layer, model_of, recipe_columns  # pyright: ignore[reportPrivateUsage]
from aerode.measure.porous.sampling import sample_from_prior
from aerode.measure.porous.scoring import held_out_score, without
from aerode.measure.readings import RunData, read_run
from aerode.physics.cathode import polarization
from aerode.quantities import Basis
from aerode.records.runs import Reading, Run, Settling
from aerode.stats.sampling import WeightedSample

AREA = 4e-4
LOADS = (470.0, 220.0, 100.0, 47.0, 22.0, 10.0, 4.7, 2.2)
KNOWN = {
    "thickness": 5e-4, "porosity": 0.6, "binder share": 0.2, "conductor share": 0.2,
    "carbon share": 0.6, "liquid conductivity": 5.0, "dissolved oxygen": 0.22,
    "dissolved diffusivity": 1.9e-9, "oxygen in air": 8.5, "air diffusivity": 2e-5,
}  # fmt: skip


def layer() -> Layer:
    """A layer whose recipe is known and whose kinetics and wetting are the usual bands."""
    bands = {n: Band.fixed(v, "", Basis.ASSUMED, "test") for n, v in KNOWN.items()}
    for name, (low, high, form, unit, source) in _ASSUMED.items():
        bands[name] = Band(
            low=low, high=high, form=form, unit=unit, basis=Basis.ASSUMED, source=source
        )
    return Layer(
        item="L", kind="electrode", bands=bands, binder_mass_share=0.25, conductor_mass_share=0.2,
        liquid="salt", temperature=298.15, liquid_conductivity=5.0, assumptions=(),
    )  # fmt: skip


COLUMNS = recipe_columns(layer())
TRUTH = replace(model_of(COLUMNS), tafel_slope=0.035)
LEVEL, OUTSIDE = 1.1, 2.0


def run(scatter: float = 0.0, loads: tuple[float, ...] = LOADS) -> RunData:
    """Readings of a cell whose truth is a porous cathode."""
    dice = np.random.default_rng(8)
    readings: list[Reading] = []
    for load in loads:

        def excess(current: float, load: float = load) -> float:
            loss = float(polarization(TRUTH, [current / AREA]).loss[0])
            return LEVEL - loss - current * (OUTSIDE + load)

        current = float(brentq(excess, 1e-7, 0.2))
        volts = current * load + scatter * float(dice.standard_normal())
        readings.append(Reading(resistance=load, voltage=volts, settling=Settling.SETTLED))
    return read_run(
        Run(name="truth", readings=tuple(readings)),
        {},
        area=Area(AREA, 0.01),
        resistor_tolerance=0.001,
    )


def asked(data: RunData) -> PorousRun:
    """A run with the recipe's bands."""
    return PorousRun(data=data, columns=COLUMNS, rest=OUTSIDE)


def test_level_and_resistance_are_integrated_as_by_plain_quadrature() -> None:
    """The closed form with a resistance not below zero against a two-dimensional integral."""
    effects = np.array([[1.0, 0.9, 0.8], [-0.01, -0.02, -0.05]])
    driven, variance = np.array([[1.05, 0.9, 0.78]]), np.array([[1e-2, 2e-2, 1e-2]])
    rest = 1.5
    found = _linear(driven, variance, effects, rest)

    level, outside = np.meshgrid(
        np.linspace(-1.0, 3.5, 1201), np.linspace(0.0, 20.0, 1201), indexing="ij"
    )
    weight = np.full(1201, 1.0)
    weight[[0, -1]] = 0.5  # trapezium: the resistance starts at 0

    def plain(shift: float) -> float:
        height = -0.5 * (((level - 1.3) / 0.5) ** 2 + ((outside - rest) / (2.0 * rest)) ** 2)
        for k in range(3):
            off = driven[0, k] + shift - level * effects[0, k] - outside * effects[1, k]
            height = height - 0.5 * off**2 / variance[0, k]
        return float((np.exp(height) @ weight).sum())

    other = _linear(driven + 0.1, variance, effects, rest)

    # heights leave out constants that do not depend on the row, so their difference is compared
    assert float(other.height[0] - found.height[0]) == pytest.approx(
        np.log(plain(0.1) / plain(0.0)), abs=1e-4
    )


@pytest.mark.parametrize("seed", [1, 2])
def test_the_sampler_finds_a_known_posterior(seed: int) -> None:
    """A narrow, tilted normal in ten coordinates of which eight keep their prior: mean, width, evidence."""
    tilt = np.array([[1.0, 0.8], [0.8, 1.0]]) * 0.02
    centre = np.array([1.0, -0.5])

    def log_density(z: np.ndarray) -> np.ndarray:
        like = multivariate_normal.logpdf(z[:, :2], centre, tilt)
        return like - 0.5 * (z**2).sum(axis=1)

    found = sample_from_prior(log_density, 10, np.random.default_rng(seed))
    precision = np.linalg.inv(tilt)
    covariance = np.linalg.inv(precision + np.eye(2))
    mean = covariance @ precision @ centre
    evidence = 5.0 * np.log(2.0 * np.pi) + multivariate_normal.logpdf(
        centre, np.zeros(2), tilt + np.eye(2)
    )

    assert found.reason is None
    assert found.effective_sample_size >= 400
    spread = found.standard_deviation()
    assert found.mean()[:2] == pytest.approx(mean, abs=4 * float(np.sqrt(covariance[0, 0] / 400)))
    assert spread[:2] == pytest.approx(np.sqrt(np.diag(covariance)), rel=0.15)
    assert spread[2:] == pytest.approx(np.ones(8), rel=0.15)
    assert found.log_evidence == pytest.approx(evidence, abs=0.3)


def test_an_impossible_target_says_so() -> None:
    """A thin bent ridge that a few rounds cannot follow gives a reason, and no intervals."""

    def log_density(z: np.ndarray) -> np.ndarray:
        return -0.5 * ((z[:, 0] - z[:, 1] ** 2) / 1e-4) ** 2 - 0.5 * (z**2).sum(axis=1)

    found = sample_from_prior(log_density, 8, np.random.default_rng(1))
    assert found.reason is not None
    with pytest.raises(CannotTellError):
        found.mean()


def test_the_posterior_agrees_with_plain_weights_of_the_prior() -> None:
    """The adaptive sample against a large plain sample of the prior weighted by the likelihood alone."""
    found = fit_porous(asked(run(0.003)), np.random.default_rng(3))
    dice = np.random.default_rng(4)
    rows = dice.standard_normal((9000, found.model.size_of_row))
    logs = found.model(rows) + 0.5 * (rows**2).sum(axis=1)
    weights = np.exp(logs - logs.max())
    weights /= weights.sum()
    worth = 1.0 / float((weights**2).sum())
    mean = weights @ rows

    assert found.sample.reason is None
    assert worth > 100
    error = np.sqrt(1.0 / worth + 1.0 / found.sample.effective_sample_size)
    assert np.abs(found.sample.mean() - mean).max() < 4.0 * error


def test_the_truth_is_found_again_and_the_rest_withheld() -> None:
    """The slope lies in its interval; what kept its prior has no value and is not called measured."""
    answer, _ = porous_fit(asked(run(0.001, LOADS[:6])))
    rows = {row.name: row for row in answer.parameters}
    slope = rows["tafel slope"]

    per_decade = TRUTH.tafel_slope * math.log(10.0)
    assert slope.estimate.unit == "V/decade"
    assert slope.posterior_95[0] < per_decade < slope.posterior_95[1]
    assert slope.width_ratio < KEPT
    assert slope.estimate.basis is Basis.MEASURED
    assert rows["electrons"].kept_prior
    for row in answer.parameters:
        assert row.kept_prior == (row.estimate.value is None)
        if row.kept_prior:
            assert row.estimate.basis is Basis.ASSUMED
            assert "do not change" in (row.estimate.reason or "")
    assert {one.basis for one in answer.losses_V.values()} == {Basis.PREDICTED}
    assert answer.chosen in {"porous", "curve", "neither is shown better"}
    assert [figure.name for figure in answer.figures] == ["porous-fit", "porous-fit-widths"]


def test_a_load_is_foretold_without_having_been_seen() -> None:
    """Densities of left-out loads are those of a few millivolts of scatter, and of a shifted reading far less."""
    data = run(0.002, LOADS[1:6])
    score = held_out_score(asked(data), seed=1)
    shifted = replace(data, voltage=data.voltage + np.where(data.load == 47.0, 0.05, 0.0))
    worse = held_out_score(asked(shifted), seed=1)
    at = score.loads.index(47.0)

    assert min(*score.porous, *score.curve) > 0.0
    assert worse.porous[at] < score.porous[at] - 2.0
    assert worse.curve[at] < score.curve[at] - 2.0
    assert score.uncertainty > 0.0


def test_rows_far_out_are_no_cathodes(monkeypatch: pytest.MonkeyPatch) -> None:
    """A proposal throws rows so far out that the model refuses them: they leave the answer alone."""
    shipped = fitting.sample_from_prior

    def thrown(*arguments: Any, **more: Any) -> WeightedSample:
        found = shipped(*arguments, **more)
        far = np.full((1, found.samples.shape[1]), -40.0)
        return replace(
            found, samples=np.vstack([found.samples, far]), weights=np.append(found.weights, 0.0)
        )

    monkeypatch.setattr(fitting, "sample_from_prior", thrown)
    found = fit_porous(asked(run(0.003)), np.random.default_rng(3))

    assert told(found, np.random.default_rng(1)).rows
    assert float(found.sample.weights.min()) > 0.0


def test_too_little_to_fit() -> None:
    """No area, or too few loads."""
    with pytest.raises(CannotTellError):
        fit_porous(asked(replace(run(), area=None)), np.random.default_rng(1))
    few = without(run(), np.arange(len(LOADS)) > 2)
    with pytest.raises(CannotTellError):
        fit_porous(asked(few), np.random.default_rng(1))
    with pytest.raises(CannotTellError):
        held_out_score(asked(few), seed=1)
