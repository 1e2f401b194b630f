"""A flat layer that warms up or dries through its faces: the exact series, and what limits it.

Heat in a film under a hot plate and solvent in a drying film follow one equation. `progress` is
how far the layer has come: 0 at the start, 1 when it has taken on what is outside.
"""

from __future__ import annotations

import math

import numpy as np

from aerode.errors import RangeError
from aerode.physics.checked_inputs import Floats
from aerode.physics.checked_scalars import above_zero, not_negative, proper_share

__all__ = [
    "film_temperature",
    "mean_progress",
    "progress_at",
    "slab_roots",
    "time_for_progress",
    "to_the_plate",
    "warm_up_time",
]

# numerical
_LEAST_TIME = 1e-6  # dimensionless; below it the mean has moved by less than a part in 800
# numerical
_HALVINGS = 70  # bisections: an interval of pi/2 shrinks to below the last digit of a float


def slab_roots(biot: float, count: int) -> Floats:
    """The roots that the series of a flat layer runs over.

    Parameters
    ----------
    biot : float [1]
        Conductance of the contact over that of the layer, h L/k; `math.inf` for a perfect contact.
    count : int
        How many.

    Returns
    -------
    ndarray, shape (count,) [rad]
        Solutions of z tan z = biot, smallest first; for a perfect contact (n - 1/2) pi.

    Raises
    ------
    RangeError
        A Biot number that is not above zero, or fewer than one root.

    Notes
    -----
    Each root lies between (n - 1) pi and (n - 1/2) pi and is found there by halving. Carslaw &
    Jaeger (1959), section 3.11; tabulated for the first root in every text on heat transfer.

    Examples
    --------
    >>> slab_roots(1.0, 2).round(4).tolist()
    [0.8603, 3.4256]
    """
    if count < 1 or not biot > 0.0:
        raise RangeError(
            f"a Biot number of {biot} with {count} roots", where="biot",
            allowed="above zero, at least one root", next_step="look at the contact resistance",
        )  # fmt: skip
    first = np.arange(count, dtype=np.float64) * math.pi
    if math.isinf(biot):
        return np.asarray(first + math.pi / 2.0, dtype=np.float64)
    low, high = first, first + math.pi / 2.0
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        above = middle * np.sin(middle) > biot * np.cos(middle)
        even = np.cos(first) > 0.0  # the signs of sine and cosine turn over from branch to branch
        high = np.where(above == even, middle, high)
        low = np.where(above == even, low, middle)
    return np.asarray(0.5 * (low + high), dtype=np.float64)


def _terms(fourier: float) -> int:
    """Terms after which e^(-z^2 Fo) has fallen below 1e-17."""
    # numerical: exp(-40) is nothing
    return 2 + math.ceil(math.sqrt(40.0 / max(fourier, _LEAST_TIME)) / math.pi)


def _series(fourier: float, biot: float) -> tuple[Floats, Floats]:
    """Roots, and the amplitude of each term at the time."""
    roots = slab_roots(biot, _terms(fourier))
    sine, cosine = np.sin(roots), np.cos(roots)
    amplitude = 2.0 * sine / (roots + sine * cosine)
    return roots, amplitude * np.exp(-(roots**2) * fourier)


def progress_at(place: float, fourier: float, biot: float) -> float:
    """How far one plane of a layer has come.

    Parameters
    ----------
    place : float [1]
        0 at the sealed side (or the middle of a layer open on both sides), 1 at the open face.
    fourier : float [1]
        Dimensionless time D t/L^2, L the thickness that one open face serves.
    biot : float [1]
        h L/k; `math.inf` for a perfect contact.

    Returns
    -------
    float [1]
        0 at the start, 1 at the end.

    Raises
    ------
    RangeError
        A place outside 0 to 1, a negative time, or a Biot number that is not above zero.

    Notes
    -----
    1 - sum C_n exp(-z_n^2 Fo) cos(z_n x/L), C_n = 2 sin z/(z + sin z cos z); constant properties,
    one dimension, a step outside at time zero. Carslaw & Jaeger (1959), 3.11.

    Examples
    --------
    >>> round(progress_at(0.0, 0.5, math.inf), 4)
    0.6292
    """
    if not 0.0 <= place <= 1.0:
        raise RangeError(f"a place of {place:g}", where="place", allowed="0 to 1")
    not_negative(fourier=fourier)
    if fourier == 0.0:
        return 0.0
    roots, amplitude = _series(fourier, biot)
    return min(1.0, max(0.0, 1.0 - float(np.sum(amplitude * np.cos(roots * place)))))


def mean_progress(fourier: float, biot: float) -> float:
    """How far a layer has come on average over its thickness.

    Parameters
    ----------
    fourier : float [1]
        Dimensionless time D t/L^2, L the thickness that one open face serves.
    biot : float [1]
        h L/k; `math.inf` for a perfect contact.

    Returns
    -------
    float [1]
        0 at the start, 1 at the end.

    Raises
    ------
    RangeError
        A negative time, or a Biot number that is not above zero.

    Notes
    -----
    1 - sum C_n (sin z_n/z_n) exp(-z_n^2 Fo): the series of `progress_at` averaged. For a perfect
    contact it is equation 4.18 of Crank (1975).

    Examples
    --------
    >>> round(mean_progress(0.1967, math.inf), 3)
    0.5
    """
    not_negative(fourier=fourier)
    if fourier == 0.0:
        return 0.0
    roots, amplitude = _series(fourier, biot)
    return min(1.0, max(0.0, 1.0 - float(np.sum(amplitude * np.sin(roots) / roots))))


def time_for_progress(progress: float, biot: float) -> float:
    """The dimensionless time after which a layer has come so far on average.

    Parameters
    ----------
    progress : float [1]
        Above 0 and below 1.
    biot : float [1]
        h L/k; `math.inf` for a perfect contact.

    Returns
    -------
    float [1]
        Fo = D t/L^2.

    Raises
    ------
    RangeError
        A progress that is not between 0 and 1, or a Biot number that is not above zero.

    Notes
    -----
    The inverse of `mean_progress`, found to a part in 10^10; never below 1e-6.

    Examples
    --------
    >>> round(time_for_progress(0.5, math.inf), 4)
    0.1967
    """
    from scipy.optimize import brentq

    proper_share(progress=progress)
    first = float(slab_roots(biot, 1)[0])
    late = math.log(2.0 / (1.0 - progress)) / first**2  # the amplitude never exceeds 2
    if mean_progress(_LEAST_TIME, biot) >= progress:
        return _LEAST_TIME

    def missing(logarithm: float) -> float:
        return mean_progress(math.exp(logarithm), biot) - progress

    found = brentq(missing, math.log(_LEAST_TIME), math.log(late), xtol=1e-11, rtol=1e-11)
    return math.exp(float(found))


def to_the_plate(
    contact_resistance: float, sheet_thickness: float = 0.0, sheet_conductivity: float = 1.0
) -> float:
    """The thermal resistance between a hot plate and a film, a release sheet between them or not.

    Parameters
    ----------
    contact_resistance : float [m^2 K/W]
        Of one contact; with a sheet there are two of them.
    sheet_thickness : float [m]
        Thickness of the release sheet, 0 for none.
    sheet_conductivity : float [W/(m K)]
        Its thermal conductivity.

    Returns
    -------
    float [m^2 K/W]

    Raises
    ------
    RangeError
        A contact resistance or a conductivity that is not above zero, or a negative thickness.

    Notes
    -----
    Resistances in a row add up. A light press, a crumpled sheet or a warped plate leaves air in
    the gap, and the resistance grows tenfold.

    Examples
    --------
    >>> round(to_the_plate(1e-4, 1e-4, 0.25), 6)
    0.0006
    """
    above_zero(contact_resistance=contact_resistance, sheet_conductivity=sheet_conductivity)
    not_negative(sheet_thickness=sheet_thickness)
    contacts = 2.0 if sheet_thickness > 0.0 else 1.0
    return contacts * contact_resistance + sheet_thickness / sheet_conductivity


def _numbers(
    thickness: float, conductivity: float, heat_capacity: float, resistance: float, plates: int
) -> tuple[float, float]:
    """Biot number, and the time unit L^2/a [s]."""
    above_zero(thickness=thickness, conductivity=conductivity, heat_capacity=heat_capacity,
               resistance=resistance)  # fmt: skip
    if plates not in (1, 2):
        raise RangeError(f"{plates} hot plates", where="plates", allowed="1 or 2")
    half = thickness / plates
    return half / (conductivity * resistance), half**2 * heat_capacity / conductivity


def film_temperature(
    time: float,
    *,
    plate: float,
    start: float,
    thickness: float,
    conductivity: float,
    heat_capacity: float,
    resistance: float,
    plates: int = 2,
) -> tuple[float, float]:
    """The temperature of a film after some time under a hot plate.

    Parameters
    ----------
    time : float [s]
        Time since the plates closed.
    plate : float [K]
        Temperature of the plate itself, held constant.
    start : float [K]
        Temperature of the film before.
    thickness : float [m]
        Of film and mesh together.
    conductivity : float [W/(m K)]
        Thermal conductivity of the film.
    heat_capacity : float [J/(m^3 K)]
        Heat capacity per volume of the film.
    resistance : float [m^2 K/W]
        From plate to film, from `to_the_plate`.
    plates : int
        2 for two hot plates; 1 where the other side is cloth or wood, taken as letting no heat out.

    Returns
    -------
    tuple of float [K]
        `(slowest, mean)`: of the plane that warms last, and of the whole film.

    Raises
    ------
    RangeError
        A value that is not above zero, a negative time, or plates other than 1 or 2.

    Notes
    -----
    One-dimensional conduction with contact (Carslaw & Jaeger 1959, 3.11). The plate does not cool
    when the cold film goes in; a thin plate does, and then the plate sets the pace. No melting, no
    evaporating solvent: a wet film stays cold while it boils, and must not be there at all.

    Examples
    --------
    >>> slow, mean = film_temperature(
    ...     0.5, plate=358.15, start=293.15, thickness=4e-4, conductivity=0.3, heat_capacity=1e6,
    ...     resistance=6e-4)
    >>> round(slow - 273.15, 1), round(mean - 273.15, 1)
    (81.3, 81.8)
    """
    not_negative(time=time)
    above_zero(plate=plate, start=start)
    biot, unit = _numbers(thickness, conductivity, heat_capacity, resistance, plates)
    fourier = time / unit
    step = plate - start
    return start + step * progress_at(0.0, fourier, biot), start + step * mean_progress(
        fourier, biot
    )


def warm_up_time(
    *,
    share: float,
    thickness: float,
    conductivity: float,
    heat_capacity: float,
    resistance: float,
    plates: int = 2,
) -> float:
    """How long a film takes to come so far towards the plate, on average over its thickness.

    Parameters
    ----------
    share : float [1]
        Share of the way from its start to the plate, as 0.95.
    thickness : float [m]
        Of film and mesh together.
    conductivity : float [W/(m K)]
        Thermal conductivity of the film.
    heat_capacity : float [J/(m^3 K)]
        Heat capacity per volume of the film.
    resistance : float [m^2 K/W]
        From plate to film.
    plates : int
        2 for two hot plates, 1 for one.

    Returns
    -------
    float [s]

    Raises
    ------
    RangeError
        A value that is not above zero, or a share that is not between 0 and 1.

    Notes
    -----
    As `film_temperature`, and with its limits.

    Examples
    --------
    >>> round(warm_up_time(share=0.95, thickness=4e-4, conductivity=0.3, heat_capacity=1e6,
    ...                    resistance=6e-4), 2)
    0.5
    """
    biot, unit = _numbers(thickness, conductivity, heat_capacity, resistance, plates)
    return unit * time_for_progress(share, biot)
