"""The flat layer: roots and amplitudes of the textbook table, and a plain numerical twin.

Sources: Y. A. Cengel, Heat and Mass Transfer, table 4-2, plane wall (scanned page, read): first root and
amplitude for Bi from 0.01 to 10, four decimals. C. J. Geankoplis, Transport Processes, example of urea in
agar (public copy, read): D = 4.72e-10 m2/s, 10.16 mm, 10 h: Y = 0.275 in the middle and 0.0020
with half the thickness, both read off a printed chart. Tolerances: half of the last printed digit; 10 %
for the chart, whose lines lie that far apart there.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from aerode.physics.heating import (
    film_temperature,
    mean_progress,
    progress_at,
    slab_roots,
    time_for_progress,
    to_the_plate,
    warm_up_time,
)

TABLE = {
    0.01: (0.0998, 1.0017), 0.02: (0.1410, 1.0033), 0.04: (0.1987, 1.0066), 0.06: (0.2425, 1.0098),
    0.08: (0.2791, 1.0130), 0.1: (0.3111, 1.0161), 0.2: (0.4328, 1.0311), 0.3: (0.5218, 1.0450),
    0.4: (0.5932, 1.0580), 0.5: (0.6533, 1.0701), 0.6: (0.7051, 1.0814), 0.7: (0.7506, 1.0918),
    0.8: (0.7910, 1.1016), 0.9: (0.8274, 1.1107), 1.0: (0.8603, 1.1191), 2.0: (1.0769, 1.1785),
    3.0: (1.1925, 1.2102), 4.0: (1.2646, 1.2287), 5.0: (1.3138, 1.2403), 6.0: (1.3496, 1.2479),
    7.0: (1.3766, 1.2532), 8.0: (1.3978, 1.2570), 9.0: (1.4149, 1.2598), 10.0: (1.4289, 1.2620),
}  # fmt: skip


@pytest.mark.parametrize(("biot", "row"), TABLE.items())
def test_first_root_and_amplitude(biot: float, row: tuple[float, float]) -> None:
    """Twenty-four rows of the table."""
    root = float(slab_roots(biot, 1)[0])
    amplitude = 2.0 * math.sin(root) / (root + math.sin(root) * math.cos(root))

    assert root == pytest.approx(row[0], abs=6e-5)
    assert amplitude == pytest.approx(row[1], abs=6e-5)


@pytest.mark.parametrize("biot", [1e-3, 0.3, 1.0, 40.0, 1e4])
def test_every_root_solves_its_equation(biot: float) -> None:
    """Fifty roots, each in its own branch, to the last digits."""
    roots = slab_roots(biot, 50)

    assert np.allclose(roots * np.sin(roots), biot * np.cos(roots), atol=1e-9 * (1.0 + biot))
    assert np.all((roots > np.arange(50) * math.pi) & (roots < (np.arange(50) + 0.5) * math.pi))


@pytest.mark.parametrize(("half", "left"), [(5.08e-3, 0.275), (2.54e-3, 0.0020)])
def test_urea_in_agar(half: float, left: float) -> None:
    """The middle after ten hours."""
    found = 1.0 - progress_at(0.0, 4.72e-10 * 36000.0 / half**2, math.inf)

    assert found == pytest.approx(left, rel=0.1)


def _numerical(fourier: float, biot: float, cells: int = 200) -> np.ndarray:
    """The slow plain twin: cells of equal width, implicit steps, contact at the open face."""
    width, steps = 1.0 / cells, 2000
    step = fourier / steps
    face = 1.0 / (width / 2.0 + (0.0 if math.isinf(biot) else 1.0 / biot))
    matrix = np.zeros((cells, cells))
    for i in range(cells - 1):
        matrix[i, i] += 1.0 / width**2
        matrix[i, i + 1] -= 1.0 / width**2
        matrix[i + 1, i + 1] += 1.0 / width**2
        matrix[i + 1, i] -= 1.0 / width**2
    matrix[-1, -1] += face / width
    propagate = np.linalg.inv(np.eye(cells) + 0.5 * step * matrix) @ (
        np.eye(cells) - 0.5 * step * matrix
    )
    return np.linalg.matrix_power(propagate, steps) @ np.ones(cells)


@pytest.mark.parametrize("biot", [0.2, 2.0, math.inf])
@pytest.mark.parametrize("fourier", [0.05, 0.4, 1.5])
def test_series_against_cells(biot: float, fourier: float) -> None:
    """Mean and coldest plane agree with 200 cells within 0.1 % of the step (their truncation)."""
    cells = _numerical(fourier, biot)
    inside = 1.125 * cells[0] - 0.125 * cells[1]  # to the sealed side, where the slope is zero

    assert mean_progress(fourier, biot) == pytest.approx(1.0 - float(cells.mean()), abs=1e-3)
    assert progress_at(0.0, fourier, biot) == pytest.approx(1.0 - float(inside), abs=1e-3)


def test_short_times_follow_the_half_space() -> None:
    """2 sqrt(Fo/pi) for a perfect contact, to the part in a thousand that the far side adds."""
    for fourier in (1e-5, 1e-4, 1e-3, 1e-2):
        assert mean_progress(fourier, math.inf) == pytest.approx(
            2.0 * math.sqrt(fourier / math.pi), rel=1e-3
        )


def test_a_poor_contact_alone_decides() -> None:
    """At small Biot numbers the whole film is at one temperature: 1 - exp(-Bi Fo)."""
    assert mean_progress(50.0, 0.01) == pytest.approx(1.0 - math.exp(-0.5), rel=5e-3)


def test_time_and_progress_are_inverse() -> None:
    """There and back over four decades of Biot numbers."""
    for biot in (0.01, 1.0, 100.0, math.inf):
        for progress in (0.01, 0.5, 0.95, 0.999):
            assert mean_progress(time_for_progress(progress, biot), biot) == pytest.approx(
                progress, abs=1e-8
            )


def test_a_film_under_two_plates() -> None:
    """Half a millimetre under two plates at 85 degC warms through within seconds, one plate slower."""
    film = {"thickness": 5e-4, "conductivity": 0.3, "heat_capacity": 1e6, "resistance": to_the_plate(2e-4, 1e-4, 0.25)}  # fmt: skip

    two = warm_up_time(share=0.95, plates=2, **film)
    one = warm_up_time(share=0.95, plates=1, **film)
    slow, mean = film_temperature(two, plate=358.15, start=293.15, plates=2, **film)

    assert 0.1 < two < 10.0
    assert one > 1.9 * two
    assert slow <= mean == pytest.approx(293.15 + 0.95 * 65.0, abs=0.01)
