"""The order of measuring: drawn, repeatable, even, with the control in its three places."""

from __future__ import annotations

import numpy as np
import pytest

from aerode.errors import InputError
from aerode.measure.comparison.run_order import (
    ALIGNMENT_LIMIT,
    alignment,
    draw_run_order,
    worst_alignment,
)

NAMES = ["T1", "T2", "T3", "T4", "T5", "T6", "T7", "T8"]
RECIPES = {name: "A" if k < 4 else "B" for k, name in enumerate(NAMES)}


def test_the_control_stands_first_in_the_middle_and_last():
    """Three readings of the control bracket the electrodes, each of which comes once."""
    order = draw_run_order(NAMES, control="C0", seed=5, session="day")
    assert [k for k, name in enumerate(order.electrodes) if name == "C0"] == [0, 5, 10]
    assert sorted(name for name in order.electrodes if name != "C0") == NAMES
    assert order.seed == 5


def test_the_same_seed_draws_the_same_order_and_another_seed_another():
    """The plan can be drawn again from the seed that is kept with it."""
    first = draw_run_order(NAMES, seed=1, session="day").electrodes
    assert first == draw_run_order(NAMES, seed=1, session="day").electrodes
    others = {draw_run_order(NAMES, seed=s, session="day").electrodes for s in range(20)}
    assert len(others) > 15


def test_a_drawn_order_never_runs_with_the_recipes():
    """Over 200 seeds no order comes near the limit above which nothing is called shown."""
    worst = 0.0
    for seed in range(200):
        order = draw_run_order(NAMES, recipes=RECIPES, seed=seed, session="day").electrodes
        side = [1.0 if RECIPES[name] == "A" else -1.0 for name in order]
        worst = max(worst, alignment(side, range(len(order))))
    assert worst <= 0.5 < ALIGNMENT_LIMIT


def test_every_place_is_drawn_about_equally_often():
    """Asking for evenness does not tie a piece to a place: first place over 800 seeds, chi-square."""
    first = [
        draw_run_order(NAMES, recipes=RECIPES, seed=s, session="d").electrodes[0]
        for s in range(800)
    ]
    counts = np.array([first.count(name) for name in NAMES])
    assert ((counts - 100.0) ** 2 / 100.0).sum() < 24.3  # 0.1 % point of chi-square with 7 degrees


def test_alignment_agrees_with_the_correlation_of_the_array_library():
    """The plain twin: numpy's own correlation."""
    rng = np.random.default_rng(2)
    for _ in range(20):
        side, order = rng.choice([-1.0, 1.0], 6), rng.permutation(6)
        if np.ptp(side) > 0:
            assert alignment(side, order) == pytest.approx(
                abs(np.corrcoef(side, order)[0, 1]), abs=1e-12
            )
    assert alignment([1.0, 1.0], [1, 2]) == 0.0


def test_two_single_pieces_have_no_alignment_to_speak_of():
    """One piece a side is always "first" and "second"; that is not counted."""
    assert worst_alignment(["A", "B"], [1, 2]) == 0.0
    assert worst_alignment(["A", "A", "B", "B"], [1, 2, 3, 4]) == pytest.approx(2 / 5**0.5)


@pytest.mark.parametrize(
    ("names", "control"), [(["T1"], ""), (["T1", "T1"], ""), (["T1", "C0"], "C0")]
)
def test_an_order_of_one_piece_or_of_one_piece_twice_is_refused(names, control):
    """What cannot be ordered is refused by name."""
    with pytest.raises(InputError):
        draw_run_order(names, control=control, seed=1, session="day")
