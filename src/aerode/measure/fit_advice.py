"""What to look at in a run, and what to measure next: the sentences of a fit's answer."""

from __future__ import annotations

from collections.abc import Callable, Collection

import numpy as np
from numpy.typing import NDArray

from aerode import units
from aerode.measure import identifiability as known
from aerode.measure.curve_posterior import CurvePosterior
from aerode.measure.identifiability import Spread
from aerode.measure.repeats import farthest_apart
from aerode.measure.run_data import RunData
from aerode.records.results import Estimate

__all__ = ["advice", "how_to_repeat", "repeats_apart", "warnings_of"]

Floats = NDArray[np.float64]

_LARGE_SCATTER = 5.0  # judgement: times what the meter alone would give
_LEAST_SCATTER = 0.001  # judgement, [V]
_AS_LOW = 1.25
"""Judgement: a resistor so many times the one that is wanted serves as well."""
_PLATEAU = 0.4
"""Judgement: most currents within a factor of 1.5, whatever the loads, are a plateau and no curve."""


def advice(
    posterior: CurvePosterior,
    parameters: dict[str, Estimate],
    shown: Callable[[float], str],
    at_hand: Collection[float] = (),
) -> tuple[str, ...]:
    """What would tell more, the most telling first.

    Parameters
    ----------
    posterior : CurvePosterior
    parameters : dict of str to Estimate
        Those of the answer: what they lack is advised on.
    shown : callable, float [A] -> str
        Writes a current of the electrode in the answer's unit.
    at_hand : collection of float [ohm]
        The resistors that the person owns; none where that is not known.

    Returns
    -------
    tuple of str
        What would show the limiting current comes first where that is lacking.
    """
    said: list[str] = []
    if parameters["limiting_current_mA"].value is None:
        said.append(_to_show_the_limit(posterior, shown, at_hand))
    if parameters["tafel_slope_V_decade"].value is None:
        said.append(
            "add larger resistors, four a decade, for the slope of the kinetics, that is of what "
            "the voltage loses to drive the reaction itself"
        )
    if parameters["peak_power_mW"].value is None:
        said.append("add smaller resistors until the power falls again, for the peak")
    if (share := _ruling_share_of_parts(posterior)) is not None:
        said.append(
            "measure the resistors once: nothing blurs the current more than their tolerance "
            f"({100 * share:.0f} % of its variance)"
        )
    area = posterior.data.area
    if area is None:
        said.append("enter the wetted area for figures per square centimetre (ruler: 2 minutes)")
    elif area.assumed:
        said.append("give the area with its uncertainty, or take it from a photo with four markers")
    return tuple(said)


def _to_show_the_limit(
    posterior: CurvePosterior, shown: Callable[[float], str], at_hand: Collection[float]
) -> str:
    """The load that would show the limiting current, or why none would."""
    found = known.load_that_shows_the_limit(posterior)
    if found is not None:
        return (
            f"{_down_to(found[0], at_hand)}: that shows a limiting current up to about "
            f"{shown(found[1])}, and tells resistance from supply running short"
        )
    found = known.load_that_shows_the_limit(posterior, exact_resistors=True)
    if found is not None:
        return (
            f"measure the resistors once, then {_down_to(found[0], at_hand)}: that shows a limiting "
            f"current up to about {shown(found[1])}"
        )
    return (
        "even 0.1 ohm would not show the limiting current: resistance uses up the voltage "
        "first; narrow the gap or mend the contacts"
    )


def _down_to(ohms: float, at_hand: Collection[float]) -> str:
    """To measure down to a load, where the person owns a resistor as low; else to get one."""
    lowest = min(at_hand, default=ohms)
    if lowest <= _AS_LOW * ohms:
        return f"measure down to {ohms:g} ohm"
    return f"get a resistor of {ohms:g} ohm or near it (your lowest is {lowest:g} ohm), and measure down to it"  # fmt: skip


def _ruling_share_of_parts(posterior: CurvePosterior) -> float | None:
    """Share of the variance of ln I, at the middle voltage, that tolerances make, where nothing makes more."""
    tab, _ = posterior.data.tab_points()
    middle = float(np.median(tab))
    slopes = posterior.sensitivities_to_shared(middle)
    sizes = posterior.shared_uncertainties
    parts, gains = (
        sum((slopes[name] * sizes[name]) ** 2 for name in names)
        for names in (posterior.data.part_names, posterior.data.gain_names)
    )
    if parts <= max(gains, posterior.independent_sd(middle) ** 2):
        return None
    return parts / posterior.log_current_at_voltage(middle)[1] ** 2


def warnings_of(posterior: CurvePosterior) -> tuple[str, ...]:
    """What the person should look at: readings left out, scatter, readings far off the curve.

    Parameters
    ----------
    posterior : CurvePosterior

    Returns
    -------
    tuple of str
    """
    data = posterior.data
    said = list(data.warnings)
    refused = [p for p in data.refused if p.load != "open" and "replaced by" not in p.why_not]
    if refused:
        said.append(
            f"{len(refused)} of {len(data.points)} readings not used; the first: {refused[0].why_not}"
        )
    middle = Spread(posterior.scatter, posterior.weights).quantile(0.5)
    if middle > _LARGE_SCATTER * max(data.expected_scatter, _LEAST_SCATTER):
        said.append(
            f"the readings scatter by {1e3 * middle:.0f} mV about the curve, far more than the meter: "
            "not settled, a loose contact, or a curve of another form"
        )
    if apart := repeats_apart(data):
        said.append(
            f"{apart}: the cell or a contact changed in this run, or another resistor was on; read that load again"
        )
    said += _outlying(posterior, middle)
    return tuple(said)


def _outlying(posterior: CurvePosterior, scatter: float) -> list[str]:
    """Readings that stand more than four standard deviations off the middle of the curves."""
    data = posterior.data
    off = data.voltage - posterior.expected_readings()
    spread = np.sqrt(
        np.square(data.noise)
        + scatter**2
        + sum(np.square(e.effect * e.uncertainty) for e in posterior.shared)
    )
    return [
        f"reading {int(data.index[k]) + 1} stands {1e3 * float(off[k]):+.0f} mV off the curve: look at it again"
        for k in np.flatnonzero(np.abs(off) > 4.0 * spread)
    ]


def how_to_repeat(data: RunData) -> str:
    """What to do where the readings allow no interval.

    Parameters
    ----------
    data : RunData

    Returns
    -------
    str
    """
    _, seen = data.tab_points()
    low, high = np.quantile(np.log(seen), [0.2, 0.8])  # judgement
    if float(high - low) < _PLATEAU:
        return (
            f"the current stays near {units.plain(1e3 * float(np.median(seen)), 3)} mA whatever the load: the cell "
            "is at its limiting current (drowned, or short of air?); add larger resistors"
        )
    return "repeat the measurement with 8 to 12 loads, about four a decade"


def repeats_apart(data: RunData) -> str:
    """The load whose readings differ most, in words; "" where all that were read twice agree.

    Parameters
    ----------
    data : RunData

    Returns
    -------
    str
        Beyond what a guided run states of a load that comes back (`expecting.DRIFT`).
    """
    return farthest_apart(
        (point.load or f"{point.load_resistance:g} ohm", point.voltage)
        for point in data.points
        if point.used and point.voltage is not None and point.load_resistance is not None
    )
