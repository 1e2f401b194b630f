"""How far apart two weighings have to be, against the rule written out by hand.

House rule: 10 min, in which 1 % of the coats or 0.5 mg/cm2 counts as no change, whichever is more; a scale
whose step is n times that needs n times as long.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from aerode.cautions.waits import allowed_change, later, needed_wait, wait_and_step
from aerode.records.electrodes import Coat, Electrode, Layer, Weighing
from aerode.records.marks import Entry

MG = 1e-6  # kg
G = 1e-3  # kg
CM2 = 1e-4  # m2
PIECE = Electrode(
    name="E", wetted_area=Entry(value=9 * CM2), mesh_mass=Entry(value=5 * G),
    layers=(Layer(mix="M", coats=(Coat(wet_mass=0.9 * G),)),),
)  # fmt: skip


@pytest.mark.parametrize(
    ("coating", "area", "allowed"),
    [
        (None, None, 0.0), (0.0, 0.0, 0.0), (2.1 * G, None, 21 * MG), (None, 9 * CM2, 4.5 * MG),
        (2.1 * G, 9 * CM2, 21 * MG), (0.2 * G, 9 * CM2, 4.5 * MG),
    ],
)  # fmt: skip
def test_the_larger_of_coat_and_area_counts(
    coating: float | None, area: float | None, allowed: float
) -> None:
    """1 % of 2.1 g is 21 mg, 0.5 mg/cm2 of 9 cm2 is 4.5 mg."""
    assert allowed_change(coating, area) == pytest.approx(allowed, abs=1e-15)


@pytest.mark.parametrize(
    ("coating", "area", "step", "minutes"),
    [
        (None, None, 10 * MG, 10.0), (2.1 * G, None, 10 * MG, 10.0), (2.1 * G, None, 100 * MG, 47.6),
        (0.2 * G, 9 * CM2, 10 * MG, 22.2), (None, 9 * CM2, 10 * MG, 22.2), (0.2 * G, None, 10 * MG, 50.0),
        (None, 9 * CM2, 1 * MG, 10.0),
    ],
)  # fmt: skip
def test_a_coarse_scale_waits_longer(
    coating: float | None, area: float | None, step: float, minutes: float
) -> None:
    """10 min x 10 mg / 4.5 mg = 22.2 min; 10 min x 100 mg / 21 mg = 47.6 min; never less than 10 min."""
    assert needed_wait(coating, area, step) / 60 == pytest.approx(minutes, abs=0.05)


@pytest.mark.parametrize(
    ("weighings", "bench", "expected"),
    [
        ((), 10 * MG, (23, 10 * MG)),
        ((), 1 * MG, (10, 1 * MG)),
        ((), None, (23, 10 * MG)),
        ((Weighing(mass=5.2 * G, resolution=100 * MG),), 1 * MG, (223, 100 * MG)),
        ((Weighing(mass=5.2 * G),), 1 * MG, (23, 10 * MG)),
        ((Weighing(mass=5.2 * G, resolution=100 * MG, at="2026-03-02T10:00:00"),), 1 * MG, (223, 100 * MG)),
        ((Weighing(mass=5.2 * G, resolution=1 * MG), Weighing(mass=5.2 * G, resolution=20 * MG, after=900.0)),
         1 * MG, (45, 20 * MG)),
    ],
)  # fmt: skip
def test_the_last_scale_counts_and_that_of_the_bench_before_any_weighing(
    weighings: tuple[Weighing, ...], bench: float | None, expected: tuple[int, float]
) -> None:
    """9 cm2 allow 4.5 mg: 10 mg steps 23 min, 100 mg 223 min, 20 mg 45 min, whole minutes up; no scale named: 10 mg."""
    minutes, step = wait_and_step(replace(PIECE, weighings=weighings), bench)

    assert minutes == expected[0]
    assert step == pytest.approx(expected[1])


def test_a_heavy_coat_shortens_the_wait_and_nothing_known_leaves_the_shortest() -> None:
    """2 g on the mesh allow 20 mg, so that 100 mg steps take 50 min; without mesh and area it is the 10 min of the rule."""
    heavy = replace(PIECE, weighings=(Weighing(mass=7.0 * G, resolution=100 * MG),))
    bare = Electrode(name="B", weighings=(Weighing(mass=7.0 * G, resolution=100 * MG),))

    assert wait_and_step(heavy, None) == (50, pytest.approx(100 * MG))
    assert wait_and_step(bare, None) == (10, pytest.approx(100 * MG))
    assert wait_and_step(Electrode(name="B"), None) == (10, pytest.approx(10 * MG))


def test_pieces_weighed_together_share_a_step() -> None:
    """Five of them on one pan: a step of 10 mg is 2 mg for each, below the 4.5 mg."""
    together = Weighing(mass=26.0 * G, resolution=10 * MG, beside=("F", "G", "H", "I"))

    assert wait_and_step(replace(PIECE, weighings=(together,)), None)[0] == 10


@pytest.mark.parametrize(("wait", "said"), [(None, 10), (5.0, 10), (10.0, 10), (23.0, 23)])
def test_the_gate_names_the_shortest_wait_and_this_one(wait: float | None, said: int) -> None:
    """Never below ten minutes, whatever a fine scale could do."""
    assert later(wait) == ("at least 10 min later", f"at least {said} min later")
