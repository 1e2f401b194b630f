"""What is asked about a reading before it is saved: what was meant, and what a cell reads without load."""

from __future__ import annotations

import math
from decimal import Decimal
from typing import TYPE_CHECKING

from aerode import units
from aerode.cautions.lookup import known_name
from aerode.errors import RangeError, UnitError
from aerode.measure.impossible import LARGEST_VOLTAGE
from aerode.measure.resting import LYE, SALT_WATER, rest_expected
from aerode.measure.run_plans import OPEN
from aerode.measure.run_readings import standing_readings
from aerode.records.electrodes import Cell
from aerode.records.marks import Known
from aerode.records.materials import Electrolyte
from aerode.records.runs import Run, RunSort
from aerode.usecases.lye_words import is_lye

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.measure.resting import Rest
    from aerode.store.bench_file import BenchFile

__all__ = [
    "far_from_the_last",
    "far_off",
    "meant_instead",
    "rest_of",
    "rises_without_air",
    "too_much",
]

_NEAR = 5.0
"""A slip of the decimal mark is offered where it lands this near to what is expected, as a ratio: judgement."""
_STEP = 0.20
"""A voltage at one load moves less than this between two timed readings [V]: judgement."""
_STEP_SHARE = 3.0
"""And by less than this as a ratio: judgement."""
_RISE = 0.02
"""A taped air face that reads so much more than at a lighter load before is asked about [V]: judgement."""
_RECENT = 60
"""Runs that are looked through for rests in the same electrolyte."""
_SALTS = ("salt", "brine", "sea", "nacl", "sodium chloride", "kcl", "potassium chloride")


def meant_instead(
    text: str, expected: float | None, band: tuple[float, float] | None = None
) -> tuple[str, ...]:
    """The readings with the same digits that lie near to what is expected, the nearest first.

    Parameters
    ----------
    text : str
        As typed, with or without its unit.
    expected : float or None [V]
    band : tuple of float [V], optional
        What was said to be expected: nothing outside of it is proposed.

    Returns
    -------
    tuple of str
        Each with its unit, what was typed left out; empty where no power of ten lands near.

    Examples
    --------
    >>> meant_instead("0,1142", 1.24), meant_instead("0,108 V", 1.19), meant_instead("1.19 V", 1.2)
    (('1.142 V',), ('1.08 V',), ())
    >>> meant_instead("13", 0.9), meant_instead("61 V", 0.07), meant_instead("0.31", 0.78)
    (('1.3 V',), ('61 mV',), ())
    >>> meant_instead("0.53", 0.16), meant_instead("0.53", 0.16, (0.11, 0.23))
    (('53 mV',), ())
    """
    try:
        number, unit = units.read_number(text)
        typed = units.convert(number, unit or "V", "V")
    except UnitError:
        return ()
    if expected is None or expected <= 0.0 or typed <= 0.0:
        return ()
    read = _read_as(text, typed)
    digits = Decimal(repr(typed))
    lowest, highest = band or (0.0, LARGEST_VOLTAGE)
    shifted = [digits.scaleb(power) for power in range(-6, 7)]
    least = min(
        _NEAR, _ratio(read, expected)
    )  # what lies farther off than what was typed was not meant
    near = [
        one
        for one in shifted
        if _ratio(float(one), expected) <= least
        and _ratio(float(one), read) > 1.01
        and lowest <= float(one) <= min(highest, LARGEST_VOLTAGE)
    ]
    near.sort(key=lambda one: _ratio(float(one), expected))
    return tuple(_written(one) for one in near)


def _read_as(text: str, typed: float) -> float:
    """What these words are taken as [V], so that it is not offered again."""
    try:
        return abs(units.read(text, "V", bare=("V", "mV"), plausible=(-2.7, 2.7)).value) or typed
    except (RangeError, UnitError):
        return typed


def _ratio(one: float, other: float) -> float:
    return math.exp(abs(math.log(one / other)))


def _written(volts: Decimal) -> str:
    small = volts < Decimal("0.1")  # judgement: as a voltmeter shows it
    shown = (volts.scaleb(3) if small else volts).normalize()
    return f"{shown:f} {'mV' if small else 'V'}"


def far_off(
    text: str,
    voltage: float,
    load: str,
    band: tuple[float, float],
    expected: float | None,
    others: str = "",
    *,
    gentle: bool = False,
) -> RangeError:
    """The question about a reading that is far from what is expected; nothing is saved by it.

    Parameters
    ----------
    text : str
        As typed.
    voltage : float [V]
        As it was understood.
    load : str
    band : tuple of float [V]
        What is expected.
    expected : float or None [V]
        Its middle, where there is one.
    others : str
        The question about another resistor that it would be right at; "" for none.
    gentle : bool
        It lies just outside of what is stated: it may well be so.
    """
    low, high = band
    if gentle:
        return _just_outside(text, voltage, load, band, expected, others)
    about = (
        f"about {expected:.2f} V is" if expected is not None else f"{low:.2f} to {high:.2f} V are"
    )
    middle = expected if expected is not None else math.sqrt(max(low, 0.05) * high)
    slips = meant_instead(text, middle, band)
    asked = f"was it {' or '.join(slips)}? " if slips else ""
    where = "without load" if load == OPEN else f"at {load}"
    return RangeError(
        f"{_read(text, voltage)}, where {about} expected {where}",
        where=load,
        allowed=f"about {low:.2f} to {high:.2f} V",
        next_step=f"{asked}{others}read it again and type it; if it is so, keep it: nothing was saved",
    )


def _just_outside(
    text: str,
    voltage: float,
    load: str,
    band: tuple[float, float],
    expected: float | None,
    others: str,
) -> RangeError:
    """The question about a reading just outside of the range that was stated."""
    low, high = band
    side = "below" if voltage < low else "above"
    slips = meant_instead(text, expected, band)
    asked = f"was it {' or '.join(slips)}? " if slips else ""
    on = "" if load == OPEN else f"is {load} on, and has it come to rest? "
    where = "without load" if load == OPEN else f"at {load}"
    return RangeError(
        f"{_shown(voltage)} is just {side} the {low:.2f} to {high:.2f} V that are expected {where}",
        where=load,
        allowed=f"{low:.2f} to {high:.2f} V",
        next_step=f"{asked}{others or on}if the meter shows it, it may well be so: then take it; nothing was saved yet",
    )


def far_from_the_last(text: str, voltage: float, last: float) -> RangeError | None:
    """The question about a timed reading that is far from the one before it at the same load; None for none.

    Parameters
    ----------
    text : str
        As typed.
    voltage, last : float [V]
        This one, and the one before it.

    Examples
    --------
    >>> far_from_the_last("0,86", 0.86, 0.81) is None, far_from_the_last("1,12", 1.12, 0.81) is None
    (True, False)
    """
    if abs(voltage - last) <= _STEP and _ratio(max(voltage, 1e-4), max(last, 1e-4)) <= _STEP_SHARE:
        return None
    if abs(voltage - last) <= 0.02:  # judgement: near nothing, a ratio says little
        return None
    others = meant_instead(text, last, (max(0.0, last - _STEP), last + _STEP))
    asked = f"was it {' or '.join(others)}? " if others else ""
    return RangeError(
        f"{_read(text, voltage)}, far from the {_shown(last)} before it at this load",
        allowed=f"about {max(0.0, last - _STEP):.2f} to {last + _STEP:.2f} V",
        next_step=f"{asked}read it again and type it; where the one before was the slip, take that one again with: back; nothing was saved",
    )


def rises_without_air(
    text: str, voltage: float, load: str, before: tuple[str, float] | None
) -> RangeError | None:
    """The question about a reading of a taped air face that rises, where it can only sink; None for none.

    Parameters
    ----------
    text : str
        As typed.
    voltage : float [V]
        As it was understood.
    load : str
    before : (str, float [V]) or None
        A load that is no heavier, or this one a moment ago, and what it read.

    Examples
    --------
    >>> rises_without_air("0.31", 0.31, "10 ohm", ("100 ohm", 0.30)) is None
    True
    >>> rises_without_air("0.36", 0.36, "10 ohm", ("100 ohm", 0.30)).what
    '“0.36” was read as 0.36 V at 10 ohm, more than the 0.3 V at 100 ohm before it: with the air face taped over the voltage sinks with time and with load'
    """
    if before is None or voltage <= before[1] + _RISE:
        return None
    at, lower = before
    others = meant_instead(text, lower)
    asked = f"was it {' or '.join(others)}? " if others else ""
    earlier = "a moment before" if at == load else f"at {at} before it"
    order = "" if at == load else f"; was {at} really on before this one?"
    return RangeError(
        f"{_read(text, voltage)} at {load}, more than the {_shown(lower)} {earlier}: "
        "with the air face taped over the voltage sinks with time and with load",
        where=load,
        allowed=f"up to about {_shown(lower)}",
        next_step=f"{asked}read it again and type it; is the tape tight all round{order}{'' if order else '?'} if it is so, keep it: nothing was saved",
    )


def too_much(
    text: str, voltage: float, expected: float | None, band: tuple[float, float] | None = None
) -> RangeError:
    """The refusal of a voltage that no aluminium and air can give, with what was meant instead."""
    others = meant_instead(text, expected, band)
    asked = f"was it {' or '.join(others)}? " if others else "look at the meter: range, socket, decimal mark; "  # fmt: skip
    return RangeError(
        f"{_read(text, voltage)}: more than aluminium and air can give ({LARGEST_VOLTAGE:g} V)",
        allowed=f"0 to {LARGEST_VOLTAGE:g} V",
        next_step=f"{asked}read it again and type it; nothing was saved",
    )


def _read(text: str, voltage: float) -> str:
    """What was typed and what it was taken as; that no unit was typed is said where millivolts were taken.

    >>> _read("9.81", 0.00981), _read("0.98", 0.98)
    ('“9.81”, without a unit, was taken as 9.81 mV', '“0.98” was read as 0.98 V')
    """
    shown, bare = _shown(voltage), text.strip()
    if shown.endswith("mV") and not any(one.isalpha() for one in bare) and _number(bare) != voltage:
        return f"“{bare}”, without a unit, was taken as {shown}"
    return f"“{bare}” was read as {shown}"


def _number(text: str) -> float | None:
    try:
        return units.read_number(text)[0]
    except UnitError:
        return None


def _shown(voltage: float) -> str:
    return f"{1e3 * voltage:.4g} mV" if abs(voltage) < 0.1 else f"{voltage:.4g} V"


def rest_of(bench: BenchFile, run: Run) -> Rest:
    """What this run should read without load: from the bench's own runs in the same electrolyte, else by its liquid.

    Parameters
    ----------
    bench : BenchFile
        Open.
    run : Run
        Under way.
    """
    if run.sort is RunSort.CHECK_CELL:
        return rest_expected("")
    own = _electrolyte(bench, run)
    others = [one for one in bench.latest(Run, count=_RECENT) if one.name != run.name and one.sort is not RunSort.CHECK_CELL]  # fmt: skip
    alike = [one for one in others if _electrolyte(bench, one).casefold() == own.casefold()]
    return rest_expected(_liquid(bench, own, run), _rests(alike), known=bool(own))


def _rests(runs: Sequence[Run]) -> tuple[float, ...]:
    return tuple(
        reading.voltage
        for run in runs
        for reading in standing_readings(run)
        if reading.load == OPEN and reading.voltage and not reading.doubt
    )


def _electrolyte(bench: BenchFile, run: Run) -> str:
    cell = bench.find(Cell, run.cell) if run.cell else None
    return "" if cell is None else " ".join(cell.electrolyte.split())


def _liquid(bench: BenchFile, name: str, run: Run) -> str:
    """Salt water, lye, or "" where nothing says it: the salt of the electrolyte, its name, a salinity."""
    made = bench.find(Electrolyte, name) if name else None
    salt = f"{made.salt} {name}" if made is not None else name
    if salt and (is_lye(made.salt if made is not None else name) or is_lye(salt)):
        return LYE
    known = (known_name(made.salt) or "") if made is not None else ""
    if any(word in f"{salt} {known}".casefold() for word in _SALTS):
        return SALT_WATER
    return SALT_WATER if run.salinity.known is Known.MEASURED and run.salinity.value else ""
