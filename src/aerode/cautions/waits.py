"""How far apart two weighings have to be: one wait for a piece and its scale, wherever it is told."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from aerode.cautions.heatings import stored_weighings
from aerode.cautions.policy import (
    COMMON_SCALE_STEP,
    CONSTANT_WEIGHT_INTERVAL,
    CONSTANT_WEIGHT_PER_AREA,
    CONSTANT_WEIGHT_SHARE,
)
from aerode.physics.heat_gates import long_enough
from aerode.records.electrodes import Weighing

if TYPE_CHECKING:
    from aerode.records.electrodes import Electrode

__all__ = ["allowed_change", "later", "needed_wait", "wait_and_step"]

_NO_MASS = 1e-9  # numerical
"""[kg]; below any mesh: of a piece that was not weighed yet only dry coats and area count."""


def allowed_change(coating: float | None, area: float | None) -> float:
    """The largest change that counts as constant.

    Parameters
    ----------
    coating : float or None [kg]
        Mass of the coats of a piece.
    area : float or None [m^2]
        Its coated area.

    Returns
    -------
    float [kg]
        0 where neither is known.

    Examples
    --------
    >>> round(1e6 * allowed_change(None, 9e-4), 2)
    4.5
    """
    return max(CONSTANT_WEIGHT_SHARE * (coating or 0.0), CONSTANT_WEIGHT_PER_AREA * (area or 0.0))


def needed_wait(coating: float | None, area: float | None, resolution: float) -> float:
    """How far apart two weighings have to be for no change on a scale to count as constant weight.

    Parameters
    ----------
    coating : float or None [kg]
        Mass of the coats of a piece.
    area : float or None [m^2]
        Its coated area.
    resolution : float [kg]
        Smallest step of the scale, shared by the pieces on it.

    Returns
    -------
    float [s]
        The shortest wait of the rule where neither coating nor area is known.

    Examples
    --------
    >>> round(needed_wait(None, 9e-4, 1e-5) / 60, 1)
    22.2
    """
    allowed = allowed_change(coating, area)
    if allowed <= 0.0:
        return CONSTANT_WEIGHT_INTERVAL
    return long_enough(allowed, resolution, CONSTANT_WEIGHT_INTERVAL)


def wait_and_step(electrode: Electrode, step: float | None) -> tuple[int, float]:
    """The wait of a piece in whole minutes, and the step of the scale it is reckoned with.

    Parameters
    ----------
    electrode : Electrode
        With what was weighed of it.
    step : float or None [kg]
        Of the scale of the bench, for a piece that was not weighed yet.

    Returns
    -------
    tuple
        `(minutes, step [kg])`.
    """
    weighed = electrode.weighings
    last = weighed[-1] if weighed else Weighing(mass=_NO_MASS)
    step = last.resolution or (None if weighed else step) or COMMON_SCALE_STEP
    last = replace(last, resolution=step)
    kept = stored_weighings(replace(electrode, weighings=(last, replace(last, after=1.0, at=""))))
    seconds = CONSTANT_WEIGHT_INTERVAL
    if kept is not None:
        seconds = needed_wait(kept.coating, kept.area, kept.resolution)
    return math.ceil(seconds / 60 - 1e-9), step  # numerical


def later(wait: float | None) -> tuple[str, str]:
    """How the gate of dryness names the shortest wait, and how it reads with the wait of this scale.

    Parameters
    ----------
    wait : float or None
        Minutes; None leaves the shortest.

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> later(23)
    ('at least 10 min later', 'at least 23 min later')
    """
    shortest = CONSTANT_WEIGHT_INTERVAL / 60
    return f"at least {shortest:g} min later", f"at least {max(shortest, wait or 0.0):g} min later"
