"""What a run is read with: the resistors of a bench and its usual meter."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.records.instruments import Instrument, Sort
from aerode.records.places import Bench

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["resistors_of", "usual_meter"]


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


def usual_meter(bench: BenchFile) -> str:
    """The meter that is taken where none is named; "" where the bench has several."""
    own = next(iter(bench.all(Bench)), None)
    if own is not None and own.meter:
        return own.meter
    meters = [part.name for part in bench.all(Instrument) if part.sort is Sort.MULTIMETER]
    return meters[0] if len(meters) == 1 else ""
