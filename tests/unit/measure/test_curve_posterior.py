"""The posterior against its plain twin, its shared errors against re-fits, its gates."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from aerode.errors import CannotTellError
from aerode.measure.area import Area
from aerode.measure.curve import Curve, current_through, voltage_at_current
from aerode.measure.curve_likelihood import Frame, Likelihood
from aerode.measure.curve_posterior import CurvePosterior, fit_run, priors_for
from aerode.measure.curve_ridge import Ridge
from aerode.measure.readings import RunData, read_run
from aerode.records.runs import Reading, Run, Settling
from aerode.stats.walkers import walk

LOADS = (1000.0, 470.0, 220.0, 100.0, 47.0, 22.0, 10.0, 4.7, 2.2, 1.0)
SALT = Curve.of(0.62 + 0.055 * np.log(4e-3), 0.055, 3.75, 0.06)
"""A salt-water cell of 4 cm² whose smallest load comes to 97 % of its limit."""
FAR = Curve.of(0.62 + 0.055 * np.log(4e-3), 0.055, 3.75, 0.8)
"""The same with a limit that is never approached."""


def data_of(
    curve: Curve, *, scatter: float = 0.002, seed: int = 1, loads: tuple[float, ...] = LOADS
) -> RunData:
    """Readings to 1 mV with 1 % resistors."""
    volts = current_through(curve, loads)[0] * np.array(loads)
    volts = volts + scatter * np.random.default_rng(seed).standard_normal(len(loads))
    readings = tuple(
        Reading(resistance=r, voltage=round(float(v), 3), settling=Settling.SETTLED)
        for r, v in zip(loads, volts, strict=True)
    )
    run = Run(name="run", readings=readings)
    return read_run(run, {}, area=Area(4e-4, 0.01), resistor_tolerance=0.01)


@pytest.fixture(scope="module")
def near() -> CurvePosterior:
    """A run that comes near its limit."""
    return fit_run(data_of(SALT), np.random.default_rng(2), draws=6000)


@pytest.fixture(scope="module")
def far() -> CurvePosterior:
    """A run that does not."""
    return fit_run(data_of(FAR), np.random.default_rng(2), draws=6000)


def plain_log_density(data: RunData, numbers: np.ndarray, frame: Frame) -> np.ndarray:
    """The twin: full covariance, every resistor and the gain as they stand, no eigenvectors.

    One curve at a time; the effect of each shared error by differences on that very curve. Numbers:
    level at the mean current, ln b, R, ln(i_L/i_0 - 1), ln scatter.
    """
    priors = priors_for(data)
    loads = data.load
    parallel = loads * data.input_resistance / (loads + data.input_resistance)
    out = np.empty(len(numbers))
    for k, (level, log_b, r, place, log_scatter) in enumerate(numbers):
        b, scatter = np.exp(log_b), np.exp(log_scatter)
        limit = frame.given * (1.0 + np.exp(place))
        curve = Curve.of(level + b * np.log(frame.reference), b, r, limit)
        volts = current_through(curve, parallel)[0] * parallel
        up = parallel * 1.001
        part = (current_through(curve, up)[0] * up - volts) / 0.001 * (0.01 / 3**0.5)
        covariance = np.diag(scatter**2 + data.noise**2 + part**2)
        covariance += np.outer(volts, volts) * (0.005 / 3**0.5) ** 2
        off = data.voltage - volts
        out[k] = -0.5 * (off @ np.linalg.solve(covariance, off) + np.linalg.slogdet(covariance)[1])
        out[k] -= 0.5 * ((log_b - np.log(priors.slope_median)) / priors.slope_spread) ** 2
        out[k] -= 0.5 * ((log_scatter - np.log(priors.scatter_median)) / priors.scatter_spread) ** 2
        # density of ln i_L as i_L^-p, and d ln i_L = (1 - i_0/i_L) d place
        out[k] += -priors.limit_fall * np.log(limit / frame.given) + np.log(1 - frame.given / limit)
    return out


@pytest.mark.parametrize("which", ["near", "far"])
def test_the_posterior_is_that_of_the_plain_likelihood(
    which: str, near: CurvePosterior, far: CurvePosterior
) -> None:
    """Reweighting to the plain twin moves no parameter by more than a tenth of its width.

    The twin takes each shared error on the very curve; ours is linearised once at a pilot. Near the
    limit this is where a sampler coarser than the posterior, or a poor linearisation, would show.
    """
    posterior = {"near": near, "far": far}[which]
    rows = posterior.sample.resample(500, np.random.default_rng(3))
    likelihood = Likelihood(posterior.data, posterior.priors)
    numbers = Ridge(likelihood).numbers(rows)
    own = likelihood(numbers)
    twin = plain_log_density(posterior.data, numbers, likelihood.frame)
    weight = np.exp((twin - own) - (twin - own).max())
    weight /= weight.sum()
    assert 1 / np.sum(weight**2) > 250
    shift = np.abs(weight @ numbers - numbers.mean(axis=0)) / numbers.std(axis=0)
    assert np.max(shift) < 0.15


@pytest.mark.slow
@pytest.mark.parametrize("curve", [SALT, FAR], ids=["near", "far"])
def test_importance_sampling_agrees_with_a_long_walk(curve: Curve) -> None:
    """The slow twin of the sampler: many walkers, many steps, started from the sample's spread."""
    posterior = fit_run(data_of(curve), np.random.default_rng(2), draws=16000)
    likelihood = Likelihood(posterior.data, posterior.priors)
    dice = np.random.default_rng(5)
    begin = Ridge(likelihood).numbers(posterior.sample.resample(60, dice))
    top = np.log(posterior.priors.largest_limiting_current / likelihood.frame.given - 1.0)

    def bounded(numbers: np.ndarray) -> np.ndarray:
        return np.where(numbers[:, 3] < top, likelihood(numbers), -np.inf)

    walked = walk(bounded, begin, bounded(begin), 4000, dice)[1000:].reshape(-1, 5)
    ours = Ridge(likelihood).numbers(posterior.sample.samples)
    for column in range(5):
        here = posterior.sample.quantile([0.025, 0.5, 0.975], ours[:, column])
        there = np.quantile(walked[:, column], [0.025, 0.5, 0.975])
        # three times the noise of both
        assert np.max(np.abs(here - there)) < 0.08 * (there[2] - there[0])


@pytest.mark.parametrize("which", ["near", "far"])
def test_the_coordinates_along_the_ridge_are_a_map_with_its_own_derivative(
    which: str, near: CurvePosterior, far: CurvePosterior
) -> None:
    """The density of the rows is that of the numbers times the slope of the map, by differences."""
    posterior = {"near": near, "far": far}[which]
    likelihood = Likelihood(posterior.data, posterior.priors)
    ridge = Ridge(likelihood)
    rows = posterior.sample.resample(200, np.random.default_rng(6))
    inside = np.all((rows[:, 2:4] > 1e-3) & (rows[:, 2:4] < 1 - 1e-3), axis=1)
    rows = rows[inside]
    step = 1e-6
    columns = [
        (ridge.numbers(rows + step * unit) - ridge.numbers(rows - step * unit)) / (2 * step)
        for unit in np.eye(5)
    ]
    _, log_slope = np.linalg.slogdet(np.stack(columns, axis=-1))
    wanted = likelihood(ridge.numbers(rows)) + log_slope
    assert ridge(rows) == pytest.approx(wanted, abs=1e-3)


@pytest.mark.parametrize("share", [0.25, 0.5, 0.75, 0.97])
def test_the_sampler_is_efficient_at_every_limit(share: float) -> None:
    """Half of the draws are worth a plain sample, from limits far away to limits almost reached."""
    limit = {0.25: 0.36, 0.5: 0.17, 0.75: 0.105, 0.97: 0.0605}[share]
    curve = Curve.of(0.62 + 0.055 * np.log(4e-3), 0.055, 3.75, limit)
    posterior = fit_run(data_of(curve), np.random.default_rng(1))
    assert posterior.effective_sample_size > 0.5 * posterior.weights.size
    assert posterior.sample.evaluations < 8000


def test_the_truth_lies_in_its_intervals(near: CurvePosterior) -> None:
    """One run near the limit, all four numbers, at three standard deviations."""
    curve, sample = near.curve, near.sample
    for values, truth in (
        (curve.slope, 0.055),
        (curve.resistance, 3.75),
        (curve.limiting_current, 0.06),
        (near.resistance_apparent, 3.75 + 0.055 / 0.06),
    ):
        assert abs(float(sample.mean(values)) - truth) < 3 * float(
            sample.standard_deviation(values)
        )


def test_shared_errors_move_the_answer_as_a_refit_says(near: CurvePosterior) -> None:
    """Slow twin: shift the readings by what one error does, fit again, compare ln I at 0.35 V."""
    slopes = near.sensitivities_to_shared(0.35)
    before, _ = near.log_current_at_voltage(0.35)
    for error in near.shared:
        size = 0.002 if error.name.startswith("gain") else 0.005
        moved = replace(near.data, voltage=near.data.voltage + size * error.effect)
        again = fit_run(moved, np.random.default_rng(2), draws=6000)
        change = again.log_current_at_voltage(0.35)[0] - before
        assert change == pytest.approx(slopes[error.name] * size, abs=6e-4), error.name


def test_a_common_error_of_all_resistors_is_an_error_of_the_current(near: CurvePosterior) -> None:
    """All loads noted one per cent too high: every current one per cent too low."""
    slopes = near.sensitivities_to_shared(0.35)
    parts = sum(s for name, s in slopes.items() if name.startswith("part"))
    assert parts == pytest.approx(-1.0, abs=0.05)


def test_the_variance_is_its_own_and_the_shared_part(near: CurvePosterior) -> None:
    """Independent and shared variance together are the whole, or more where the shared rules."""
    slopes, sizes = near.sensitivities_to_shared(0.35), near.shared_uncertainties
    shared = sum((slopes[n] * sizes[n]) ** 2 for n in slopes)
    whole = near.log_current_at_voltage(0.35)[1] ** 2
    assert near.independent_sd(0.35) ** 2 + shared >= whole * (1 - 1e-9)
    assert near.independent_sd(0.35) ** 2 + shared < 1.3 * whole


def test_halving_the_tolerance_narrows_the_answer() -> None:
    """Resistors of 5 % leave a wider current than resistors of 0.1 %."""
    widths = []
    for tolerance in (0.05, 0.001):
        data = replace(data_of(SALT), part_uncertainty=np.full(len(LOADS), tolerance / 3**0.5))
        widths.append(fit_run(data, np.random.default_rng(2)).log_current_at_voltage(0.35)[1])
    assert widths[0] > 1.3 * widths[1]


def test_outside_the_measured_range_there_is_no_answer(near: CurvePosterior) -> None:
    """A voltage or current that was not measured is refused, with the range."""
    with pytest.raises(CannotTellError, match="outside the range"):
        near.log_current_at_voltage(0.9)
    with pytest.raises(CannotTellError, match="outside the range"):
        near.voltage_at_current(0.2)
    assert near.covers_voltage(0.35)
    assert not near.covers_current(0.2)


def test_a_current_that_few_curves_reach_is_refused() -> None:
    """Readings that scatter beyond the limit: no voltage is told there."""
    loads = (470.0, 100.0, 47.0, 22.0, 10.0, 4.7, 1.0)
    data = data_of(SALT, loads=loads)
    high = replace(data, voltage=data.voltage + np.array([0, 0, 0, 0, 0, 0, 0.008]))
    posterior = fit_run(high, np.random.default_rng(2))
    top = float(high.tab_points()[1].max())
    assert not posterior.tells_voltage_at(top)
    with pytest.raises(CannotTellError, match="limiting current"):
        posterior.voltages_at(top)


def test_voltage_at_a_current_is_the_mean_over_the_curves(near: CurvePosterior) -> None:
    """The same from the curves themselves."""
    mean, sd = near.voltage_at_current(0.02)
    volts = voltage_at_current(near.curve, [0.02])[:, 0]
    assert mean == pytest.approx(float(near.weights @ volts), abs=1e-9)
    assert sd == pytest.approx(float(np.sqrt(near.weights @ (volts - mean) ** 2)), rel=1e-6)


@pytest.mark.parametrize("count", [0, 1, 2])
def test_too_few_loads_are_refused(count: int) -> None:
    """Nothing, one and two readings; the refusal says how many are needed."""
    with pytest.raises(CannotTellError, match="at least 3 different ones"):
        fit_run(data_of(SALT, loads=LOADS[:count]), np.random.default_rng(1))


def test_three_loads_give_a_curve_but_no_parameters() -> None:
    """Inside the range the voltage is known; the parameters keep what was assumed."""
    posterior = fit_run(data_of(FAR, loads=(100.0, 22.0, 4.7)), np.random.default_rng(1))
    assert posterior.reason is None
    _, sd = posterior.voltage_at_current(0.018)
    assert sd < 0.02
    logs = np.log(posterior.curve.limiting_current)
    assert float(posterior.sample.standard_deviation(logs)) > 0.3


def test_equal_dice_give_equal_curves() -> None:
    """The only randomness is the generator that is handed in."""
    first = fit_run(data_of(SALT), np.random.default_rng(7))
    second = fit_run(data_of(SALT), np.random.default_rng(7))
    assert np.array_equal(first.sample.samples, second.sample.samples)


def test_without_an_area_ten_ampere_bound_the_limit() -> None:
    """One ampere per square centimetre of ten square centimetres."""
    data = data_of(SALT)
    assert priors_for(data).largest_limiting_current == pytest.approx(4.0)
    assert priors_for(replace(data, area=None)).largest_limiting_current == pytest.approx(10.0)
