"""File a reading in the tray of things to be sorted, in ten seconds, with nothing but the number."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import UnitError
from aerode.measure.impossible import impossible_current, impossible_voltage
from aerode.records.electrodes import Electrode
from aerode.records.logs import LogAnswer, Taken
from aerode.records.runs import Unsorted
from aerode.usecases.changing import new_record

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from aerode.store.bench_file import BenchFile

__all__ = ["ReadingWords", "file_reading", "piece_named", "understand"]

_PIECES = re.compile(r"[-+−]?(?:\d[\d.,]*|[.,]\d+)(?:[eE][-+]?\d+)?(?:\s*[^\s\d.,+\-−@][^\s,]*)?")
BELIEVABLE = (-1.0, 2.7)
"""Lowest and highest voltage that is taken without a word [V]; below zero is taken and doubted."""


class ReadingWords:
    """What was found in a line like "0.742 V 15 ohm": voltage [V], current [A], resistance [ohm]."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.voltage: float | None = None
        self.current: float | None = None
        self.resistance: float | None = None
        self.understood: list[str] = []

    def take(self, piece: str) -> None:
        """Put one number with its unit where its unit says."""
        _, unit = units.read_number(piece)
        if not unit or units.same_kind(unit, "V"):
            self.voltage = self._keep(piece, "V", self.voltage)
        elif units.same_kind(unit, "ohm"):
            self.resistance = self._keep(piece, "ohm", self.resistance)
        elif units.same_kind(unit, "A"):
            self.current = self._keep(piece, "A", self.current)
        else:
            raise UnitError(
                f"{piece!r} is neither a voltage, a current nor a resistance",
                where=self.text,
                allowed="numbers in V, mV, A, mA, ohm or kohm",
                next_step="write it as in: 0.742 V 15 ohm",
            )

    def _keep(self, piece: str, unit: str, there: float | None) -> float:
        if there is not None:
            raise UnitError(
                f"there are two numbers in {unit} in {self.text!r}",
                allowed="one voltage, one current and one resistance",
                next_step="file them one by one",
            )
        typed = (
            units.read(piece, "V", bare=("V", "mV"), plausible=BELIEVABLE, field=self.text)
            if unit == "V"
            else units.read(piece, unit, field=self.text)
        )
        self.understood.append(typed.understood)
        return typed.value


def understand(text: str) -> ReadingWords:
    """Read a line of numbers with units.

    Raises
    ------
    UnitError
        Nothing in it is a reading.

    Examples
    --------
    >>> found = understand("742 15 ohm")
    >>> found.voltage, found.resistance
    (0.742, 15.0)
    """
    found = ReadingWords(text)
    for match in _PIECES.finditer(text):
        found.take(match.group().strip())
    if found.voltage is None and found.current is None:
        raise UnitError(
            f"there is no reading in {text!r}",
            allowed="a voltage or a current, and the resistor if there was one",
            next_step="write it as in: aerode log 0.742 V 15 ohm",
        )
    return found


def piece_named(text: str, names: Sequence[str]) -> tuple[str, str]:
    """The piece that a line names, and the line without it; ("", the line) where it names none or several.

    Parameters
    ----------
    text : str
        What was typed, as in "0.61 V at 100 ohm B-3".
    names : sequence of str
        Of the electrodes on the bench; one without a letter is never looked for: it is a number.

    Examples
    --------
    >>> piece_named("0,61 V at 100r B-3", ["B-1", "B-3"])
    ('B-3', '0,61 V at 100r ')
    >>> piece_named("0.61 V 100 ohm", ["A"])
    ('', '0.61 V 100 ohm')
    """
    low = text.casefold()
    near = [name for name in names if name.casefold() in low and re.search(r"[^\W\d_]", name)]
    found: dict[str, str] = {}
    for name in sorted(near, key=len, reverse=True):
        # a unit behind a number is no name, and B-3 is no part of B-31
        seen = re.search(rf"(?<![\w.,-]){re.escape(name)}(?![\w-])", text, re.IGNORECASE)
        inside = any(name.casefold() in longer.casefold() for longer in found)
        unit = seen and _is_unit(name) and re.search(r"\d\s*$", text[: seen.start()])
        if seen and not inside and not unit:
            found[name] = text[: seen.start()] + text[seen.end() :]
    return next(iter(found.items())) if len(found) == 1 else ("", text)


def _is_unit(name: str) -> bool:
    """Whether an electrode is called like a unit of a reading."""
    try:
        return any(units.same_kind(name, unit) for unit in ("V", "A", "ohm"))
    except UnitError:
        return False


def file_reading(
    bench: BenchFile, words: Sequence[str], *, note: str, moment: datetime
) -> LogAnswer:
    """File a reading in the tray.

    Parameters
    ----------
    bench : BenchFile
        Where it is filed; it is on disk when this returns.
    words : sequence of str
        What was typed, as in ("0.742", "V", "15", "ohm").
    note : str
        Anything that will help to place it later; a piece may be named in the line itself.
    moment : datetime
        Now.

    Returns
    -------
    LogAnswer
        What was understood; an impossible reading is filed all the same, with a doubt.
    """
    text = " ".join(words)
    _, numbers = piece_named(text, bench.names(Electrode))
    found = understand(numbers)

    def filed() -> Unsorted:
        number = len(bench.names(Unsorted)) + 1
        while bench.find(Unsorted, f"reading {number}") is not None:
            number += 1
        return Unsorted(
            name=f"reading {number}", text=text, voltage=found.voltage, current=found.current,
            resistance=found.resistance, at=moment.isoformat(timespec="seconds"), note=note,
        )  # fmt: skip

    entry = new_record(bench, filed, why="filed in passing")
    doubt = impossible_voltage(found.voltage) if found.voltage is not None else ""
    if not doubt and found.current is not None:
        doubt = impossible_current(found.current)
    return LogAnswer(
        headline=f"Filed in the tray as {entry.name}: {', '.join(found.understood)}.",
        tray=entry.name,
        taken=(
            Taken(
                text=text,
                understood=", ".join(found.understood),
                load="" if found.resistance is None else f"{found.resistance:g} ohm",
                voltage=found.voltage,
                current=found.current,
                doubt=doubt,
            ),
        ),
    )
