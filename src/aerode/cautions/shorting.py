"""A dead short: at a volt or two nothing is felt, and a ring, a tool or a thin wire glows."""

from __future__ import annotations

from aerode.cautions import lookup
from aerode.cautions.comparing import Band, compare, plain
from aerode.cautions.policy import HOUSE_SOURCE
from aerode.cautions.situation import CellPlan, Situation
from aerode.records.cautions import Caution, CautionLevel, Finding

__all__ = ["shorting_cautions"]

_WORTH_SAYING = 1.0
"""Current of a short [A] from which it is said: a judgement."""
_STRAIGHT = 0.25
"""Greatest power of a source over open circuit times short circuit: a straight line, by Ohm's law."""


def _power(cell: CellPlan, current: Band) -> Band | None:
    """Greatest power that a string gives [W], the same line of voltage over current taken."""
    volts = cell.open_circuit_voltage
    if volts is None:
        return None
    return Band(
        _STRAIGHT * volts.low * cell.in_series * current.low,
        _STRAIGHT * volts.high * cell.in_series * current.high,
    )


def _amperes(current: Band) -> str:
    low, high = plain(current.low), plain(current.high)
    return f"{low} A" if low == high else f"{low} to {high} A"


def _short(situation: Situation, cell: CellPlan) -> Caution | None:
    limited = lookup.rule("short_circuit_current", "limited source, up to 20 V")
    energy = lookup.rule("short_circuit_power", "hazardous energy, at 2 V or more")
    least = lookup.rule("short_circuit_voltage", "hazardous energy, from")
    if cell.short_circuit is None or limited is None or energy is None or least is None:
        return None
    current = Band(cell.strings * cell.short_circuit.low, cell.strings * cell.short_circuit.high)
    if current.high < _WORTH_SAYING:
        return None
    finding = compare(current.over(limited.value))
    power, volts = _power(cell, current), cell.open_circuit_voltage
    burns = (
        power is not None and volts is not None and power.low > energy.value
        and volts.low * cell.in_series >= least.value
    )  # fmt: skip
    level = CautionLevel.NOTE if finding is Finding.BELOW or cell.fused else CautionLevel.FIRST
    if burns and energy.published:
        level = CautionLevel.FIRST if cell.fused else CautionLevel.STOP
    hot = (
        "a ring or a tool across it glows" if current.high > limited.value else "thin wire gets hot"
    )
    return Caution(
        key=f"electrical.short.{cell.name}",
        level=level,
        hazard="short circuit",
        headline=f"{cell.name}: {_amperes(current)} into a dead short: {hot}",
        finding=finding,
        figure=_amperes(current) + (f", at most {plain(power.high)} W" if power else ""),
        limit=f"{limited.shown} of a source that counts as limited, up to 20 V; {energy.shown} at {least.shown} or "
        "more counts as hazardous energy",
        basis="from the load steps: the line through open circuit and the largest current, and open circuit over the "
        "slope of the last loads; thick leads and warm or strong liquid give more",
        source=(limited.source, energy.source, lookup.cite_key(HOUSE_SOURCE)),
        do="First a fuse for direct current at the source of each row, terminals covered. Rings and watch off, "
        "insulated tools, the last wire with the load off; never a meter's current socket across it.",
        would_change="a fuse in each row, fewer electrodes side by side",
        about=situation.about,
    )


def shorting_cautions(situation: Situation) -> list[Caution]:
    """Every caution on the current of a short.

    Parameters
    ----------
    situation : Situation
        What is about to be done.

    Returns
    -------
    list of Caution
        Empty where nobody knows what the cells give into a short, or it is below an ampere.
    """
    found = [_short(situation, cell) for cell in situation.cells]
    return [c for c in found if c is not None]
