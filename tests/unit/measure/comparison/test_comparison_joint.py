"""The joint model: known textbook limits, the drift told by the control, states that are no replicates."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from aerode.errors import CannotTellError, RangeError
from aerode.measure.comparison.comparing import compare_pieces, compare_recipes, order_cap
from aerode.measure.comparison.joint import (
    Observations,
    Priors,
    disturbances,
    fit_pieces,
    fit_recipes,
)
from aerode.quantities import Reason
from aerode.records.comparisons import Verdict

MARGIN = float(np.log(1.10))


def seen(
    value,
    recipe,
    *,
    own=1e-3,
    shared=0.0,
    order=None,
    piece=None,
    session=None,
    control=None,
    electrode=None,
):
    """Readings with labels; the same place for all unless told otherwise, which leaves no drift."""
    n = len(value)
    names = tuple(piece or (f"{r}{k}" for k, r in enumerate(recipe)))
    return Observations(
        value=np.asarray(value, float),
        known=np.diag(np.full(n, own**2)) + shared**2,
        electrode=tuple(electrode or names),
        piece=names,
        recipe=tuple(recipe),
        order=np.zeros(n) if order is None else np.asarray(order, float),
        session=tuple(session or ("day",) * n),
        control=tuple(control or (False,) * n),
    )


def test_without_drift_and_measurement_error_it_is_the_pooled_t_interval():
    """The general statistics library's own interval for two independent samples of equal variance."""
    rng = np.random.default_rng(4)
    a, b = rng.normal(0.1, 0.1, 4), rng.normal(0.0, 0.1, 3)
    found = compare_recipes(seen([*a, *b], "AAAABBB", own=1e-9), ["A", "B"], margin=MARGIN).of(
        "A", "B"
    )
    exact = stats.ttest_ind(a, b).confidence_interval(0.95)
    assert found.interval_95 == pytest.approx((exact.low, exact.high), rel=1e-6)
    assert found.degrees_of_freedom == pytest.approx(5.0, rel=1e-6)


def test_a_common_error_cancels_in_the_ratio():
    """One gain for all electrodes, known only to 20 %, changes neither ratio nor interval."""
    value = [0.30, 0.20, 0.05, 0.02]
    plain = compare_recipes(seen(value, "AABB", own=0.01), ["A", "B"], margin=MARGIN).of("A", "B")
    gained = compare_recipes(
        seen(value, "AABB", own=0.01, shared=0.2), ["A", "B"], margin=MARGIN
    ).of("A", "B")
    assert gained.estimate == pytest.approx(plain.estimate, abs=1e-9)
    assert gained.interval_95 == pytest.approx(plain.interval_95, abs=1e-7)


def test_pieces_may_differ_where_their_recipe_is_one():
    """Two pieces of one recipe, 9 % apart and measured to 1.6 %: shown as pieces, never as recipes."""
    two = seen([np.log(2.182), np.log(1.998)], "RR", own=0.016, piece=("T5", "T6"))
    found = compare_pieces(two, ["T5", "T6"], margin=MARGIN).of("T5", "T6")
    assert found.verdict is Verdict.SHOWN
    assert fit_recipes(two).names == ("R",), "there is one level, and nothing to compare it with"


def test_recipes_of_one_build_each_have_no_verdict():
    """However large the difference: without a second build there is no spread to hold it against."""
    with pytest.raises(CannotTellError) as refusal:
        fit_recipes(seen([0.0, 1.0], "AB", own=0.01))
    assert refusal.value.what == str(Reason.TOO_FEW_BUILDS)


def test_past_work_can_lend_the_spread():
    """With 6 % at 4 degrees of freedom from earlier, one build each can be judged, at those degrees."""
    pair = seen([0.5, 0.0], "AB", own=1e-9)
    found = compare_recipes(pair, ["A", "B"], margin=MARGIN, past_spread=(0.06, 4.0)).of("A", "B")
    half = stats.t.ppf(0.975, 4) * 0.06 * 2**0.5
    assert found.interval_95 == pytest.approx((0.5 - half, 0.5 + half), rel=1e-6)


def test_repeats_are_nested_in_their_piece():
    """Reading one piece ten times adds no degree of freedom for the recipes."""
    value, recipe = [0.3, 0.2, 0.1, 0.0], "AABB"
    once = compare_recipes(seen(value, recipe, own=0.01), ["A", "B"], margin=MARGIN).of("A", "B")
    again = seen(
        [*value, *[0.3] * 9],
        recipe + "A" * 9,
        own=0.01,
        piece=("A0", "A1", "B2", "B3", *["A0"] * 9),
    )
    many = compare_recipes(again, ["A", "B"], margin=MARGIN).of("A", "B")
    assert many.degrees_of_freedom == pytest.approx(once.degrees_of_freedom, rel=0.05)
    assert np.ptp(many.interval_95) > 0.9 * np.ptp(once.interval_95)


def drifting(slope: float, ageing: float = 0.0, spread: float = 0.0) -> Observations:
    """Eight pieces in a bad order between three readings of a control, with a true slope."""
    rng = np.random.default_rng(8)
    side = "AAABABBB"
    recipe = ["C", *side[:4], "C", *side[4:], "C"]
    place = np.arange(11.0)
    value = slope * place + np.where([r == "A" for r in recipe], 0.2, 0.0)
    value += np.where([r == "C" for r in recipe], ageing * place, 0.0)
    value += np.where([r == "C" for r in recipe], 0.0, spread * rng.standard_normal(11))
    pieces = tuple("C0" if r == "C" else f"P{k}" for k, r in enumerate(recipe))
    return seen(
        value, recipe, own=0.002, order=place, piece=pieces, control=[r == "C" for r in recipe]
    )


def test_the_control_takes_the_drift_out_of_recipes_and_pieces():
    """With -3 % a run and a control that does not age the true ratio of 0.2 comes back."""
    priors = Priors(control_ageing=1e-4)
    readings = drifting(-0.03)
    joint = fit_recipes(readings, priors)
    assert joint.fit.contrast(joint.weights("A", "B")).estimate == pytest.approx(0.2, abs=2e-3)
    drift = next(d for d in disturbances(readings, priors) if d.name.startswith("drift"))
    size, left = joint.told_of(drift)
    assert size == pytest.approx(-0.03, abs=1e-3)
    assert left < 1e-3
    pieces = fit_pieces(readings, priors)
    levels = dict(zip(pieces.names, pieces.fit.coefficients, strict=True))
    assert np.ptp([levels[f"P{k}"] for k in (1, 2, 3, 6)]) < 2e-3


def test_an_ageing_control_is_not_believed_beyond_its_prior():
    """The uncertainty of the drift is at least that of the control's own ageing, until pieces tell more."""
    for sd in (0.005, 0.01, 0.02):
        priors = Priors(control_ageing=sd)
        readings = drifting(-0.03)
        drift = next(d for d in disturbances(readings, priors) if d.name.startswith("drift"))
        _, left = fit_pieces(readings, priors).told_of(drift)
        assert left == pytest.approx(sd, rel=0.1)
    widths = [
        np.ptp(compare_pieces(drifting(0.0), ["P1", "P9"], margin=MARGIN, priors=Priors(control_ageing=sd)).differences[0].interval_95)
        for sd in (0.005, 0.01, 0.02)
    ]  # fmt: skip
    assert widths == sorted(widths)


def test_the_known_covariance_of_the_drift_is_a_ridge_on_its_column():
    """The plain twin: a penalised least squares with the drift as one more coefficient."""
    readings, priors = drifting(-0.02, spread=0.05), Priors(drift=0.05, control_ageing=0.01)
    joint = fit_pieces(readings, priors)
    shared = disturbances(readings, priors)
    columns = np.column_stack([joint.design, *[d.column for d in shared]])
    weight = np.linalg.inv(readings.known)
    penalty = np.diag([0.0] * joint.design.shape[1] + [d.standard_deviation**-2 for d in shared])
    plain = np.linalg.solve(
        columns.T @ weight @ columns + penalty, columns.T @ weight @ readings.value
    )
    assert joint.fit.coefficients == pytest.approx(plain[: len(joint.names)], abs=1e-9)
    for part, size in zip(shared, plain[len(joint.names) :], strict=True):
        assert joint.told_of(part)[0] == pytest.approx(size, abs=1e-9)
    spread = np.linalg.inv(columns.T @ weight @ columns + penalty)
    drift = next(k for k, d in enumerate(shared) if d.name.startswith("drift"))
    at = len(joint.names) + drift
    assert joint.told_of(shared[drift])[1] == pytest.approx(spread[at, at] ** 0.5, rel=1e-6)


def test_pieces_first_then_recipes_is_the_one_step_fit():
    """The plain twin: all readings in one restricted likelihood, maximised on a fine grid."""
    rng = np.random.default_rng(21)
    recipe = "CABACBABC"
    piece = ("C0", "A1", "B1", "A1", "C0", "B2", "A2", "B1", "C0")
    build = {p: 0.08 * rng.standard_normal() for p in set(piece)}
    value = np.array([build[p] for p in piece]) + 0.01 * rng.standard_normal(9)
    readings = seen(
        value, recipe, own=0.01, order=np.arange(9), piece=piece, control=[r == "C" for r in recipe]
    )
    joint = fit_recipes(readings)
    known = readings.known.copy()
    for part in disturbances(readings, Priors()):
        known += np.outer(part.column, part.column) * part.standard_deviation**2
    same = np.array([[p == q for q in piece] for p in piece], float)
    design = joint.design

    def deviance(variance: float) -> float:
        sigma = known + variance * same
        inverse = np.linalg.inv(sigma)
        normal = design.T @ inverse @ design
        rest = value - design @ np.linalg.solve(normal, design.T @ inverse @ value)
        return np.linalg.slogdet(sigma)[1] + np.linalg.slogdet(normal)[1] + rest @ inverse @ rest

    grid = joint.fit.build_variance * np.linspace(0.9, 1.1, 201)
    best = grid[np.argmin([deviance(v) for v in grid])]
    assert joint.fit.build_variance == pytest.approx(best, rel=2e-3)
    inverse = np.linalg.inv(known + joint.fit.build_variance * same)
    normal = np.linalg.inv(design.T @ inverse @ design)
    assert joint.fit.coefficients == pytest.approx(normal @ design.T @ inverse @ value, abs=1e-9)
    assert joint.fit.covariance == pytest.approx(normal, rel=1e-6, abs=1e-9)


def test_one_build_each_read_again_and_again_takes_its_spread_from_the_past_alone():
    """Repeats say nothing of builds: the spread stays what was lent, at its degrees of freedom."""
    readings = seen([0.5, 0.51, 0.0, 0.01, 0.1, 0.1], "AABBCC", own=0.01, order=np.arange(6),
                    piece=("a", "a", "b", "b", "c", "c"), control=(False,) * 4 + (True,) * 2)  # fmt: skip
    joint = fit_recipes(readings, past_spread=(0.06, 5.0))
    assert joint.fit.build_variance == pytest.approx(0.06**2, rel=1e-6)
    assert joint.fit.build_degrees_of_freedom == pytest.approx(5.0, rel=1e-6)


def test_a_control_that_is_a_compared_recipe_ages_from_its_first_reading():
    """Its first reading counts as its build; the later ones carry the drift, less what ageing may hide."""
    readings = seen([0.0, 0.1, 0.05, -0.02], "AABA", own=0.002, order=[1, 2, 3, 4],
                    piece=("P", "Q", "S", "P"), control=(True, False, False, True))  # fmt: skip
    ageing = next(d for d in disturbances(readings, Priors()) if d.name == "ageing of P")
    assert ageing.column.tolist() == [0.0, 0.0, 0.0, 3.0]


def test_sessions_shift_and_each_has_its_own_drift():
    """Two days: a level and a drift each, and the control's ageing goes on from day to day."""
    readings = seen(np.zeros(6), "CACCBC", own=0.01, order=[1, 2, 3, 1, 2, 3], session=["d1"] * 3 + ["d2"] * 3,
                    piece=("C0", "P", "C0", "C0", "Q", "C0"), control=(True, False, True, True, False, True))  # fmt: skip
    found = {d.name: d for d in disturbances(readings, Priors())}
    assert set(found) == {
        "drift in d1",
        "level of d1",
        "drift in d2",
        "level of d2",
        "ageing of C0",
    }
    assert found["drift in d2"].column.tolist() == [0, 0, 0, -1, 0, 1]
    assert found["ageing of C0"].column.tolist() == [0, 0, 2, 3, 0, 5]


def test_recipes_that_ran_with_the_order_are_never_called_shown():
    """The same readings, even and aligned: shown, and capped with the reason."""
    value = [1.0, 1.01, 0.99, 0.0, 0.01, -0.01]
    even = seen(value, "AAABBB", own=0.002, order=[1, 4, 6, 2, 3, 5])
    aligned = seen(value, "AAABBB", own=0.002, order=[1, 2, 3, 4, 5, 6])
    assert compare_recipes(even, ["A", "B"], margin=MARGIN).of("A", "B").verdict is Verdict.SHOWN
    capped = compare_recipes(aligned, ["A", "B"], margin=MARGIN).of("A", "B")
    assert capped.verdict is Verdict.NOT_SHOWN
    assert capped.capped == str(Reason.ALIGNED)
    assert capped.decision[0] > 0, "the interval itself stays as it is"


@pytest.mark.parametrize("builds", [2, 3, 4, 6])
def test_a_piece_of_the_first_side_read_again_at_the_end_lifts_the_cap(builds):
    """As the reason tells to do: then the drift is told within a piece, however many builds there are."""
    dice = np.random.default_rng(builds)
    count = 2 * builds
    value = [*(1.0 + 0.01 * dice.standard_normal(builds)), *(0.01 * dice.standard_normal(builds))]
    pieces = [*(f"A{k}" for k in range(builds)), *(f"B{k}" for k in range(builds))]
    recipes, order = "A" * builds + "B" * builds, list(range(1, count + 1))
    plain = seen(value, recipes, own=0.002, order=order, piece=pieces)
    weights = np.array([1.0, -1.0])
    assert order_cap(plain, ["A", "B"], weights) == str(Reason.ALIGNED)
    again = seen(
        [*value, value[0]],
        recipes + "A",
        own=0.002,
        order=[*order, count + 1],
        piece=[*pieces, "A0"],
    )
    assert order_cap(again, ["A", "B"], weights) == ""
    found = compare_recipes(again, ["A", "B"], margin=MARGIN).of("A", "B")
    assert found.verdict is Verdict.SHOWN
    at_once = seen(
        [value[0], *value], "A" + recipes, own=0.002, order=[0, *order], piece=["A0", *pieces]
    )
    assert order_cap(at_once, ["A", "B"], weights) == str(Reason.ALIGNED), (
        "twice at the start tells no drift"
    )
    last = seen(
        [*value, value[-1]],
        recipes + "B",
        own=0.002,
        order=[*order, count + 1],
        piece=[*pieces, pieces[-1]],
    )
    assert order_cap(last, ["A", "B"], weights) == str(Reason.ALIGNED), (
        "nor the last side twice at the end"
    )


@pytest.mark.parametrize("drift", [-0.03, 0.0, 0.03])
def test_a_side_that_came_back_is_called_shown_no_oftener_than_it_may(drift):
    """Equal recipes read A A B B A, the day drifting in a bent line: shown in 5 % (300 studies, 3.1 standard errors)."""
    dice, shown = np.random.default_rng(11), 0
    pieces = ("A1", "A2", "B1", "B2", "A1")
    for _ in range(300):
        built = {piece: 0.055 * dice.standard_normal() for piece in dict.fromkeys(pieces)}
        value = [
            built[p] + drift * (k + 0.15 * k * k) + 0.01 * dice.standard_normal()
            for k, p in enumerate(pieces)
        ]
        read = seen(value, "AABBA", own=0.01, order=range(5), piece=pieces)
        shown += (
            compare_recipes(read, ["A", "B"], margin=MARGIN)
            .of("A", "B")
            .verdict.value.startswith("shown")
        )
    assert shown / 300 <= 0.05 + 3.1 * np.sqrt(0.05 * 0.95 / 300)


def test_recipes_of_different_days_need_a_piece_read_on_both():
    """Without a tie between the sessions the verdict is capped; one piece read on both lifts it."""
    value = [1.0, 1.01, 0.0, 0.01]
    apart = seen(value, "AABB", own=0.002, order=[1, 2, 1, 2], session=("d1", "d1", "d2", "d2"))
    assert "different sessions" in order_cap(apart, ["A", "B"], np.array([1.0, -1.0]))
    tied = seen([*value, 1.0], "AABBA", own=0.002, order=[1, 2, 1, 2, 3], session=("d1", "d1", "d2", "d2", "d2"),
                piece=("A0", "A1", "B2", "B3", "A0"))  # fmt: skip
    assert order_cap(tied, ["A", "B"], np.array([1.0, -1.0])) == ""


def test_labels_of_unequal_length_are_refused():
    """A slip in the arrays is named, not broadcast."""
    good = seen([0.0, 1.0], "AB")
    with pytest.raises(RangeError):
        Observations(value=good.value, known=good.known, electrode=good.electrode, piece=good.piece,
                     recipe=("A",), order=good.order, session=good.session, control=good.control)  # fmt: skip
