"""The answer of `compare`: an interval, a verdict, and what would overturn it."""

from __future__ import annotations

from enum import StrEnum

from aerode.records.marks import record
from aerode.records.results import ConditionLine, Estimate, Level

__all__ = [
    "AirOrBattery",
    "Comparison",
    "Contrast",
    "Correction",
    "Effect",
    "LeakLine",
    "Overturn",
    "Piece",
    "Reach",
    "RefusedReading",
    "Verdict",
]


class Verdict(StrEnum):
    """The four verdicts, and the fifth word for a comparison that is blocked."""

    SHOWN = "shown"
    SHOWN_SMALL = "shown but smaller than matters"
    EQUIVALENT = "equivalent"
    NOT_SHOWN = "not shown"
    BLOCKED = "blocked"


@record
class Correction:
    """By how much one correction moved one electrode: ratio of after to before."""

    what: str
    ratio: float
    detail: str = ""


@record
class Piece:
    """One electrode in the comparison: what the ammeter said, and the fair value."""

    electrode: str
    recipe: str
    build: str
    runs: tuple[str, ...]
    fair: Estimate
    """Current density at the chosen voltage [mA/cm^2], or voltage at the chosen current density [V]."""
    ammeter_mA: float | None = None
    ammeter_rank: int | None = None
    fair_rank: int | None = None
    corrections: tuple[Correction, ...] = ()
    order: int | None = None
    control: bool = False
    outcome: str = "whole"
    left_out: str = ""
    factors: dict[str, float | str]


@record
class Contrast:
    """`a` over `b`, as a ratio with an interval that holds for all contrasts of the table together."""

    a: str
    b: str
    level: Level
    ratio: float | None
    interval_95: tuple[float, float] | None
    interval_90: tuple[float, float] | None = None
    degrees_of_freedom: float | None = None
    verdict: Verdict
    reason: str = ""
    builds: tuple[int, int] = (1, 1)


@record
class Effect:
    """The effect of one factor from its low to its high setting, as a ratio."""

    factor: str
    low: str
    high: str
    ratio: float | None
    interval_95: tuple[float, float] | None
    degrees_of_freedom: float | None
    verdict: Verdict
    aliases: tuple[str, ...] = ()
    builds_per_arm_needed: int | None = None
    reason: str = ""


@record
class Overturn:
    """The smallest change of one input that carries the verdict across its line, found by re-running."""

    input: str
    contrast: str
    change: float | None
    unit: str
    in_uncertainties: float | None
    from_verdict: Verdict
    to_verdict: Verdict | None
    reason: str = ""


@record
class Reach:
    """Which verdicts this number of builds can reach, and what would settle it."""

    builds: str
    spread: float
    spread_basis: str
    degrees_of_freedom: float | None
    detectable_ratio: float | None
    equivalence_reachable: bool
    more_builds_per_recipe: int | None
    detail: str = ""


@record
class AirOrBattery:
    """Charge drawn against the charge the electrode itself could give."""

    electrode: str
    charge_drawn: Estimate
    """[mAh/cm^2], or [mAh] without an area."""
    stored_charge: Estimate
    cleared: bool
    detail: str
    next_step: str = ""


@record
class LeakLine:
    """When an air face went wet, as far as the looks tell [h]."""

    electrode: str
    last_dry: float | None
    first_wet: float | None
    detail: str


@record
class RefusedReading:
    """A reading that was kept but not used, and why."""

    run: str
    index: int
    text: str
    why: str


@record
class Comparison:
    """The whole answer, as printed, reported and stored."""

    schema: str = "aerode.compare/1"
    headline: str
    question: str
    response: str
    at: float
    at_unit: str
    value_unit: str
    margin: float
    verdict: Verdict
    pieces: tuple[Piece, ...]
    contrasts: tuple[Contrast, ...] = ()
    effects: tuple[Effect, ...] = ()
    overturn: tuple[Overturn, ...] = ()
    reach: tuple[Reach, ...] = ()
    conditions: tuple[ConditionLine, ...] = ()
    air_or_battery: tuple[AirOrBattery, ...] = ()
    leaks: tuple[LeakLine, ...] = ()
    refused: tuple[RefusedReading, ...] = ()
    build_spread: Estimate
    drift_per_run: Estimate
    control_ageing: Estimate
    order_alignment: float | None = None
    next_steps: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    not_measured: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
    run_order: tuple[str, ...] = ()
