"""The air right over a dish and the air of the rest of the room: two zones that exchange.

A person who leans over a dish breathes the near field; one zone for the whole room understates it.
Concentrations are masses per volume [kg/m^3]. A screening model: where it was tried against
measurements it was right within a factor of about two.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from aerode.errors import RangeError
from aerode.physics.checked_scalars import above_zero, not_negative
from aerode.physics.room_air import Stage

__all__ = [
    "near_field_exchange",
    "near_field_volume",
    "two_zone",
    "two_zone_average",
    "two_zone_history",
]


def near_field_volume(radius: float) -> float:
    """The half sphere of air around a dish on a table [m^3], radius [m].

    Parameters
    ----------
    radius : float [m]
        Reach of the near field.

    Returns
    -------
    float [m^3]

    Raises
    ------
    RangeError
        A radius that is not above zero.

    Notes
    -----
    V = 2 pi r^3 / 3.

    Examples
    --------
    >>> round(near_field_volume(0.8), 5)
    1.07233
    """
    above_zero(radius=radius)
    return 2.0 * math.pi * radius**3 / 3.0


def near_field_exchange(radius: float, air_speed: float) -> float:
    """The air that crosses the half sphere around a dish, in and out [m^3/s].

    Parameters
    ----------
    radius : float [m]
        Reach of the near field.
    air_speed : float [m/s]
        Random air speed in the room.

    Returns
    -------
    float [m^3/s]

    Raises
    ------
    RangeError
        A value that is not above zero.

    Notes
    -----
    beta = FSA s / 2 with the free surface FSA = 2 pi r^2 (Nicas; AIHA modelling texts): half of
    the surface lets air in, half lets it out.

    Examples
    --------
    >>> round(near_field_exchange(0.8, 0.06) * 60, 4)
    7.2382
    """
    above_zero(radius=radius, air_speed=air_speed)
    return math.pi * radius**2 * air_speed


def _rates(exchange: float, flow: float, near: float, far: float) -> tuple[float, float]:
    """The two eigenvalues [1/s], the slow one first; both are negative."""
    half = (exchange * far + (exchange + flow) * near) / (near * far)
    root = math.sqrt(half * half - 4.0 * exchange * flow / (near * far))
    fast = -0.5 * (half + root)
    return exchange * flow / (
        near * far
    ) / fast, fast  # the product keeps the digits of the slow one


def two_zone(
    emission: float, flow: float, exchange: float, near: float, far: float, time: float
) -> tuple[float, float]:
    """Near-field and far-field concentration a while after a steady source was opened in clean air.

    Parameters
    ----------
    emission : float [kg/s]
        Source in the near field.
    flow : float [m^3/s]
        Fresh air into the far field, above zero.
    exchange : float [m^3/s]
        Air between near and far field, beta.
    near, far : float [m^3]
        Volumes.
    time : float [s]
        Time since the start.

    Returns
    -------
    tuple of float [kg/m^3]
        Near field, far field.

    Raises
    ------
    RangeError
        A negative source or time, or another value not above zero.

    Notes
    -----
    The published closed form with the eigenvalues l1, l2 (Nicas; AIHA modelling texts; read in a
    public help page of a statistics package). Steady: G/Q + G/beta near, G/Q far. The tests hold
    an ODE solver beside it.

    Examples
    --------
    >>> near, far = two_zone(1e-4 / 60, 100 / 3600, 7.2382 / 60, 1.07233, 48.92767, 300.0)
    >>> round(near * 1e6, 3), round(far * 1e6, 3)
    (22.526, 8.964)
    """
    not_negative(emission=emission, time=time)
    above_zero(flow=flow, exchange=exchange, near=near, far=far)
    slow, fast = _rates(exchange, flow, near, far)
    bq = exchange * flow
    below = bq * near * (slow - fast)
    first = (bq + fast * near * (exchange + flow)) / below * math.exp(slow * time)
    second = (bq + slow * near * (exchange + flow)) / below * math.exp(fast * time)
    near_part = 1.0 / flow + 1.0 / exchange + first - second
    far_part = (
        1.0 / flow
        + (slow * near + exchange) / exchange * first
        - (fast * near + exchange) / exchange * second
    )
    return max(0.0, emission * near_part), max(0.0, emission * far_part)


def _carry(
    start: tuple[float, float], stage: Stage, exchange: float, near: float, far: float, time: float
) -> tuple[float, float]:
    """Both zones after `time` of a stage that began at `start`: spectral form of the 2 by 2 system."""
    slow, fast = _rates(exchange, stage.flow, near, far)
    steady_far = stage.emission / stage.flow
    steady_near = steady_far + stage.emission / exchange
    a = start[0] - steady_near
    b = start[1] - steady_far
    # d(near)/dt = (b - a) exchange / near for the departures from the steady state
    slope = exchange / near * (b - a)
    one = (slope - fast * a) / (slow - fast)
    two = a - one
    e1, e2 = math.exp(slow * time), math.exp(fast * time)
    to_far = near / exchange
    return (
        steady_near + one * e1 + two * e2,
        steady_far + one * (1.0 + slow * to_far) * e1 + two * (1.0 + fast * to_far) * e2,
    )


def two_zone_history(
    stages: Sequence[Stage],
    exchange: float,
    near: float,
    far: float,
    *,
    initial: tuple[float, float] = (0.0, 0.0),
) -> list[tuple[float, float]]:
    """Near-field and far-field concentration at the end of each stage: start, stop, purge.

    Parameters
    ----------
    stages : sequence of Stage
        In order; every flow above zero.
    exchange : float [m^3/s]
        Air between near and far field.
    near, far : float [m^3]
        Volumes.
    initial : tuple of float [kg/m^3]
        Both zones before the first stage.

    Returns
    -------
    list of tuple of float [kg/m^3]
        Near and far, one pair for each stage.

    Raises
    ------
    RangeError
        A negative source, or another value not above zero.

    Notes
    -----
    VN dCN/dt = G + beta (CF - CN); VF dCF/dt = beta (CN - CF) - Q CF, solved by its eigenvectors,
    each stage beginning where the last ended.

    Examples
    --------
    >>> stages = [Stage(900.0, 1e-4 / 60, 100 / 3600), Stage(3600.0, 0.0, 100 / 3600)]
    >>> ends = two_zone_history(stages, 7.2382 / 60, 1.07233, 48.92767)
    >>> [round(near * 1e6, 2) for near, _ in ends]
    [37.06, 3.23]
    """
    above_zero(exchange=exchange, near=near, far=far)
    found: list[tuple[float, float]] = []
    now = initial
    for stage in stages:
        not_negative(emission=stage.emission, duration=stage.duration)
        above_zero(flow=stage.flow)
        now = _carry(now, stage, exchange, near, far, stage.duration)
        now = (max(0.0, now[0]), max(0.0, now[1]))
        found.append(now)
    return found


def two_zone_average(
    stages: Sequence[Stage],
    exchange: float,
    near: float,
    far: float,
    window: float,
    *,
    initial: tuple[float, float] = (0.0, 0.0),
) -> tuple[float, float]:
    """Mean near-field and far-field concentration over a window that begins with the first stage.

    Parameters
    ----------
    stages : sequence of Stage
        In order; after the last one the person is out of the room, which counts as zero.
    exchange : float [m^3/s]
        Air between near and far field.
    near, far : float [m^3]
        Volumes.
    window : float [s]
        Time the limit averages over; at least as long as all stages.
    initial : tuple of float [kg/m^3]
        Both zones before the first stage.

    Returns
    -------
    tuple of float [kg/m^3]

    Raises
    ------
    RangeError
        As `two_zone_history`, or a window shorter than the stages.

    Notes
    -----
    Exact, from the balances: the far dose is (G t - change in mass of both zones)/Q, the near dose
    is the far dose plus (G t - VN change of near)/beta.

    Examples
    --------
    >>> near, far = two_zone_average([Stage(28800.0, 1e-4 / 60, 100 / 3600)], 7.2382 / 60,
    ...                              1.07233, 48.92767, 28800.0)
    >>> round(near * 1e6, 1), round(far * 1e6, 1)
    (70.0, 56.2)
    """
    above_zero(window=window)
    if sum(stage.duration for stage in stages) > window * (1.0 + 1e-9):  # numerical
        raise RangeError("the stages last longer than the window", allowed="a longer window")
    near_dose, far_dose, now = 0.0, 0.0, initial
    for stage in stages:
        after = two_zone_history([stage], exchange, near, far, initial=now)[0]
        given = stage.emission * stage.duration
        kept_near = near * (after[0] - now[0])
        far_part = (given - kept_near - far * (after[1] - now[1])) / stage.flow
        near_dose += far_part + (given - kept_near) / exchange
        far_dose += far_part
        now = after
    return max(near_dose, 0.0) / window, max(far_dose, 0.0) / window
