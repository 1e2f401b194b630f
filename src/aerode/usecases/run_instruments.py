"""What a run is read with: the resistors of a bench and its usual meter."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.measure.run_plans import resistances
from aerode.records.instruments import Instrument, Sort
from aerode.records.places import Bench

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["resistors_at_hand", "resistors_of", "usual_meter"]


def resistors_of(bench: BenchFile) -> dict[str, float]:
    """Each resistor of the bench with its resistance [ohm]: as measured, else as printed on it."""
    return resistances(bench.all(Instrument))


def resistors_at_hand(bench: BenchFile) -> dict[str, float]:
    """The resistors that a new run can be planned with [ohm]: those that still stand on the shelf."""
    return resistances(part for part in bench.all(Instrument) if part.gone is None)


def usual_meter(bench: BenchFile) -> str:
    """The meter that is taken where none is named; "" where the bench has several."""
    own = next(iter(bench.all(Bench)), None)
    if own is not None and own.meter:
        return own.meter
    meters = [part.name for part in bench.all(Instrument) if part.sort is Sort.MULTIMETER and part.gone is None]  # fmt: skip
    return meters[0] if len(meters) == 1 else ""
