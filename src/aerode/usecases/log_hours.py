"""After how many hours the voltage of a log fell under a level, in sentences."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import AerodeError
from aerode.measure.log_falls import falls_of_log
from aerode.measure.meters import voltmeter
from aerode.measure.run_plans import OPEN
from aerode.records.instruments import Instrument
from aerode.store.series_tail import chunks_of
from aerode.usecases.log_long import is_log, load_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.measure.log_falls import Fall, FallsOfLog
    from aerode.records.runs import Run
    from aerode.store.bench_file import BenchFile

__all__ = ["hours_words", "levels_from_text"]

_HIGHEST = 2.7
_MOST = 8


def levels_from_text(text: str) -> tuple[float, ...]:
    """Voltages as typed [V]: "0.5 V; 300 mV", "0,5 0,3"; empty for none.

    Raises
    ------
    UnitError, RangeError
        One of them is no voltage of a cell.

    Examples
    --------
    >>> levels_from_text("0,5 V; 300 mV"), levels_from_text("")
    ((0.5, 0.3), ())
    """
    parts = [one for one in re.split(r"[;\s]+(?=[\d.,])|,\s+|;", text.strip()) if one.strip()]
    return tuple(
        units.read(one, "V", bare=("V", "mV"), plausible=(0.0, _HIGHEST), field="under").value
        for one in parts[:_MOST]
    )


def hours_words(bench: BenchFile, run: Run, levels: Sequence[float] = ()) -> tuple[str, ...]:
    """When the voltage of a log fell under each level, then what that rests on; sentences without their full stop.

    Parameters
    ----------
    bench : BenchFile
        Open.
    run : Run
    levels : sequence of float [V]
        None for the usual ones that the log passes.

    Returns
    -------
    tuple of str
        Empty where the run is no log, or its log holds fewer than two readings.
    """
    if not is_log(run):
        return ()
    try:
        chunks, whole = chunks_of(bench, run.name)
    except AerodeError:
        return ()
    if "voltage" not in whole.ranges or "time" not in whole.ranges:
        return ()
    instruments = {part.name: part for part in bench.all(Instrument)}
    highest = whole.ranges["voltage"][1]
    meter = voltmeter(instruments.get(run.meter), run.voltage_range, [highest], unnamed=run.name)
    found = falls_of_log(chunks, levels, meter_uncertainty=meter.gain, count=meter.count)
    if found is None or not found.falls:
        return ()
    return (*(_said(one, found) for one in found.falls), _rests(found, load_of(run), whose=_whose(run, assumed=meter.assumed)))  # fmt: skip


def _said(one: Fall, found: FallsOfLog) -> str:
    def at(seconds: float) -> str:
        return _time(seconds, of=found.duration)

    level = f"{units.plain(one.level, 3)} V"
    if one.after is None:
        return f"Not under {level} in {at(found.duration)}: the lowest reading is {units.plain(found.lowest, 3)} V"  # fmt: skip
    if one.after == 0.0:
        said = f"Under {level} from the first reading on"
    else:
        said = f"Under {level} after {at(one.after)}"
        if one.high is None:
            said += f" ({at(one.low or 0.0)} at the earliest)"
        elif at(one.low or 0.0) != at(one.high):
            said += f" ({at(one.low or 0.0)} to {at(one.high)})"
    return f"{said}, and at it or above again at the end" if one.back else said


def _rests(found: FallsOfLog, load: str, *, whose: str) -> str:
    at = "" if not load else " without load" if load == OPEN else f" at {load}"
    return (
        f"Counted from the first reading{at}, with a reading every {_time(found.apart, of=found.apart)}; "
        f"the range is what {whose} leaves open"
    )


def _whose(run: Run, *, assumed: bool) -> str:
    if assumed or not run.meter:
        return "the error of a usual meter"
    return f"the error of {run.meter}"


def _time(seconds: float, *, of: float) -> str:
    """A time in the unit of the stretch that it belongs to: two times of one log are written alike."""
    if of < 120.0:
        return f"{units.plain(seconds, 3)} s"
    return f"{units.plain(seconds / 60.0, 3)} min" if of < 7200.0 else f"{units.plain(seconds / 3600.0, 3)} h"  # fmt: skip
