"""The answer of `compare`: an interval, a verdict, and what would overturn it."""

from __future__ import annotations

from enum import StrEnum

from aerode.records.marks import record
from aerode.records.results import ConditionLine, Estimate, Level

__all__ = [
    "ActAt",
    "AirOrBattery",
    "ClaimOutlook",
    "Comparison",
    "Contrast",
    "Correction",
    "Effect",
    "LeakLine",
    "NextAct",
    "Overturn",
    "Piece",
    "Reach",
    "RecipeWords",
    "RefusedReading",
    "TemperatureDoubt",
    "Together",
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
    decision_interval: tuple[float, float] | None = None
    """The interval the verdict rests on: at the level of this look (`Comparison.look_level`)."""
    equivalence_interval: tuple[float, float] | None = None
    """The interval "equivalent" rests on: two one-sided tests, at 1 - 2 `Comparison.look_level`."""
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
    decision_interval: tuple[float, float] | None = None
    equivalence_interval: tuple[float, float] | None = None
    """As of a `Contrast`."""
    degrees_of_freedom: float | None
    asked: bool = False
    """Whether the question was about this factor; the others were looked at beside it, together."""
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
class Together:
    """Two inputs, each moved by a believable amount, that carry the verdict across its line together.

    `changes` are in `units`; both are `in_uncertainties` of their own standard uncertainties.
    """

    inputs: tuple[str, str]
    changes: tuple[float, float]
    units: tuple[str, str]
    in_uncertainties: float
    contrast: str
    from_verdict: Verdict
    to_verdict: Verdict


class ActAt(StrEnum):
    """Where an act is done that is neither one more build nor a run of one electrode."""

    NOWHERE = ""
    RESISTORS = "resistors"
    """What the ohm-meter showed is put down with each resistor."""
    LEADS = "leads"
    """What was found is put down with the cell of each piece."""
    AREAS = "areas"
    """What was found is put down with each piece."""
    RUNS = "runs"
    """Each piece is read again."""
    CONTROL = "control"
    """One piece is read as the control of the day."""
    QUESTION = "question"
    """The comparison is asked otherwise."""
    BUILDS = "builds"
    """More pieces are built."""
    MIX = "mix"
    """A second recipe is planned."""
    LOG = "log"
    """One load is on for hours."""


@record
class NextAct:
    """One thing to do, and why it is this one."""

    do: str
    why: str
    build: str = ""
    """The recipe of which one more is to be built, where that is the act."""
    measure: str = ""
    """The electrode that is to be read once more, where that is the act."""
    sealed: str = ""
    """The electrode that is to be read with its air face taped over, where that is the act."""
    control: str = ""
    """The electrode that is to be kept as control, where that is the act."""
    at: ActAt = ActAt.NOWHERE


@record
class TemperatureDoubt:
    """Runs that were not equally warm, not corrected for, and what that can do to the verdict."""

    lowest: float
    """Of the temperatures behind the verdict [K]; `highest` likewise."""
    highest: float
    per_kelvin: float | None
    """The smallest change of the response per kelvin that overturns the verdict [1/K]; None where none does."""
    believable: bool
    """Whether a change of that size has to be allowed for where nobody measured it."""
    words: str


@record
class RecipeWords:
    """A recipe's name, what is in it in short words, and the electrodes made after it."""

    recipe: str
    words: str
    electrodes: tuple[str, ...]


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
    level: Level = Level.RECIPES
    """At which level the verdict speaks."""
    primary: str = ""
    """What the verdict is on: "A over B", or "binder, 0.1 to 0.2"."""
    ratio: float | None = None
    interval: tuple[float, float] | None = None
    """Of that ratio, at the level of this look: the interval that the verdict rests on."""
    equivalence_interval: tuple[float, float] | None = None
    """Of that ratio, at 1 - 2 `look_level` (90 % for a single look): what "equivalent" rests on."""
    look_level: float = 0.05
    claim: str = ""
    """The claim, written down beforehand, that it is judged under; "" for none."""
    pieces: tuple[Piece, ...]
    recipes: tuple[RecipeWords, ...] = ()
    """What each recipe is, where its name does not say it."""
    contrasts: tuple[Contrast, ...] = ()
    effects: tuple[Effect, ...] = ()
    curvature: Effect | None = None
    """How far the middle lies off the straight line between low and high, as a ratio."""
    overturn: tuple[Overturn, ...] = ()
    together: tuple[Together, ...] = ()
    """Pairs of inputs that would overturn it together, though neither would alone."""
    reach: tuple[Reach, ...] = ()
    conditions: tuple[ConditionLine, ...] = ()
    air_or_battery: tuple[AirOrBattery, ...] = ()
    leaks: tuple[LeakLine, ...] = ()
    refused: tuple[RefusedReading, ...] = ()
    build_spread: Estimate
    drift_per_run: Estimate
    control_ageing: Estimate
    order_alignment: float | None = None
    temperature_doubt: TemperatureDoubt | None = None
    """None where the runs were about equally warm, or a stated coefficient takes the difference out."""
    next_act: NextAct | None = None
    later_acts: tuple[NextAct, ...] = ()
    """Worth doing too, whatever the next act gives."""
    """The one thing to do next: the first of `next_steps`."""
    next_steps: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    not_measured: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
    model: tuple[str, ...] = ()
    """What the statistics take as given, in a statistician's words; `assumptions` are for everybody."""
    run_order: tuple[str, ...] = ()


@record
class ClaimOutlook:
    """The answer of `claim`: what is to be shown, and which verdicts its builds can reach."""

    schema: str = "aerode.claim/1"
    headline: str
    claim: str
    question: str
    factor: str = ""
    at: float | None = None
    at_unit: str = "V"
    margin: float
    builds: int | None = None
    looks: int = 1
    look_level: float = 0.05
    reach: tuple[Reach, ...]
    builds_to_show: tuple[int | None, ...] = ()
    """Builds a side that show a true ratio of the margin 4 times in 5, for each line of `reach`."""
    builds_to_equal: tuple[int | None, ...] = ()
    """Builds a side that find two equal recipes equivalent 4 times in 5, for each line of `reach`."""
    stored: bool = False
    warnings: tuple[str, ...] = ()
    next_steps: tuple[str, ...] = ()
