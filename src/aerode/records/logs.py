"""The answers of `log`: what was understood, what is saved, what comes next."""

from __future__ import annotations

from aerode.records.marks import record

__all__ = ["LogAnswer", "LogStep", "Taken"]


@record
class LogStep:
    """The next thing to read, with what to expect there.

    Voltages [V], currents [A], powers [W]. `moments` [s] are when to read where the readings are
    timed; empty where one settled reading is wanted.
    """

    number: int
    of: int
    load: str
    resistance: float | None
    expected_voltage: float | None = None
    expected_low: float | None = None
    expected_high: float | None = None
    expected_current: float | None = None
    expected_power: float | None = None
    expectation: str = ""
    """What the expectation rests on."""
    warning: str = ""
    again: str = ""
    """Why this load comes a second time; "" where it does not."""
    moments: tuple[float, ...] = ()


@record
class Taken:
    """One reading as it was understood and saved."""

    text: str
    understood: str
    load: str
    voltage: float | None = None
    current: float | None = None
    settling: str = ""
    doubt: str = ""


@record
class LogAnswer:
    """Where a run (or the tray) stands after what was just taken."""

    schema: str = "aerode.log/1"
    headline: str
    run: str = ""
    tray: str = ""
    taken: tuple[Taken, ...] = ()
    next_step: LogStep | None = None
    remaining: tuple[str, ...] = ()
    finished: bool = False
