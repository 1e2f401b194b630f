"""The comparison as it is looked at: the verdict first, one figure, then the evidence; the doubts on request."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from aerode.errors import AerodeError, CannotTellError
from aerode.measure import picturing, telling
from aerode.measure.comparison import typed
from aerode.measure.comparison.conditions import CONDITIONS, REST
from aerode.records.electrodes import Electrode
from aerode.records.places import Claim
from aerode.records.reports import Section
from aerode.records.results import Level
from aerode.usecases.claims_on_file import JudgedClaim, claims_judged, same_question
from aerode.usecases.compare import compare
from aerode.usecases.compare_study import study_of
from aerode.usecases.condition_cures import cause_of, cures_of
from aerode.usecases.newest_pieces import newest_pieces
from aerode.usecases.report_sections import sections, sentence_of
from aerode.usecases.report_tables import air_sentence, air_table

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from aerode.records.comparisons import Comparison
    from aerode.records.figures import Figure
    from aerode.records.results import ConditionLine
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.condition_cures import Cause, Cure

__all__ = [
    "Asked",
    "Choices",
    "CompareView",
    "asked_from_texts",
    "choices",
    "compared",
    "doubts",
    "figures_of",
    "view",
]

_OVERTURN = "What would overturn it"
_MOST_ROWS = 10
"""Rows of the leading figure; the table holds all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is asked of the bench, as typed; all empty is the bench's own question."""

    electrodes: tuple[str, ...] = ()
    at: str = ""
    by: str = ""
    margin: str = ""
    claim: str = ""
    same: tuple[str, ...] = ()
    per_kelvin: str = ""
    spread: str = ""

    @property
    def key(self) -> tuple[object, ...]:
        """Under which the answer is remembered."""
        return (
            self.electrodes, self.at, self.by, self.margin, self.claim, self.same,
            self.per_kelvin, self.spread,
        )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """What can be chosen on this bench."""

    electrodes: tuple[tuple[str, str], ...]
    """Name and recipe of every electrode that was measured."""
    factors: tuple[str, ...]
    claims: tuple[Claim, ...]
    conditions: tuple[tuple[str, str], ...] = field(
        default=(
            *((kind.key, kind.words) for kind in CONDITIONS),
            ("area", "wetted area"),
            (REST, "all that is not named"),
        )
    )
    """Key and words of what can be said to have been the same for all."""

    @property
    def factor_words(self) -> list[tuple[str, str]]:
        """Each factor with its question."""
        return [(name, f"what {name} does") for name in self.factors]

    @property
    def claim_words(self) -> list[tuple[str, str]]:
        """Each claim by its name."""
        return [(claim.name, claim.name) for claim in self.claims]

    @property
    def electrode_words(self) -> list[tuple[str, str, str]]:
        """Each electrode with its recipe."""
        return [(name, name, recipe) for name, recipe in self.electrodes]

    @property
    def condition_words(self) -> list[tuple[str, str, str]]:
        """Each condition in words."""
        return [(key, words, "") for key, words in self.conditions]


@dataclass(frozen=True, slots=True, kw_only=True)
class CompareView:
    """A comparison laid out for one page."""

    comparison: Comparison
    sentence: str
    beside: tuple[str, ...]
    """What stands at once below the verdict."""
    lead: Figure | None
    two: Figure | None
    """The ammeter beside the fair value; None where nothing was read."""
    sections: tuple[Section, ...]
    blocking: tuple[ConditionLine, ...]
    on_word: tuple[ConditionLine, ...]
    """What was taken as the same on somebody's word: kept on the bench, or said for this look only."""
    cures: dict[str, tuple[Cure, ...]]
    """For each condition that blocks, by its key, where it can be put right."""
    cause: Cause | None
    """What lies behind several of them; None where nothing of the kind does."""
    later: tuple[str, ...]
    """What else is worth doing, whatever the next act gives."""
    notes: tuple[str, ...]
    claims: tuple[JudgedClaim, ...] = ()
    """What was stated beforehand, with its verdict, where nothing of its own was asked."""
    open_too: bool = True
    """Whether the comparison without a claim says something that the claims do not."""


_READERS: dict[str, Callable[[str], object]] = {
    "at": typed.point_from_text,
    "margin": typed.margin_from_text,
    "per_kelvin": typed.coefficient_from_text,
    "spread": lambda text: typed.share_from_text(text, "spread"),
}


def asked_from_texts(
    texts: Mapping[str, str], electrodes: Sequence[str] = (), same: Sequence[str] = ()
) -> tuple[Asked, dict[str, tuple[str, str]]]:
    """The question from the fields of a form, and what of it cannot be read.

    Parameters
    ----------
    texts : mapping of str to str
        at, by, margin, claim, per_kelvin, spread, as typed.
    electrodes, same : sequence of str
        Names that were ticked.

    Returns
    -------
    asked : Asked
    faults : dict of str to (str, str)
        Field to what is wrong and what is allowed; such a field is empty in `asked`.
    """
    told = {name: texts.get(name, "").strip() for name in ("by", "claim", *_READERS)}
    faults: dict[str, tuple[str, str]] = {}
    for name, read in _READERS.items():
        if not told[name]:
            continue
        try:
            read(told[name])
        except AerodeError as refusal:
            faults[name] = (refusal.what, refusal.allowed or refusal.next_step)
            told[name] = ""
    return Asked(electrodes=tuple(electrodes), same=tuple(same), **told), faults


def compared(bench: BenchFile, asked: Asked, *, try_changes: bool) -> Comparison:
    """The comparison that is asked for; without trying changes, each electrode is left out in turn."""
    voltage, density = typed.point_from_text(asked.at) if asked.at else (None, None)
    more: dict[str, Any] = {}
    if asked.per_kelvin:
        more["temperature_coefficient"] = typed.coefficient_from_text(asked.per_kelvin)
    if asked.spread:
        more["past_spread"] = (typed.share_from_text(asked.spread, "spread"), 3.0)  # judgement
    return compare(
        bench,
        asked.electrodes or newest_pieces(bench),
        at_voltage=voltage,
        at_current_density=density,
        by=asked.by,
        margin=typed.margin_from_text(asked.margin) if asked.margin else None,
        claim=asked.claim,
        same=asked.same,
        try_changes=try_changes,
        try_nearest=True,
        **more,
    )


def choices(bench: BenchFile) -> Choices:
    """What can be chosen for a comparison on this bench; of a very large one the newest pieces."""
    newest = newest_pieces(bench)
    pieces = [bench.get(Electrode, name) for name in newest] or study_of(bench).electrodes
    factors = sorted({name for electrode in pieces for name in electrode.factors})
    rows = tuple((one.name, one.recipe) for one in pieces)
    return Choices(electrodes=rows, factors=tuple(factors), claims=tuple(bench.all(Claim)))


def view(bench: BenchFile, asked: Asked) -> CompareView:
    """The comparison with its verdict first; what would overturn it is not looked for here.

    Parameters
    ----------
    bench : BenchFile
    asked : Asked

    Returns
    -------
    CompareView

    Raises
    ------
    CannotTellError, NotFoundError, InputError
        As `compare` does.
    """
    found = compared(bench, asked, try_changes=False)
    parts = {part.name: part for part in sections(bench, found, ())}
    lead = _lead(found)
    if found.air_or_battery:
        parts["air"] = _air(found)
    wanted = (
        "verdicts",
        "why",
        "air",
        "leaks",
        "conditions",
        "not-measured",
        "assumptions",
        "statistician",
    )
    claims = () if asked != Asked() or found.claim else claims_judged(bench)
    again = same_question(found, claims)
    beside = (
        "" if again else telling.held_back(found),
        telling.given_word(found),
        "" if again else telling.undone_by(found),
        "" if again else telling.rests_on(found),
        telling.what_it_may_be_instead(found),
        telling.warmth_first(found),
        telling.who_leads(found),
    )
    cause = cause_of(bench, found)
    sentence = cause.sentence if cause else sentence_of(telling.plain_verdict(found))
    beside = (*beside, telling.why_this_level(found, " ".join((sentence, *beside))))
    return CompareView(
        comparison=found,
        sentence=sentence,
        beside=tuple(line for line in beside if line and line != sentence),
        lead=lead,
        two=_two(found),
        sections=tuple(parts[name] for name in wanted if name in parts),
        blocking=tuple(line for line in found.conditions if line.blocks),
        on_word=tuple(line for line in found.conditions if line.on_word),
        cures=cures_of(bench, found),
        cause=cause,
        later=tuple(sentence_of(step) for step in found.next_steps[1:]),
        claims=claims,
        open_too=not again,
        notes=(*_only_the_newest(bench, asked), *(sentence_of(note) for note in found.warnings)),
    )


def _only_the_newest(bench: BenchFile, asked: Asked) -> tuple[str, ...]:
    names = () if asked.electrodes else newest_pieces(bench)
    if not names:
        return ()
    total = bench.count(Electrode)
    return (
        f"Of {total:,} electrodes only the newest {len(names)} that were measured are compared.",
    )


def _air(found: Comparison) -> Section:
    sentence = air_sentence(found.air_or_battery)
    return Section(
        name="air", title="Air, or the electrode's own charge?", sentence=sentence,
        tables=(air_table(found),),
    )  # fmt: skip


def _lead(found: Comparison) -> Figure | None:
    """The interval that the verdict rests on, among its fellows."""
    if any(effect.asked and effect.interval_95 for effect in found.effects):
        return picturing.effect_intervals(found)
    recipes = [c for c in found.contrasts if c.level is Level.RECIPES and c.interval_95]
    rows = recipes or [c for c in found.contrasts if c.interval_95]
    rows.sort(key=lambda c: -abs((c.ratio or 1.0) - 1.0))
    if rows:
        return picturing.contrast_intervals(found, rows[:_MOST_ROWS])
    return None


def _two(found: Comparison) -> Figure | None:
    """What the ammeter said beside the fair value; None where no ammeter was read."""
    if all(piece.ammeter_mA is None for piece in found.pieces):
        return None
    try:
        return picturing.ammeter_beside_fair(found)
    except CannotTellError:
        return None


def figures_of(shown: CompareView) -> tuple[Figure, ...]:
    """Every figure of the page, each once."""
    all_of = [shown.lead, shown.two]
    all_of += [figure for part in shown.sections for figure in part.figures]
    return tuple({figure.name: figure for figure in all_of if figure is not None}.values())


def doubts(bench: BenchFile, asked: Asked) -> Section | None:
    """What would overturn the verdict.

    Each input is changed alone and everything is compared again, so this takes several times as
    long as the comparison.

    Parameters
    ----------
    bench : BenchFile
    asked : Asked

    Returns
    -------
    Section or None
        None where there is nothing to overturn.
    """
    found = compared(bench, asked, try_changes=True)
    part = next((part for part in sections(bench, found, ()) if part.name == "doubts"), None)
    if part is None or not found.overturn:
        warm = telling.warmth_first(found)
        return Section(name="doubts", title=_OVERTURN, sentence=warm) if warm else None
    own = [table for table in part.tables if table != air_table(found)]
    return replace(part, tables=tuple(own))
