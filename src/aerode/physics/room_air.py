"""What a source does to the air of a well-mixed room: start, stop, purge, and the air it takes.

Concentrations are masses per volume [kg/m^3]. One zone for the whole room: what is breathed over
a dish is higher, see `aerode.physics.near_field`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from aerode.errors import RangeError
from aerode.physics.checked_scalars import above_zero, not_negative

__all__ = [
    "Stage",
    "flow_needed",
    "flow_needed_for_dose",
    "purge_time",
    "time_to_share",
    "well_mixed",
    "well_mixed_average",
    "well_mixed_history",
]


@dataclass(frozen=True, slots=True)
class Stage:
    """A stretch of time with one source strength and one flow of fresh air.

    duration [s], emission [kg/s], flow [m^3/s].
    """

    duration: float
    emission: float
    flow: float


def well_mixed(
    emission: float,
    flow: float,
    volume: float,
    time: float,
    *,
    initial: float = 0.0,
    mixing: float = 1.0,
) -> float:
    """The concentration in a well-mixed room a while after a steady source was opened.

    Parameters
    ----------
    emission : float [kg/s]
        Source, zero after it was closed.
    flow : float [m^3/s]
        Fresh air; zero is a sealed room.
    volume : float [m^3]
        Air volume of the room.
    time : float [s]
        Time since the start.
    initial : float [kg/m^3]
        Concentration at the start.
    mixing : float [1]
        Mixing factor K, 1 for perfect mixing; fresh air counts as flow/K.

    Returns
    -------
    float [kg/m^3]

    Raises
    ------
    RangeError
        A negative value, no volume, or a mixing factor below 1.

    Notes
    -----
    V dC/dt = G - (Q/K) C, C = Css (1 - exp(-Qt/KV)) + C0 exp(-Qt/KV), Css = K G/Q: the ventilation
    formula page of the University of Toledo and every text of industrial hygiene. One zone: it
    understates what is breathed over the dish.

    Examples
    --------
    >>> round(well_mixed(1e-3 / 60, 10.0 / 60, 108.0, 1e9) * 1e6, 3)
    100.0
    """
    not_negative(emission=emission, flow=flow, time=time, initial=initial)
    above_zero(volume=volume)
    if not mixing >= 1.0:
        raise RangeError(f"a mixing factor of {mixing}", allowed="1 (perfect mixing) or more")
    exponent = flow * time / (mixing * volume)
    # -expm1(-x)/x tends to 1 for a sealed room
    filling = time if exponent == 0.0 else time * -math.expm1(-exponent) / exponent
    return emission * filling / volume + initial * math.exp(-exponent)


def well_mixed_history(
    stages: Sequence[Stage], volume: float, *, initial: float = 0.0, mixing: float = 1.0
) -> list[float]:
    """The concentration at the end of each stage: start, stop, purge.

    Parameters
    ----------
    stages : sequence of Stage
        In order.
    volume : float [m^3]
        Air volume of the room.
    initial : float [kg/m^3]
        Concentration before the first stage.
    mixing : float [1]
        Mixing factor K.

    Returns
    -------
    list of float [kg/m^3]
        One for each stage.

    Raises
    ------
    RangeError
        As `well_mixed`.

    Notes
    -----
    `well_mixed`, each stage beginning where the last ended; exact for constant stages.

    Examples
    --------
    >>> stages = [Stage(600.0, 1e-6, 0.0), Stage(3600.0, 0.0, 0.1)]
    >>> [round(c * 1e6, 3) for c in well_mixed_history(stages, 60.0)]
    [10.0, 0.025]
    """
    found: list[float] = []
    now = initial
    for stage in stages:
        now = well_mixed(
            stage.emission, stage.flow, volume, stage.duration, initial=now, mixing=mixing
        )
        found.append(now)
    return found


def well_mixed_average(
    stages: Sequence[Stage],
    volume: float,
    window: float,
    *,
    initial: float = 0.0,
    mixing: float = 1.0,
) -> float:
    """The mean concentration over a working day (or any window) that begins with the first stage.

    Parameters
    ----------
    stages : sequence of Stage
        In order; after the last one the person is out of the room, which counts as zero.
    volume : float [m^3]
        Air volume of the room.
    window : float [s]
        Time the limit averages over; at least as long as all stages.
    initial : float [kg/m^3]
        Concentration before the first stage.
    mixing : float [1]
        Mixing factor K.

    Returns
    -------
    float [kg/m^3]

    Raises
    ------
    RangeError
        As `well_mixed`, or a window shorter than the stages.

    Notes
    -----
    The integral is exact: from the balance, int C dt = (G t - V (C_end - C_start)) K/Q; for a
    sealed room C grows along a straight line.

    Examples
    --------
    >>> round(well_mixed_average([Stage(3600.0, 1e-6, 0.0)], 60.0, 28800.0) * 1e6, 3)
    3.75
    """
    above_zero(window=window)
    if sum(stage.duration for stage in stages) > window * (1.0 + 1e-9):  # numerical
        raise RangeError("the stages last longer than the window", allowed="a longer window")
    dose, now = 0.0, initial
    for stage in stages:
        after = well_mixed_history([stage], volume, initial=now, mixing=mixing)[0]
        rate = stage.flow / (mixing * volume)
        if rate * stage.duration < 1e-6:  # the balance form loses its digits there; numerical
            dose += 0.5 * (now + after) * stage.duration
        else:
            dose += (stage.emission * stage.duration / volume - (after - now)) / rate
        now = after
    return max(dose, 0.0) / window


def purge_time(initial: float, target: float, flow: float, volume: float) -> float:
    """How long to air a room after the source is gone until a concentration is reached.

    Parameters
    ----------
    initial, target : float [kg/m^3]
        Concentration now and wanted (any one unit for both).
    flow : float [m^3/s]
        Fresh air.
    volume : float [m^3]
        Air volume of the room.

    Returns
    -------
    float [s]
        Zero if it is reached already.

    Raises
    ------
    RangeError
        A value that is not above zero.

    Notes
    -----
    t = (V/Q) ln(C0/C), well mixed and without a source. Dead corners take longer.

    Examples
    --------
    >>> round(purge_time(100.0, 5.0, 10.0 / 60, 108.0) / 60, 2)
    32.35
    """
    above_zero(initial=initial, target=target, flow=flow, volume=volume)
    return max(0.0, volume / flow * math.log(initial / target))


def time_to_share(share: float, flow: float, volume: float) -> float:
    """How long a steady source takes to reach a share of its final concentration.

    Parameters
    ----------
    share : float [1]
        Between 0 and 1, as 0.95.
    flow : float [m^3/s]
        Fresh air.
    volume : float [m^3]
        Air volume of the room.

    Returns
    -------
    float [s]

    Raises
    ------
    RangeError
        A share outside 0 to 1, or another value not above zero.

    Notes
    -----
    t = -(V/Q) ln(1 - share), from the well-mixed balance.

    Examples
    --------
    >>> round(time_to_share(0.95, 10.0 / 60, 108.0) / 60, 2)
    32.35
    """
    above_zero(flow=flow, volume=volume)
    if not 0.0 < share < 1.0:
        raise RangeError(f"a share of {share}", allowed="between 0 and 1")
    return -volume / flow * math.log1p(-share)


def flow_needed(emission: float, limit: float, *, share: float = 1.0, mixing: float = 1.0) -> float:
    """The fresh air that keeps a steady source below a chosen share of a limit.

    Parameters
    ----------
    emission : float [kg/s]
        Source.
    limit : float [kg/m^3]
        Limit.
    share : float [1]
        Share of the limit to stay below.
    mixing : float [1]
        Mixing factor K.

    Returns
    -------
    float [m^3/s]

    Raises
    ------
    RangeError
        A negative source, or another value not above zero.

    Notes
    -----
    Q = K G / (share L), the steady state of `well_mixed`. With the limit as a quarter of the
    lower flammable limit it is the fire form. Says nothing about the air right over the dish.

    Examples
    --------
    >>> round(flow_needed(1e-3 / 60, 100e-6) * 60, 1)
    10.0
    """
    not_negative(emission=emission)
    above_zero(limit=limit, share=share)
    if not mixing >= 1.0:
        raise RangeError(f"a mixing factor of {mixing}", allowed="1 (perfect mixing) or more")
    return mixing * emission / (share * limit)


def flow_needed_for_dose(mass: float, limit: float, window: float, *, share: float = 1.0) -> float:
    """The fresh air that keeps the day's average below a share of a limit, however fast it dries.

    Parameters
    ----------
    mass : float [kg]
        Everything that evaporates in the day.
    limit : float [kg/m^3]
        Limit.
    window : float [s]
        Time the limit averages over.
    share : float [1]
        Share of the limit to stay below.

    Returns
    -------
    float [m^3/s]

    Raises
    ------
    RangeError
        A negative mass, or another value not above zero.

    Notes
    -----
    int C dt <= m/Q in a well-mixed room (equality once the room is clear again), so
    Q = m / (share L window) keeps the average below share L.

    Examples
    --------
    >>> round(flow_needed_for_dose(0.010, 75.4e-6, 28800.0) * 3600, 1)
    16.6
    """
    not_negative(mass=mass)
    above_zero(limit=limit, window=window, share=share)
    return mass / (share * limit * window)
