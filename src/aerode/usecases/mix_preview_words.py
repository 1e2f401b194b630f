"""The answer on a mix as the few facts and tables that a page shows."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode import units

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.doses import DoseLine, DoseSheet, DryPart, Masterbatch, MixAnswer
    from aerode.records.results import Estimate

__all__ = ["MASTERBATCH_DUST", "DoseRow", "DoseWords", "MixFact", "OnScale", "PartRow", "dose_digits", "dose_words", "mix_facts", "on_scale", "part_rows", "plain_notes", "share_words"]  # fmt: skip

MASTERBATCH_DUST = (
    "Mix it well: dry powders in a closed jar, shaken gently and opened after the dust has settled, "
    "or wetted first."
)
"""How a masterbatch is mixed without dust in the air; common practice, no source."""


_NOT_THERE = "not on the shelf"


@dataclass(frozen=True, slots=True)
class PartRow:
    """One dry part: its name, what it does, its shares."""

    name: str
    does: str
    by_mass: str
    by_volume: str


@dataclass(frozen=True, slots=True)
class MixFact:
    """One fact of a mix, and what it rests on or lacks."""

    term: str
    said: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class OnScale:
    """What of one dose is put on the scale by itself, how well, and how the rest of it comes."""

    grams: float | None
    """[g]; None where none is: it comes in a masterbatch."""
    relative_uncertainty: float
    how: str


@dataclass(frozen=True, slots=True)
class DoseRow:
    """One thing to weigh, written as the scale shows it; "–" where nothing is weighed by itself."""

    of: str
    grams: str
    spread: str
    millilitres: str
    how: str
    weighable: bool


@dataclass(frozen=True, slots=True)
class DoseWords:
    """A dose sheet: its head in a sentence, its rows, and the ways out where the scale is too coarse.

    `spread` says what the ± of the rows is, and how it follows from the limit of error of the scale.
    """

    head: str
    rows: tuple[DoseRow, ...]
    masterbatches: tuple[str, ...]
    larger: str
    rounding: str
    spread: str = ""


_SOURCE = re.compile(r"^(?P<said>.*published: .*?)\s*\((?P<source>[^()]*)\)$", re.DOTALL)


def plain_notes(notes: Sequence[str]) -> tuple[str, ...]:
    """What was assumed, without the keys that sources have in the tables of this program.

    Parameters
    ----------
    notes : sequence of str
        As `aerode.records.doses.MixAnswer.assumptions`.

    Returns
    -------
    tuple of str
        How far a figure can be trusted stays: from memory, or read on a secondary page.

    Examples
    --------
    >>> plain_notes(["density of PVB not measured, published: 1.083 g/cm^3 (cameo, secondary)"])
    ('density of PVB not measured, published: 1.083 g/cm^3 (read on a secondary page)',)
    """
    found: list[str] = []
    for note in notes:
        match = _SOURCE.match(note)
        if match is None:
            found.append(note)
            continue
        trust = [words for word, words in _TRUST.items() if word in match["source"]]
        found.append(f"{match['said']} ({trust[0]})" if trust else match["said"])
    return tuple(found)


_TRUST = {
    "from memory": "from memory",
    "unverified": "not verified",
    "secondary": "read on a secondary page",
}


def share_words(estimate: Estimate) -> str:
    """A share in per cent with its uncertainty, or that it is not known.

    Parameters
    ----------
    estimate : Estimate
        Between 0 and 1.

    Examples
    --------
    >>> from aerode.records.results import Estimate
    >>> share_words(Estimate(value=0.4993, unit="", standard_uncertainty=0.0065))
    '49.93 ± 0.65 %'
    """
    if estimate.value is None:
        return "not known"
    if estimate.interval_95 is not None and estimate.standard_uncertainty is not None:
        low, high = (units.plain(100 * end) for end in estimate.interval_95)
        return f"about {units.per_cent(estimate.value)}, {low} to {high} %"
    spread = estimate.standard_uncertainty
    return units.write(100 * estimate.value, "%", None if spread is None else 100 * spread)


def part_rows(found: MixAnswer) -> tuple[PartRow, ...]:
    """The dry parts of a mix, largest first."""
    parts = sorted(found.dry, key=lambda part: -(part.mass_fraction.value or 0.0))
    return tuple(
        PartRow(
            name=part.name or part.of,
            does=_does(part),
            by_mass=share_words(part.mass_fraction),
            by_volume=share_words(part.volume_fraction),
        )
        for part in parts
    )


def _does(part: DryPart) -> str:
    """What it is, where its name does not say it, what it does, and the jar it came in."""
    name = part.name or part.of
    said = [part.function] if part.substance in name or name == part.function else [part.substance, part.function]  # fmt: skip
    jar = f"from {part.of}" if part.of not in name else ""
    return ", ".join(filter(None, (*said, jar)))


def mix_facts(found: MixAnswer) -> tuple[MixFact, ...]:
    """What a mix is beside its composition: solids, what dries off, voids, binder, cost."""
    dry, lost = found.dry_mass_g, found.solvents_g
    hundred = abs((found.dry_mass_g.value or 0.0) - 100.0) < 1e-6  # a mix of shares alone
    on_paper = "" if found.weighed or found.dose else "on paper, for 100 g dry" if hundred else "on paper"  # fmt: skip
    liquids = [_grams(amount, name) for name, amount in lost.items() if amount.value is not None]
    facts = [
        MixFact("Solids, wet", share_words(found.solids_fraction)),
        MixFact("Dries off", ", ".join(liquids) or "nothing", on_paper),
        MixFact("Stays", _grams(dry), on_paper),
        MixFact("Binder", _sentence(found.binder_fill)),
        _voids(found),
    ]
    films = [
        f"{film.electrode} {share_words(film.porosity)}"
        for film in found.films
        if film.porosity.value is not None
    ]
    if films:
        facts.append(MixFact("Voids of what was made", ", ".join(films[:6]), "from mass, area and thickness"))  # fmt: skip
    return (*facts, _cost(found))


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"


def _grams(estimate: Estimate, of: str = "") -> str:
    if estimate.value is None:
        return "not known"
    if estimate.interval_95 is not None:
        low, high = (units.plain(end) for end in estimate.interval_95)
        return f"about {units.plain(estimate.value)} g, {low} to {high} g {of}".strip()
    return f"{units.write(estimate.value, 'g', estimate.standard_uncertainty)} {of}".strip()


def _voids(found: MixAnswer) -> MixFact:
    porosity = found.porosity
    if porosity.value is None:
        return MixFact("Voids before pressing", "not known", porosity.reason or "")
    if porosity.interval_95 is None:
        return MixFact("Voids before pressing", share_words(porosity), porosity.basis.value)
    low, high = porosity.interval_95
    return MixFact("Voids before pressing", f"{100 * low:.0f} to {100 * high:.0f} %", f"95 %, {porosity.basis.value}")  # fmt: skip


def _cost(found: MixAnswer) -> MixFact:
    whole = found.cost_per_electrode
    lacking = [f"{line.of} ({line.reason})" for line in found.cost if line.cost is None]
    missing = f"not counted: {', '.join(lacking)}" if lacking else ""
    if whole.value is not None:
        return MixFact("Cost of an electrode", f"{whole.value:.3g} {whole.unit}", missing)
    if whole.lower_bound is not None:
        return MixFact("Cost of an electrode", f"at least {whole.lower_bound:.3g} {whole.unit}", missing)  # fmt: skip
    return MixFact("Cost of an electrode", "not known", missing or (whole.reason or ""))


def dose_words(dose: DoseSheet) -> DoseWords:
    """A dose sheet, written to the steps of its scale.

    Parameters
    ----------
    dose : DoseSheet

    Returns
    -------
    DoseWords
    """
    digits = dose_digits(dose)
    pieces = "1 electrode" if dose.electrodes == 1 else f"{dose.electrodes} electrodes"
    head = (
        f"For {pieces} of {dose.area_cm2:.4g} cm² at {dose.loading_mg_cm2:.4g} mg/cm², "
        f"{100 * dose.spare:.3g} % spare: {dose.wet_mass_g:.{digits}f} g wet, "
        f"{100 * dose.solids_fraction:.1f} % solids. Scale: {dose.scale}."
    )
    rows = tuple(_dose_row(line, dose, digits) for line in dose.lines)
    rows += tuple(
        DoseRow(
            of="masterbatch", grams=f"{one.take_g:.{digits}f}", spread=_relative(one.relative_uncertainty),
            millilitres="", how=f"of {' and '.join(one.parts_g)}, made as below", weighable=True,
        )
        for one in dose.masterbatches
    )  # fmt: skip
    larger = ""
    if dose.enough_for_electrodes is not None:
        within = f"{100 * dose.weighable_within:g} %"
        larger = f"Mix for {dose.enough_for_electrodes} electrodes at once and this scale weighs every dose to ±{within}."  # fmt: skip
    moved = max(dose.composition_error.items(), key=lambda item: abs(item[1]), default=None)
    rounding = ""
    if moved is not None:
        rounding = f"Rounding to the scale moves no share by more than {100 * abs(moved[1]):.2g} points ({moved[0]})."  # fmt: skip
    return DoseWords(
        head=head, rows=rows, masterbatches=tuple(_batch(one, digits) for one in dose.masterbatches),
        larger=larger, rounding=rounding, spread=_spread_words(dose),
    )  # fmt: skip


def _spread_words(dose: DoseSheet) -> str:
    """What the ± of a dose is: one standard uncertainty, smaller than the limit of error of the scale."""
    line = next((one for one in dose.lines if one.exact_g > 0), None)
    if line is None:
        return ""
    net = units.plain(line.exact_g * line.relative_uncertainty)
    return f"± is one standard uncertainty of a weighing, {net} g; the ± of the scale is the most that it is off, its limit of error."


def _dose_row(line: DoseLine, dose: DoseSheet, digits: int) -> DoseRow:
    put = on_scale(line, dose)
    return DoseRow(
        of=line.of,
        grams="–" if put.grams is None else f"{put.grams:.{digits}f}",
        spread=_relative(put.relative_uncertainty),
        millilitres="" if line.volume_mL is None or put.how != line.how else f"{line.volume_mL:.3g}",
        how=put.how,
        weighable=line.weighable,
    )  # fmt: skip


def on_scale(line: DoseLine, dose: DoseSheet) -> OnScale:
    """What of a line of a dose sheet is weighed by itself: what a masterbatch brings is not.

    Parameters
    ----------
    line : DoseLine
        Of the sheet.
    dose : DoseSheet

    Returns
    -------
    OnScale
        Its relative uncertainty is that of what is weighed, or of what the masterbatch brings.
    """
    digits = dose_digits(dose)
    whole = f"{line.amount_g:.{digits}f} g"
    gone = f"; {_NOT_THERE}" if line.how.endswith(_NOT_THERE) else ""
    for batch in dose.masterbatches:
        if line.of in batch.of:
            return OnScale(None, batch.relative_uncertainty, f"{whole} in masterbatch{gone}")
        if line.of == batch.carrier:
            left = batch.carrier_left_g
            if left <= 0:
                return OnScale(None, batch.relative_uncertainty, f"all {whole} in masterbatch{gone}")  # fmt: skip
            brought = f"{line.amount_g - left:.{digits}f}"
            share = line.relative_uncertainty * line.exact_g / left
            return OnScale(left, share, f"and {brought} g in masterbatch{gone}")
    return OnScale(line.amount_g, line.relative_uncertainty, line.how)


def dose_digits(dose: DoseSheet) -> int:
    """Digits behind the mark with which a dose is written: those that the scale shows.

    Parameters
    ----------
    dose : DoseSheet
        Its scale says its step; where it does not, the doses themselves tell.

    Returns
    -------
    int
    """
    step = re.search(r"steps? of (\d+(?:\.\d+)?) g", dose.scale)
    shown = [step[1]] if step else [f"{line.amount_g:.6f}".rstrip("0") for line in dose.lines]
    return max((len(one.partition(".")[2]) for one in shown), default=2)


def _relative(uncertainty: float) -> str:
    """How far a dose may be off.

    >>> [_relative(u) for u in (2e-4, 0.012, 0.998, 1.1)]
    ['±0.1 % or less', '±1.2 %', '±100 %', 'more than ±100 %']
    """
    if uncertainty > 1.0:
        return "more than ±100 %"
    return f"±{units.per_cent(uncertainty)}" if uncertainty >= 1e-3 else "±0.1 % or less"


def _batch(batch: Masterbatch, digits: int) -> str:
    parts = " and ".join(f"{grams:.{digits}f} g {name}" for name, grams in batch.parts_g.items())
    text = f"{', '.join(batch.of)}: weigh {parts} (enough for {batch.pots:.1f} pots). {MASTERBATCH_DUST} Take {batch.take_g:.{digits}f} g of it."  # fmt: skip
    if batch.carrier_left_g > 0:
        text += f" Then weigh only {batch.carrier_left_g:.{digits}f} g more {batch.carrier}."
    elif batch.adds_liquid_g > 0:
        text += f" It brings {batch.adds_liquid_g:.{digits}f} g {batch.carrier} that dries off."
    else:
        text += f" No more {batch.carrier} then."
    return f"{text} Good to ±{100 * batch.relative_uncertainty:.1f} %."
