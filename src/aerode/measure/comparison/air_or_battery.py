"""Whether the current can have come from the electrode itself: the verdict on one piece, and what to do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.measure.comparison.stored_charge import lacking_for_charge
from aerode.measure.run_readings import standing_readings, taken_readings
from aerode.quantities import Basis, Reason
from aerode.records.comparisons import AirOrBattery
from aerode.records.electrodes import RecipeState
from aerode.records.results import Estimate
from aerode.records.runs import RunSort

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from aerode.measure.comparison.stored_charge import StoredCharge
    from aerode.records.electrodes import Electrode
    from aerode.records.runs import Reading, Run

__all__ = [
    "SEALED_MAY_KEEP",
    "SEAL_AGAIN",
    "ChargeDrawn",
    "charge_drawn",
    "judge_air_or_battery",
    "sealed_share",
    "sealed_share_at",
]

MILLIAMPERE_HOUR = 3.6  # C, by definition
"""[C]"""
CHARGE_UNCERTAINTY = 0.05
"""Relative standard uncertainty of a charge summed over hand-timed steps; a judgement."""
SEALED_MAY_KEEP = 0.5
"""A sealed face that keeps more than this share of the current is no proof of air; a judgement."""
SEAL_AGAIN = "seal the face again and hold one load until the voltage falls"
"""What to do where it kept more."""


@dataclass(frozen=True, slots=True)
class ChargeDrawn:
    """Charge drawn in air over all runs of one piece [C]; `untimed` counts readings without a time."""

    charge: float
    untimed: int


def charge_drawn(
    runs: Sequence[Run],
    resistance: Callable[[Reading], float | None],
    logged: Mapping[str, float] | None = None,
) -> ChargeDrawn:
    """The charge that these runs drew with the air face open: current times the time on each load.

    The voltage is taken as steady over its step. A reading without a time, a doubted one and a run
    with the face sealed count as nothing, so the sum is never too high for want of a note: behind a
    sealed face dissolved oxygen may feed the current, which proves nothing of the air.

    Parameters
    ----------
    runs : sequence of Run [record]
        All runs of one piece; check cells and sealed faces are left out.
    resistance : callable of Reading to float or None [ohm]
        The resistor of a reading; None for no load or a load that is not known.
    logged : mapping of str to float, optional [C]
        What the log of a run drew, by the run's name: its rows are no readings.

    Returns
    -------
    ChargeDrawn [C]
    """
    total, untimed = 0.0, 0
    for run in runs:
        if run.sort in {RunSort.CHECK_CELL, RunSort.SEALED_FACE}:
            continue
        total += (logged or {}).get(run.name, 0.0)
        for reading in standing_readings(run):
            current = reading_current(reading, resistance)
            if reading.doubt or current is None:
                continue
            if reading.waited is None:
                untimed += 1
                continue
            total += current * reading.waited
    return ChargeDrawn(total, untimed)


def reading_current(
    reading: Reading, resistance: Callable[[Reading], float | None]
) -> float | None:
    """The current of a reading [A]: as read, or voltage over the resistor; None at open circuit.

    Parameters
    ----------
    reading : Reading [record]
    resistance : callable of Reading to float or None [ohm]

    Returns
    -------
    float or None [A]
    """
    if reading.current is not None:
        return abs(reading.current)
    load = resistance(reading)
    if reading.voltage is None or load is None or load <= 0:
        return None
    return max(0.0, reading.voltage / load)


def sealed_share(
    open_run: Run, sealed_run: Run, resistance: Callable[[Reading], float | None]
) -> float | None:
    """How much of the current is left with the air face sealed, at the smallest load both runs have.

    Parameters
    ----------
    open_run, sealed_run : Run [record]
    resistance : callable of Reading to float or None [ohm]

    Returns
    -------
    float or None [1]
        None where the runs share no load.
    """
    found = sealed_share_at(open_run, sealed_run, resistance)
    return None if found is None else found[1]


def sealed_share_at(
    open_run: Run, sealed_run: Run, resistance: Callable[[Reading], float | None]
) -> tuple[float, float] | None:
    """The smallest load that both runs have, and how much of the current is left there without air.

    Readings that were replaced, taken back, are doubted or still watched count in neither run.

    Parameters
    ----------
    open_run, sealed_run : Run [record]
    resistance : callable of Reading to float or None [ohm]

    Returns
    -------
    (float, float) or None
        Load [ohm] and share [1]; None where the runs share no load.
    """
    fair = _voltages(open_run, resistance)
    sealed = _voltages(sealed_run, resistance)
    shared = min((load for load in fair if load in sealed and fair[load] > 0), default=None)
    if shared is None:
        return None
    return shared, max(0.0, sealed[shared]) / fair[shared]


def _voltages(run: Run, resistance: Callable[[Reading], float | None]) -> dict[float, float]:
    found: dict[float, float] = {}
    for reading in taken_readings(run):
        load = resistance(reading)
        if load is not None and reading.voltage is not None and not reading.doubt:
            found[load] = reading.voltage
    return found


def judge_air_or_battery(
    electrode: Electrode,
    drawn: ChargeDrawn,
    stored: StoredCharge | None,
    *,
    sealed: float | None = None,
    sealed_on: str = "",
    blank: str = "",
) -> AirOrBattery:
    """Whether the current of one electrode can still be the electrode's own stored charge.

    It is cleared by a charge drawn in air that exceeds all the solids could give, uncertainty
    included: that is proof, whatever a sealed run said. Else by a sealed-face run that keeps less
    than half of the current, or by a blank electrode (same carbon, no catalyst) measured on this
    bench. A sealed run that keeps more is a hint: a stored charge keeps the current until it is
    used up, dissolved oxygen until the liquid has none left.

    Parameters
    ----------
    electrode : Electrode [record]
    drawn : ChargeDrawn [C]
    stored : StoredCharge or None [C]
        None where recipe or dry mass is not known.
    sealed : float, optional [1]
        Share of the current left with the face sealed, on this electrode or on one of its recipe.
    sealed_on : str
        The electrode of that sealed run.
    blank : str
        Name of a measured blank electrode; "" where there is none.

    Returns
    -------
    AirOrBattery
        In mAh/cm^2 where the wetted area is known, in mAh otherwise.
    """
    scale, unit = _per_area(electrode)
    drawn_line = _drawn_estimate(drawn, scale, unit)
    stored_line = _stored_estimate(electrode, stored, scale, unit)
    cleared, detail, step = _ruling(
        electrode, drawn, stored, drawn_line, stored_line, sealed, sealed_on, blank
    )
    return AirOrBattery(
        electrode=electrode.name,
        charge_drawn=drawn_line,
        stored_charge=stored_line,
        cleared=cleared,
        detail=detail,
        next_step=step,
    )


def _per_area(electrode: Electrode) -> tuple[float, str]:
    if electrode.wetted_area is None or electrode.wetted_area.value <= 0:
        return 1.0 / MILLIAMPERE_HOUR, "mAh"
    return 1.0 / MILLIAMPERE_HOUR / (electrode.wetted_area.value * 1e4), "mAh/cm^2"


def _drawn_estimate(drawn: ChargeDrawn, scale: float, unit: str) -> Estimate:
    return Estimate(
        value=drawn.charge * scale,
        unit=unit,
        standard_uncertainty=CHARGE_UNCERTAINTY * drawn.charge * scale,
        meaning="over all its runs on this bench with the air face open"
        + (f"; {drawn.untimed} readings had no time and count as nothing" if drawn.untimed else ""),
    )


def _stored_estimate(
    electrode: Electrode, stored: StoredCharge | None, scale: float, unit: str
) -> Estimate:
    if stored is None:
        bought = electrode.recipe_state is RecipeState.BOUGHT
        return Estimate(
            value=None,
            unit=unit,
            identifiable=False,
            reason=str(Reason.RECIPE_UNKNOWN if bought else Reason.NOT_MEASURED),
            meaning=f"{lacking_for_charge(electrode)} not entered",
            basis=Basis.PREDICTED,
        )
    return Estimate(
        value=stored.bound * scale,
        unit=unit,
        meaning="the most its solids could give without oxygen; " + "; ".join(stored.basis),
        lower_bound=stored.bound * scale if stored.unknown else None,
        basis=Basis.PREDICTED,
    )


def _ruling(
    electrode: Electrode,
    drawn: ChargeDrawn,
    stored: StoredCharge | None,
    drawn_line: Estimate,
    stored_line: Estimate,
    sealed: float | None,
    sealed_on: str,
    blank: str,
) -> tuple[bool, str, str]:
    stands = "" if sealed_on == electrode.name else " (one piece stands for its recipe)"
    said = f"with the air face of {sealed_on} sealed{stands}, {100 * (sealed or 0.0):.0f} % of the current is left"
    if sealed is not None and sealed <= SEALED_MAY_KEEP:
        return True, said, ""
    if stored is not None and not stored.unknown and _exceeds(drawn.charge, stored.bound):
        return True, _proof(drawn_line, stored_line, said if sealed is not None else ""), ""
    if sealed is not None:
        return (
            False,
            f"{said}: its own charge or dissolved oxygen can do that; a hint, and no proof",
            _again(drawn, stored),
        )
    if blank:
        return True, f"a blank without catalyst ({blank}) was measured on this bench", ""
    said = _cannot_tell(electrode, stored, drawn_line, stored_line)
    return False, said, _cheapest(electrode, drawn, stored)


def _proof(drawn_line: Estimate, stored_line: Estimate, sealed: str) -> str:
    """A charge beyond the bound in words, and why a sealed run that kept the current is no objection."""
    head = (
        f"drawn {_amount(drawn_line)} in air, more than the {_amount(stored_line)} its solids could give: "
        "oxygen feeds it"
    )
    return f"{head}; {sealed}, but stored charge or dissolved oxygen can do that for a while" if sealed else head  # fmt: skip


def _again(drawn: ChargeDrawn, stored: StoredCharge | None) -> str:
    """What ends the question where a sealed run kept the current."""
    if stored is None or stored.unknown:
        return SEAL_AGAIN
    return f"{SEAL_AGAIN}, or draw {_still(drawn, stored):.2g} mAh more with the face open"


def _still(drawn: ChargeDrawn, stored: StoredCharge) -> float:
    """What is still to be drawn to pass the bound and its uncertainty [mAh]."""
    left = stored.bound / (1.0 - 2.0 * CHARGE_UNCERTAINTY) - drawn.charge
    return max(0.0, left) / MILLIAMPERE_HOUR


def _exceeds(charge: float, bound: float) -> bool:
    return charge * (1.0 - 2.0 * CHARGE_UNCERTAINTY) > bound


def _cannot_tell(
    electrode: Electrode, stored: StoredCharge | None, drawn_line: Estimate, stored_line: Estimate
) -> str:
    head = "cannot tell an air cathode from a battery yet: "
    if stored is None:
        lacking = lacking_for_charge(electrode)
        return f"{head}drawn {_amount(drawn_line)}; what it could store is not known: {lacking} not entered"
    least = " or more (no figure for " + ", ".join(stored.unknown) + ")" if stored.unknown else ""
    drawn = _amount(drawn_line, bare=True)
    # judgement
    if drawn_line.value is not None and (stored_line.value or 0.0) < 1.1 * drawn_line.value:
        drawn += f" ± {drawn_line.standard_uncertainty or 0.0:.1g}"
    return head + f"drawn {drawn} of up to {_amount(stored_line)}{least}"


def _amount(line: Estimate, *, bare: bool = False) -> str:
    value = 0.0 if line.value is None else line.value
    return f"{value:.2g}" if bare else f"{value:.2g} {line.unit}"


def _cheapest(electrode: Electrode, drawn: ChargeDrawn, stored: StoredCharge | None) -> str:
    tape = f"tape over the air face of {electrode.name} and repeat three loads (10 min)"
    if stored is None or stored.unknown:
        return tape + ": shows whether air feeds it"
    return tape + f", or draw {_still(drawn, stored):.2g} mAh more: shows whether air feeds it"
