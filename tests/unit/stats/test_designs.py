"""Two-level plans: balance, aliases in words, run order, effects and their pure error."""

from __future__ import annotations

import numpy as np
import pytest

from aerode.errors import CannotTellError, RangeError
from aerode.stats.designs import (
    CONTROL,
    alias_sentences,
    effects,
    full_factorial,
    half_fraction,
    random_run_order,
    with_centre_points,
)

NAMES = ["binder", "oxide", "plate"]


@pytest.mark.parametrize("factors", [1, 2, 3, 5])
def test_full_factorial_is_balanced(factors: int) -> None:
    """All rows different, columns orthogonal and summing to nought."""
    x = full_factorial(factors)
    assert len(np.unique(x, axis=0)) == 2**factors
    assert np.array_equal(x.T @ x, 2**factors * np.eye(factors))
    assert not x.sum(axis=0).any()


@pytest.mark.parametrize(("factors", "sign"), [(3, 1), (3, -1), (5, 1)])
def test_half_fraction_has_its_defining_relation(factors: int, sign: int) -> None:
    """The product of all factors is constant, columns stay orthogonal, both halves make the whole."""
    x = half_fraction(factors, sign)
    assert np.array_equal(x.prod(axis=1), np.full(2 ** (factors - 1), float(sign)))
    assert np.array_equal(x.T @ x, 2 ** (factors - 1) * np.eye(factors))
    whole = np.concatenate([x, half_fraction(factors, -sign)])
    assert len(np.unique(whole, axis=0)) == 2**factors


def test_aliases_are_said_in_words() -> None:
    """Half of 2³ mixes every effect with an interaction; the full plan mixes nothing."""
    sentences = alias_sentences(half_fraction(3), NAMES)
    assert len(sentences) == 3
    assert sentences[0] == (
        "The effect of binder cannot be told apart from oxide and plate acting together."
    )
    assert alias_sentences(full_factorial(3), NAMES) == []
    four = alias_sentences(half_fraction(4), [*NAMES, "wax"])
    assert four == [
        "What comes from binder and oxide acting together cannot be told apart from plate and wax"
        " acting together.",
        "What comes from binder and plate acting together cannot be told apart from oxide and wax"
        " acting together.",
        "What comes from binder and wax acting together cannot be told apart from oxide and plate"
        " acting together.",
    ]
    twins = alias_sentences(np.array([[-1.0, -1], [1, 1]]), ["binder", "oxide"])
    assert "The effect of binder cannot be told apart from oxide." in twins


def test_centre_points_do_not_count_as_corners() -> None:
    """Aliases are read from the corners alone."""
    with_centres = with_centre_points(half_fraction(3), 2)
    assert alias_sentences(with_centres, NAMES) == alias_sentences(half_fraction(3), NAMES)


@pytest.mark.parametrize(("runs", "controls"), [(8, 3), (5, 3), (6, 2), (12, 5), (4, 0)])
def test_run_order_brackets_with_the_control(runs: int, controls: int) -> None:
    """Every run once, the control first and last and evenly between."""
    order = random_run_order(runs, np.random.default_rng(1), controls=controls)
    assert sorted(run for run in order if run != CONTROL) == list(range(runs))
    places = [k for k, run in enumerate(order) if run == CONTROL]
    assert len(places) == controls
    if controls:
        assert (places[0], places[-1]) == (0, len(order) - 1)
        gaps = np.diff(places)
        assert gaps.max() - gaps.min() <= 1


def test_run_order_is_random_and_reproducible() -> None:
    """The same dice give the same order; over 2,000 dice each run stands first about equally often."""
    assert random_run_order(8, np.random.default_rng(2)) == random_run_order(
        8, np.random.default_rng(2)
    )
    rng = np.random.default_rng(3)
    first = np.bincount([random_run_order(4, rng, controls=0)[0] for _ in range(2000)], minlength=4)
    assert first.min() > 420


def test_effects_of_a_replicated_half_fraction() -> None:
    """Half of 2³ with two corners built twice and two centres: 3 + 1 degrees kept apart.

    Effects against plain least squares; pure error against the spread of the pairs by hand.
    """
    rng = np.random.default_rng(4)
    x = with_centre_points(np.concatenate([half_fraction(3), half_fraction(3)[2:]]), 2)
    y = x @ [-0.12, 0.04, 0.05] + 0.1 + rng.normal(0, 0.05, 8) + 0.2 * np.all(x == 0, axis=1)
    found = effects(x, y)
    pairs = [(2, 4), (3, 5), (6, 7)]
    by_hand = np.sqrt(sum((y[a] - y[b]) ** 2 / 2 for a, b in pairs) / 3)
    assert found.pure_error_degrees_of_freedom == 3
    assert found.pure_error_standard_deviation == pytest.approx(by_hand)
    model = np.column_stack([np.ones(8), x, np.all(x == 0, axis=1)])
    plain = np.linalg.lstsq(model, y, rcond=None)[0]
    assert [c.estimate for c in found.contrasts] == pytest.approx(plain[1:4])
    assert found.curvature is not None
    assert found.curvature.estimate == pytest.approx(plain[4])
    assert {c.degrees_of_freedom for c in found.contrasts} == {3.0}
    inverse = np.linalg.inv(model.T @ model)
    assert found.contrasts[0].standard_error == pytest.approx(by_hand * np.sqrt(inverse[1, 1]))


def test_no_centre_no_curvature() -> None:
    """Without centre points there is no curvature to report."""
    x = np.concatenate([full_factorial(2), full_factorial(2)])
    assert effects(x, np.arange(8.0)).curvature is None


def test_what_cannot_be_told_is_refused() -> None:
    """No repeated setting, factors changed together, bad shapes, one control, no runs."""
    with pytest.raises(CannotTellError, match="fewer than two"):
        effects(full_factorial(2), [1.0, 2.0, 3.0, 4.0])
    with pytest.raises(CannotTellError, match="together"):
        effects([[-1.0, -1], [1, 1], [1, 1]], [1.0, 2.0, 2.5])
    with pytest.raises(RangeError, match="shapes"):
        effects(full_factorial(2), [1.0])
    with pytest.raises(RangeError, match="controls"):
        random_run_order(4, np.random.default_rng(0), controls=1)
    with pytest.raises(RangeError, match="factors"):
        full_factorial(0)
    with pytest.raises(RangeError, match="factors"):
        half_fraction(2)
    with pytest.raises(RangeError, match="names"):
        alias_sentences(full_factorial(2), ["binder"])
    with pytest.raises(RangeError, match="centre"):
        with_centre_points(full_factorial(2), -1)
