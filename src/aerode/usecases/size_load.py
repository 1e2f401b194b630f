"""What a battery is asked for: the load as typed, in numbers; what is missing is asked for by name."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.errors import InputError, RangeError

if TYPE_CHECKING:
    from aerode.usecases.process import Desk

__all__ = ["LEAST_SHARE", "Load", "SizeQuestion", "load_of", "share_of", "within"]

_DAY = 86400.0
LEAST_SHARE = 0.01
"""Below it a share counts as a slip: a judgement."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeQuestion:
    """What is asked, as typed; "" where it was not said."""

    recipe: str = ""
    power: str = ""
    current: str = ""
    load_voltage: str = ""
    on: str = ""
    days: str = ""
    converter: str = ""
    least_input: str = ""
    burst: str = ""
    burst_time: str = ""
    left: str = ""
    chance: str = ""
    used: str = ""
    area: str = ""
    aluminium_area: str = ""
    lead: str = ""
    salt: str = ""
    room: str = ""
    box: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What the load takes, in numbers."""

    power: float
    """Out of the cells [W]."""
    needs: float
    """Voltage that the row must reach [V]; 0 where any will do."""
    voltage: float | None
    passed_on: float
    through: float | None
    """Current of a load that the row feeds as it is [A]; None with a converter between."""
    on_time: float
    whole_time: float
    burst: tuple[float, float] | None
    """Current at the load [A], and for how long [s]."""


def load_of(question: SizeQuestion, desk: Desk) -> Load:
    """The load in numbers; what is missing is asked for by name."""
    voltage = within(
        desk,
        question.load_voltage,
        "V",
        "voltage of the load",
        ("V",),
        0.01,
        1000.0,
        "0.01 to 1000 V",
    )
    power = within(
        desk,
        question.power,
        "W",
        "power of the load",
        ("mW",),
        1e-6,
        1000.0,
        "1 µW to 1 kW: a larger battery is work for a licensed person",
    )
    current = within(
        desk, question.current, "A", "current of the load", ("mA",), 1e-6, 1000.0, "1 µA to 1000 A"
    )
    if power is not None and current is not None:
        raise InputError(
            "both a power and a current of the load are given", where="power",
            allowed="one of them", next_step="leave one out; a current needs the voltage beside it",
        )  # fmt: skip
    if power is None:
        if current is None or voltage is None:
            raise InputError(
                "what the load takes is missing", where="power",
                allowed='its power, as in "18 mW"; or its current and its voltage',
                next_step="read it on the label, or measure the current with the meter in line",
            )  # fmt: skip
        power = current * voltage
    on = desk.above_zero(question.on, "s", "time on in a day", ("h",))
    if on is None:
        desk.say("time on in a day", "24 h", "--on", "")
        on = _DAY
    if on > _DAY:
        raise RangeError(f"{on / 3600:g} h in a day", where="on", allowed="up to 24 h")
    days = within(
        desk, question.days, "s", "days", ("day",), 60.0, 3650 * _DAY, "1 minute to 3650 days"
    )
    if days is None:
        raise InputError(
            "for how many days is missing", where="days", allowed='as in "14 days"',
            next_step="say for how long the aluminium and the liquid have to last",
        )  # fmt: skip
    passed_on = 1.0
    if question.converter.strip():
        passed_on = share_of(
            question.converter, desk, "share that the converter passes on", 1.0, "--converter"
        )
    least = within(
        desk,
        question.least_input,
        "V",
        "lowest voltage that the converter takes",
        ("V",),
        0.01,
        1000.0,
        "0.01 to 1000 V",
    )
    if question.converter.strip() and least is None:
        raise InputError(
            "the lowest voltage that the converter takes is missing", where="least_input",
            allowed='as in "0.9 V"', next_step="it stands in its data sheet; with it the cells in a row are counted",
        )  # fmt: skip
    if least is not None and not question.converter.strip():
        raise InputError(
            "how much the converter passes on is missing", where="converter", allowed='as in "75 %"',
            next_step="it stands in its data sheet, for about the voltage and current it will work at",
        )  # fmt: skip
    if least is None and voltage is None:
        raise InputError(
            "the voltage of the load is missing", where="load_voltage", allowed='as in "3 V"',
            next_step="or say what a converter passes on and the lowest voltage it takes",
        )  # fmt: skip
    burst = within(
        desk,
        question.burst,
        "A",
        "burst of current at the load",
        ("mA",),
        1e-6,
        1000.0,
        "1 µA to 1000 A",
    )
    burst_time = within(
        desk,
        question.burst_time,
        "s",
        "how long a burst lasts",
        ("ms",),
        1e-6,
        3600.0,
        "1 µs to 1 h",
    )
    if burst is not None and (burst_time is None or voltage is None):
        raise InputError(
            "a burst needs its duration and the voltage of the load", where="burst_time",
            allowed='as in "60 mA", "100 ms" and "3 V"', next_step="give them, or leave the burst out",
        )  # fmt: skip
    return Load(
        power=power / passed_on, needs=least if least is not None else voltage or 0.0, voltage=voltage,
        passed_on=passed_on, through=power / voltage if least is None and voltage else None, on_time=on * days / _DAY, whole_time=days,
        burst=None if burst is None or burst_time is None else (burst, burst_time),
    )  # fmt: skip


def within(
    desk: Desk,
    text: str,
    unit: str,
    what: str,
    bare: tuple[str, ...],
    low: float,
    high: float,
    allowed: str,
) -> float | None:
    """A typed number between two bounds, None for an empty text."""
    value = desk.above_zero(text, unit, what, bare)
    if value is not None and not low <= value <= high:
        raise RangeError(f"{what}: {text.strip()}", where=what, allowed=allowed)
    return value


def share_of(
    text: str, desk: Desk, what: str, usual: float, give: str, *, most: float = 1.0
) -> float:
    """A share above zero; the usual one, named as assumed, where nothing was said."""
    value = desk.above_zero(text, "", what)
    if value is None:
        desk.say(what, f"{100 * usual:g} %, a judgement", give, "")
        return usual
    if not LEAST_SHARE <= value <= most:
        raise RangeError(
            f"{what} is {100 * value:g} %", where=give.removeprefix("--"), allowed=f"1 to {100 * most:g} %",
        )  # fmt: skip
    return value
