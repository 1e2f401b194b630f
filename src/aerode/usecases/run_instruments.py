"""What a run is read with: the resistors of a bench and its usual meter."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.records.instruments import Instrument, Sort
from aerode.records.places import Bench

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["resistors_at_hand", "resistors_of", "usual_meter"]


def resistors_of(bench: BenchFile) -> dict[str, float]:
    """Each resistor of the bench with its resistance [ohm]: as measured, else as printed on it."""
    found: dict[str, float] = {}
    for part in bench.all(Instrument):
        if part.sort is not Sort.RESISTOR:
            continue
        measured = part.measured_resistance.value if part.measured_resistance else None
        value = measured or part.nominal_resistance
        if value:
            found[part.name] = value
    return found


def resistors_at_hand(bench: BenchFile) -> dict[str, float]:
    """The resistors that a new run can be planned with [ohm]: those that still stand on the shelf."""
    gone = {part.name for part in bench.all(Instrument) if part.gone is not None}
    return {name: ohms for name, ohms in resistors_of(bench).items() if name not in gone}


def usual_meter(bench: BenchFile) -> str:
    """The meter that is taken where none is named; "" where the bench has several."""
    own = next(iter(bench.all(Bench)), None)
    if own is not None and own.meter:
        return own.meter
    meters = [part.name for part in bench.all(Instrument) if part.sort is Sort.MULTIMETER and part.gone is None]  # fmt: skip
    return meters[0] if len(meters) == 1 else ""
