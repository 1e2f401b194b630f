"""What is asked of the next batch: which factors, of which recipes, within which limits."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import AerodeError, InputError
from aerode.measure.comparison.entrants import recipe_of
from aerode.measure.comparison.factor_effects import amounts_of
from aerode.usecases.next_factors import MOST_FACTORS, factors_on_record
from aerode.usecases.next_words import range_words

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from aerode.measure.comparison.study import Study
    from aerode.records.electrodes import Electrode
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.next_factors import OnRecord

__all__ = ["Asked", "NextQuestion", "Offer", "asked_of", "limit_of", "offered_factors", "pieces_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class NextQuestion:
    """What is asked; "" or 0 where it was not said.

    `between` holds "binder 8 % to 13 %" for each limit; `factors` the names of those to vary: as people
    entered them, or as the record tells them. None: those that were entered, else those of the record.
    """

    builds: int = 0
    mixes: int = 0
    at: str = ""
    between: tuple[str, ...] = ()
    room: str = ""
    factors: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """The factors of a question: of each recipe that was read its pieces and its settings."""

    read: dict[str, list[Electrode]]
    settings: dict[str, dict[str, float | str]]
    rest: tuple[str, ...] = ()
    """Lots that give way to the shares of the record."""
    told: str = ""
    """What was taken from the record, in a sentence; "" where people entered all of it."""
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """What may be varied: each factor with its range, those that people entered apart from those of the record."""

    typed: dict[str, str] = field(default_factory=dict[str, str])
    recorded: dict[str, str] = field(default_factory=dict[str, str])
    rest: tuple[str, ...] = ()
    unsaid: tuple[str, ...] = ()


def pieces_of(study: Study) -> dict[str, list[Electrode]]:
    """The electrodes of every recipe of a study, controls apart."""
    found: dict[str, list[Electrode]] = {}
    for one in study.electrodes:
        found.setdefault(recipe_of(one), []).append(one)
    return found


def _typed(pieces: Mapping[str, Sequence[Electrode]]) -> dict[str, list[Electrode]]:
    """The same of those pieces alone that say what was varied."""
    said = {name: [e for e in those if e.factors] for name, those in pieces.items()}
    return {name: those for name, those in said.items() if those}


def _names(pieces: Mapping[str, Sequence[Electrode]]) -> list[str]:
    return list(dict.fromkeys(n for those in pieces.values() for e in those for n in e.factors))


def offered_factors(bench: BenchFile, study: Study) -> Offer:
    """What could be varied on this bench, whoever says it.

    Parameters
    ----------
    bench : BenchFile
    study : Study

    Returns
    -------
    Offer
    """
    pieces = pieces_of(study)
    said = _typed(pieces)
    typed: dict[str, list[float | str]] = {}
    for one in (e for those in said.values() for e in those):
        for name, setting in one.factors.items():
            typed.setdefault(name, []).append(setting)
    record = factors_on_record(bench, pieces, list(typed))
    return Offer(
        typed={name: range_words(settings) for name, settings in typed.items()},
        recorded={n: range_words(list(those.values())) for n, those in record.settings.items()},
        rest=record.rest,
        unsaid=record.unsaid,
    )


def asked_of(bench: BenchFile, study: Study, read: Sequence[str], question: NextQuestion) -> Asked:
    """The factors that are varied, with the setting of every recipe that was read.

    Parameters
    ----------
    bench : BenchFile
    study : Study
    read : sequence of str
        Recipes that could be read.
    question : NextQuestion

    Returns
    -------
    Asked

    Raises
    ------
    InputError
        Nothing differs, or a factor that was named is known of no recipe.
    """
    pieces = {name: those for name, those in pieces_of(study).items() if name in read}
    said = _typed(pieces)
    if question.factors:
        return _named(bench, pieces, question.factors)
    if not said:
        return _recorded(bench, pieces)
    record = factors_on_record(bench, said, _names(said))
    silent = [name for name in pieces if name not in said]
    warnings: list[str] = []
    if record.settings:
        warnings.append(
            f"by the record {_ranges(record.settings)} differ{'s' if len(record.settings) == 1 else ''} too, and nobody entered it as "
            "a factor: it is not counted with; name the factors that are to count"
        )
    if silent:
        warnings.append(
            f"{' and '.join(silent)} {'was' if len(silent) == 1 else 'were'} read, but no factor is entered for it: left out"
        )
    return Asked(read=said, settings=_entered(said), warnings=tuple(warnings))


def _entered(pieces: Mapping[str, Sequence[Electrode]]) -> dict[str, dict[str, float | str]]:
    return {name: dict(those[0].factors) for name, those in pieces.items()}


def _ranges(settings: Mapping[str, Mapping[str, str]]) -> str:
    return ", ".join(
        f"{name} {range_words(list(those.values()))}" for name, those in settings.items()
    )


def _told(settings: Mapping[str, Mapping[str, str]], record: OnRecord) -> str:
    """What was taken from the record, in a sentence."""
    said = f"taken from the record: {_ranges(settings)}"
    gives = (
        f"; {' and '.join(record.rest)} give{'s' if len(record.rest) == 1 else ''} way"
        if record.rest
        else ""
    )
    return said + gives


def _recorded(bench: BenchFile, pieces: Mapping[str, list[Electrode]]) -> Asked:
    """Nobody entered a factor: what the mixes and the presses on record differ in."""
    record = factors_on_record(bench, pieces)
    taken = dict(list(record.settings.items())[:MOST_FACTORS])
    if not taken:
        lacking = f" ({'; '.join(record.unsaid)})" if record.unsaid else ""
        raise InputError(
            f"nobody entered what was varied, and by the record nothing differs between these recipes{lacking}",
            where="factors",
            next_step="build one with another share of one thing (a fifth more or less) or with the plate 15 °C hotter or "
            "cooler, and read it; or enter what was varied with each electrode, as in binder: 10 %",
        )  # fmt: skip
    over = list(record.settings)[MOST_FACTORS:]
    warnings = [*record.unsaid]
    if over:
        warnings.append(f"{' and '.join(over)} differ too: with more than {MOST_FACTORS} factors few builds tell none of them")  # fmt: skip
    return Asked(
        read=dict(pieces),
        settings={r: {name: those[r] for name, those in taken.items()} for r in pieces},
        rest=record.rest, told=_told(taken, record), warnings=tuple(warnings),
    )  # fmt: skip


def _named(bench: BenchFile, pieces: Mapping[str, list[Electrode]], names: Sequence[str]) -> Asked:
    """The factors that were named: as entered where a recipe says them, else of the record."""
    said = _typed(pieces)
    entered = _names(said)
    record = factors_on_record(bench, pieces, [name for name in names if name in entered])
    strange = [name for name in names if name not in entered and name not in record.settings]
    if strange:
        raise InputError(
            f"no factor of these recipes is called {strange[0]!r}", where="factors",
            allowed=", ".join(dict.fromkeys([*entered, *record.settings])) or "none: nothing differs on record",
            next_step="name one of them, or enter it with each electrode",
        )  # fmt: skip
    settings: dict[str, dict[str, float | str]] = {}
    for recipe in pieces:
        own = said[recipe][0].factors if recipe in said else {}
        found = {n: own[n] if n in entered else record.settings[n][recipe] for n in names if n not in entered or n in own}  # fmt: skip
        if len(found) == len(dict.fromkeys(names)):
            settings[recipe] = found
    recorded = {n: record.settings[n] for n in dict.fromkeys(names) if n not in entered}
    left = [recipe for recipe in pieces if recipe not in settings]
    others = [n for n in factors_on_record(bench, pieces, list(names)).settings if n not in names]
    warnings = (
        [f"{' and '.join(left)} left out: not all of {', '.join(names)} is entered for it"]
        if left
        else []
    )
    if others:
        warnings.append(
            f"by the record {' and '.join(others)} differ{'s' if len(others) == 1 else ''} too between these recipes, and is not counted "
            "with: what it does is taken for an effect of the others"
        )
    return Asked(
        read={recipe: pieces[recipe] for recipe in settings},
        settings=settings,
        rest=record.rest if recorded else (),
        told=_told(recorded, record) if recorded else "",
        warnings=tuple(warnings),
    )  # fmt: skip


def limit_of(
    text: str, settings: Mapping[str, Mapping[str, float | str]]
) -> tuple[str, tuple[float, float]]:
    """ "binder 8 % to 13 %" as a factor and its range; a unit that is typed is turned into that of the factor.

    >>> limit_of("plate temperature 70 °C to 90 °C", {"A": {"plate temperature": "85 °C"}})
    ('plate temperature', (70.0, 90.0))
    """
    head, _, high = text.rpartition(" to ")
    words = head.split()
    for k in range(len(words) - 1, 0, -1):
        try:
            (low, low_unit), (top, top_unit) = (
                units.read_number(" ".join(words[k:])),
                units.read_number(high),
            )
        except AerodeError:
            continue
        name = " ".join(words[:k])
        own = amounts_of([those[name] for those in settings.values() if name in those])
        ends = [_in_own_unit(name, *end, own) for end in ((low, low_unit), (top, top_unit))]
        return name, (ends[0], ends[1])
    raise InputError(
        f"{text!r} is no range of a factor", where="between", allowed='as in "binder 8 % to 13 %"',
        next_step="name the factor as it stands with the electrodes, then its lowest and highest setting",
    )  # fmt: skip


def _in_own_unit(
    name: str, number: float, unit: str, own: tuple[Sequence[float], str] | None
) -> float:
    """An end of a limit in the unit of its factor; a bare number is in it already."""
    if own is None or not unit or unit == own[1]:
        return number
    if not own[1] or not units.same_kind(unit, own[1]):
        raise InputError(
            f"{name} is entered in {own[1] or 'plain numbers'}, not in {unit}", where="between",
            allowed=f"numbers in {own[1]}" if own[1] else "numbers without a unit",
            next_step="type the limit as the settings stand with the electrodes",
        )  # fmt: skip
    return units.convert(number, unit, own[1])
