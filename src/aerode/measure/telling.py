"""Sentences that an answer supports: who fell and why, what the ammeter got wrong, what to do next."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode import units
from aerode.measure.comparison.overturning import on_one_pair, turns_alone
from aerode.records.comparisons import Verdict
from aerode.records.results import Level

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from aerode.records.comparisons import Comparison, Contrast, Correction, Effect, Piece

__all__ = [
    "CORRECTION_WORDS",
    "NOTHING_TRIED",
    "Fall",
    "ammeter_order",
    "biggest_fall",
    "fair_order",
    "given_word",
    "held_back",
    "judged_at",
    "next_act",
    "only_just",
    "places",
    "plain_verdict",
    "quantity_of",
    "recipes_said",
    "rested_on",
    "rests_on",
    "together_said",
    "undone_by",
    "warmth_first",
    "what_it_may_be_instead",
    "who_leads",
    "why_it_moved",
    "why_this_level",
]


CORRECTION_WORDS = {
    "meter": "the meter's own current",
    "lead": "tab and lead wire",
    "area": "wetted area",
    "drift": "change over the day",
}
"""What each correction is called for people."""
NOTHING_TRIED = (
    "There is no verdict yet that an input could overturn: nothing was changed and tried."
)
"""Said in place of what would overturn a verdict."""
MOST_NAMED = 4
"""Names that are listed in a sentence; more are counted."""
_USUAL_LEVEL = 0.05  # judgement: the usual level
"""An interval at another one says which."""
_CLEARLY = 0.03  # judgement
"""A correction stands out if it takes three per cent more than the others' median."""


@dataclass(frozen=True, slots=True)
class Fall:
    """The electrode that the ammeter flattered most.

    Parameters
    ----------
    piece : Piece
    ammeter_place, fair_place : int
        Places in the two rankings, 1 is best.
    of : int
        How many were ranked.
    because : Correction or None
        Its correction that stands out most against those of the others.
    """

    piece: Piece
    ammeter_place: int
    fair_place: int
    of: int
    because: Correction | None

    def sentence(self) -> str:
        """The whole of it in words."""
        head = (
            f"The ammeter put {self.piece.electrode} in place {self.ammeter_place} of {self.of}; "
            f"fair, it is in place {self.fair_place}"
        )
        if self.because is None:
            return f"{head}."
        word = CORRECTION_WORDS.get(self.because.what, self.because.what)
        size = f"{100.0 * (self.because.ratio - 1.0):+.0f} %".replace("-", "−")
        return f"{head}, most of all for its {word} (corrected by {size})."


def _ranked(comparison: Comparison) -> list[Piece]:
    return [
        p
        for p in comparison.pieces
        if p.fair.value is not None and not p.control and not p.left_out
    ]


def fair_order(comparison: Comparison) -> list[str]:
    """Electrodes by fair value, best first, without controls and pieces left out."""
    return [p.electrode for p in sorted(_ranked(comparison), key=lambda p: -(p.fair.value or 0.0))]


def ammeter_order(comparison: Comparison) -> list[str]:
    """Electrodes by what the ammeter said, highest first; equal readings keep their order."""
    read = [p for p in _ranked(comparison) if p.ammeter_mA is not None]
    return [p.electrode for p in sorted(read, key=lambda p: -(p.ammeter_mA or 0.0))]


def _away(piece: Piece, others: Sequence[Piece]) -> list[tuple[float, Correction]]:
    """How far each correction of a piece lies, in the log, from the median of the others."""
    found: list[tuple[float, Correction]] = []
    for correction in piece.corrections:
        logs = sorted(
            math.log(c.ratio) for p in others for c in p.corrections if c.what == correction.what
        )
        middle = logs[len(logs) // 2] if logs else 0.0
        found.append((math.log(correction.ratio) - middle, correction))
    return found


def _took_most(piece: Piece, others: Sequence[Piece]) -> Correction | None:
    """The correction that took clearly more from this piece than from the others."""
    taken = [(away, c) for away, c in _away(piece, others) if away < -_CLEARLY]
    return min(taken, key=lambda pair: pair[0])[1] if taken else None


def biggest_fall(comparison: Comparison) -> Fall | None:
    """The electrode that lost most places from the ammeter's ranking to the fair one, if any lost two or more."""
    read, fair = ammeter_order(comparison), fair_order(comparison)
    fair = [name for name in fair if name in read]
    lost = {name: fair.index(name) - read.index(name) for name in read}
    if not lost or max(lost.values()) < 2:
        return None
    pieces = {p.electrode: p for p in _ranked(comparison)}

    def weight(name: str) -> tuple[int, float]:
        others = [p for p in pieces.values() if p.electrode != name]
        found = _took_most(pieces[name], others)
        return (lost[name], -math.log(found.ratio) if found else 0.0)

    name = max(lost, key=weight)
    others = [p for p in pieces.values() if p.electrode != name]
    return Fall(
        piece=pieces[name],
        ammeter_place=places({n: pieces[n].ammeter_mA or 0.0 for n in read})[name],
        fair_place=fair.index(name) + 1,
        of=len(read),
        because=_took_most(pieces[name], others),
    )


def why_it_moved(piece: Piece, others: Sequence[Piece]) -> str:
    """The corrections that moved one electrode clearly against the others, the largest first."""
    found = [(away, c) for away, c in _away(piece, others) if abs(away) > _CLEARLY]
    found.sort(key=lambda pair: -abs(pair[0]))
    said = [
        f"{CORRECTION_WORDS.get(c.what, c.what)} {100.0 * (c.ratio - 1.0):+.0f} %" for _, c in found
    ]
    return "; ".join(said).replace("-", "−") or "as the others"


def who_leads(comparison: Comparison) -> str:
    """Whether the first piece is shown to be ahead of the second, in one sentence.

    The interval is the one that the verdict rests on. "" where the headline is about these two
    pieces already.
    """
    order = fair_order(comparison)
    if len(order) < 2:
        return ""
    first, second = order[:2]
    pair = next((c for c in comparison.contrasts if {c.a, c.b} == {first, second}), None)
    if pair is None or pair.ratio is None or pair.interval_95 is None:
        return ""
    if any(f"{pair.a}{said}{pair.b}" in comparison.headline for said in (" over ", "/")):
        return ""
    ratio, (low, high) = pair.ratio, rested_on(pair) or pair.interval_95
    if pair.a != first:
        ratio, low, high = 1.0 / ratio, 1.0 / high, 1.0 / low
    if comparison.look_level == _USUAL_LEVEL:
        figures = (
            f"{ratio:.2f} times [{low:.2f}, {high:.2f}] the {quantity_of(comparison)} of {second}"
        )
    else:
        figures = (
            f"{ratio:.2f} times the {quantity_of(comparison)} of {second} "
            f"({judged_at(comparison)} interval {low:.2f} to {high:.2f})"
        )
    if pair.verdict is Verdict.SHOWN:
        return f"As pieces, {first} is shown to be ahead: {figures}."
    return f"No single piece is shown to be best: {first} gives {figures}."


def plain_verdict(comparison: Comparison) -> str:
    """The verdict in one sentence for someone who has read nothing else.

    Where a factor was asked for, the sentence says what raising it does; where the headline is about
    a pair, what the one gives beside the other; else the headline stands.
    """
    asked = next((e for e in comparison.effects if e.asked and e.ratio is not None), None)
    if asked is None or asked.interval_95 is None:
        named = next((c for c in comparison.contrasts if _is_named(c, comparison.headline)), None)
        if named is None:
            return _of_many(comparison) or _pieces_alone(comparison) or comparison.headline
        return _pair_sentence(named, comparison)
    equal = asked.verdict is Verdict.EQUIVALENT  # two one-sided tests: twice the level
    level = 100.0 * (1.0 - comparison.look_level * (2.0 if equal else 1.0))
    return _effect_sentence(
        asked, comparison.response, comparison.margin, level, just=only_just(comparison)
    )


def _of_many(comparison: Comparison) -> str:
    """Who is ahead among several recipes of which none is shown to be best, or ""."""
    head = comparison.headline
    pair = next(
        (c for c in comparison.contrasts if f"{c.a} over {c.b}" == comparison.primary), None
    )
    if not head.startswith("No recipe of ") or pair is None or pair.ratio is None:
        return ""
    low, high = rested_on(pair) or (pair.ratio, pair.ratio)
    return (
        f"{head.partition(':')[0]}: {pair.a} gives {pair.ratio:.2f} times the {quantity_of(comparison)} "
        f"of {pair.b}, but anything from {low:.2f} to {high:.2f} times fits the readings."
    )


_NO_RECIPE = "Not shown (recipes): "


def _pieces_alone(comparison: Comparison) -> str:
    """Why nothing is shown of the recipes, and what one piece gives beside another; "" where it is not so."""
    if comparison.ratio is not None or not comparison.headline.startswith(_NO_RECIPE):
        return ""
    pair = next((c for c in comparison.contrasts if c.level is Level.PIECES and c.ratio), None)
    why = comparison.headline.removeprefix(_NO_RECIPE).partition(";")[0].rstrip(".…")
    head = f"It is not shown which recipe is better: {why}."
    if pair is None or rested_on(pair) is None:
        return head
    return f"{head} {_pair_sentence(pair, comparison)}"


def given_word(comparison: Comparison) -> str:
    """What was taken as the same for all on somebody's word, in one sentence, or ""."""
    names = [line.condition for line in comparison.conditions if line.on_word]
    if not names:
        return ""
    was, them = ("was", "it") if len(names) == 1 else ("were", "them")
    return (
        f"This rests on somebody's word: {'; '.join(names)} {was} taken as the same for all, "
        f"and nobody measured {them}."
    )


def _is_named(pair: Contrast, headline: str) -> bool:
    """Whether the headline speaks of this pair, at its level."""
    said = f"({pair.level}): {pair.a} over {pair.b}, ratio" in headline
    return said and pair.ratio is not None and rested_on(pair) is not None


def _pair_sentence(pair: Contrast, comparison: Comparison) -> str:
    """What one of a pair gives beside the other, and whether that is shown."""
    low, high = rested_on(pair) or (0.0, 0.0)
    equal = pair.verdict is Verdict.EQUIVALENT  # two one-sided tests: twice the level
    level = 100.0 * (1.0 - comparison.look_level * (2.0 if equal else 1.0))
    ratio = pair.ratio or 1.0
    figures = f"{ratio:.2f} times, {level:.3g} % interval {low:.2f} to {high:.2f}"
    those = "piece" if pair.level is Level.PIECES else "recipe"
    more = "less" if ratio < 1.0 else "more"
    just = ", only just," if only_just(comparison) and _is_primary(pair, comparison) else ""
    if pair.verdict in (Verdict.SHOWN, Verdict.SHOWN_SMALL):
        small = ", but by less than matters" if pair.verdict is Verdict.SHOWN_SMALL else ""
        return (
            f"It is shown{just} that {those} {pair.a} gives {more} {comparison.response} than {pair.b}{small} "
            f"({figures})."
        )
    if equal:
        barely = ", only just" if just else ""
        return f"For the {comparison.response}, {those}s {pair.a} and {pair.b} do not differ by what matters{barely} ({figures})."
    return (
        f"It is not shown that {those} {pair.a} gives {more} {comparison.response} than {pair.b} "
        f"({figures})."
    )


def _is_primary(pair: Contrast, comparison: Comparison) -> bool:
    return comparison.level is pair.level and comparison.primary == f"{pair.a} over {pair.b}"


def held_back(comparison: Comparison) -> str:
    """Why a difference that its interval would show is not called shown, in one sentence, or ""."""
    asked = next((e for e in comparison.effects if e.asked), None)
    pair = next((c for c in comparison.contrasts if _is_primary(c, comparison)), None)
    one = asked or pair
    if one is None or not one.reason:
        return ""
    low, high = rested_on(one) or (1.0, 1.0)
    if low <= 1.0 <= high:
        return ""
    return f"Its interval keeps clear of 1, but: {one.reason.partition(';')[0]}."


def _effect_sentence(
    effect: Effect, response: str, margin: float, level: float, *, just: bool
) -> str:
    low, high = rested_on(effect) or effect.interval_95 or (0.0, 0.0)
    ratio = effect.ratio or 1.0
    figures = f"{ratio:.2f} times, {level:.3g} % interval {low:.2f} to {high:.2f}"
    step = f"raising the {effect.factor} from {effect.low} to {effect.high}"
    does = "lowers" if ratio < 1.0 else "raises"
    shown = ", only just," if just else ""
    if effect.verdict is Verdict.SHOWN:
        near = high if ratio < 1.0 else low
        small = 1.0 / margin < near < margin
        doubt = "; it may still be less than matters" if small else ""
        return f"It is shown{shown} that {step} {does} the {response} ({figures}){doubt}."
    if effect.verdict is Verdict.SHOWN_SMALL:
        return f"It is shown{shown} that {step} {does} the {response}, but by less than matters ({figures})."
    if effect.verdict is Verdict.EQUIVALENT:
        barely = ", only just" if just else ""
        return f"For the {response}, {step} makes no difference that matters{barely} ({figures})."
    return f"It is not shown that {step} changes the {response} ({figures})."


def why_this_level(comparison: Comparison, said: str) -> str:
    """Why an interval that is quoted is not the usual one of 95 %; "" where it is, or none is quoted.

    Parameters
    ----------
    comparison : Comparison
    said : str
        The sentence that may quote one.
    """
    if comparison.look_level >= _USUAL_LEVEL or "% interval" not in said:
        return ""
    return (
        "The interval is wider than one of 95 % because the answer is looked at more than once "
        "while readings come in: each look gets its share of the one chance in twenty of a wrong alarm."
    )


def judged_at(comparison: Comparison) -> str:
    """The level of the intervals that the verdicts of this look rest on: "95 %", "98.8 %"."""
    return f"{100.0 * (1.0 - comparison.look_level):.3g} %"


def rested_on(one: Effect | Contrast) -> tuple[float, float] | None:
    """The interval that a verdict rests on: for "equivalent" that of the two one-sided tests."""
    equal = one.verdict is Verdict.EQUIVALENT and one.equivalence_interval is not None
    return one.equivalence_interval if equal else one.decision_interval


def quantity_of(comparison: Comparison) -> str:
    """What is compared, without the point where: "current density", "voltage (and power)".

    The response is "current density at 0.45 V".
    """
    return comparison.response.partition(" at ")[0]


def recipes_said(comparison: Comparison) -> str:
    """What each recipe's short name stands for, in one sentence, or ""."""
    said = "; ".join(f"{one.recipe}: {one.words}" for one in comparison.recipes)
    return f"{said}." if said else ""


def together_said(comparison: Comparison) -> str:
    """The nearest pair of inputs that would overturn it together, though neither alone, or ""."""
    if not comparison.together:
        return ""
    first = comparison.together[0]
    parts = [
        f"{name} by {units.plain(change, sign=True)} {unit}".replace("-", "−")
        for name, change, unit in zip(first.inputs, first.changes, first.units, strict=True)
    ]
    return (
        f"Together, though neither alone: {' and '.join(parts)} "
        f"({units.plain(first.in_uncertainties)} uncertainties each) would overturn it."
    )


def what_it_may_be_instead(comparison: Comparison) -> str:
    """What the plan cannot tell from the factor that was asked for, or ""."""
    asked = next((e for e in comparison.effects if e.asked), None)
    if asked is None or not asked.aliases:
        return ""
    others = " or ".join(alias.removeprefix("cannot be told from ") for alias in asked.aliases)
    others = others.replace(" acting together", " together")
    return f"{asked.factor[:1].upper()}{asked.factor[1:]}, or {others}: this plan cannot tell."


def next_act(comparison: Comparison) -> str:
    """The one thing to do next and why, in one sentence, the same wherever it is said; "" for nothing."""
    act = comparison.next_act
    return "" if act is None else f"{act.do}: {act.why}"


def warmth_first(comparison: Comparison) -> str:
    """That the runs were not equally warm, where that alone could overturn the verdict; else ""."""
    doubt = comparison.temperature_doubt
    return doubt.words if doubt is not None and doubt.believable else ""


def undone_by(comparison: Comparison) -> str:
    """What alone undoes what is shown, in one sentence, or "": a believable change of one input, or one more build.

    "" too where `warmth_first` says it: that is the change per kelvin nobody stated.
    """
    if _one_pair(comparison):
        return (
            "Only just: how much builds of one recipe differ is known from one pair alone, and a "
            "pair may lie close together by chance; of results shown so, one more build takes back "
            "about one in four."
        )
    nearest = turns_alone(comparison.verdict, comparison.overturn)
    if nearest is None or (warmth_first(comparison) and nearest.unit == "%/K"):
        return ""
    change = units.plain(nearest.change or 0.0, sign=True).replace("-", "\N{MINUS SIGN}")
    after = f" makes it “{nearest.to_verdict}”" if nearest.to_verdict else " undoes it"
    return (
        f"Only just: {nearest.input} changed by {change} {nearest.unit} "
        f"({units.plain(nearest.in_uncertainties or 0.0)} times its uncertainty) alone{after}."
    )


def only_just(comparison: Comparison) -> bool:
    """Whether one input, changed by a believable amount alone, or one more build may undo what is shown."""
    alone = turns_alone(comparison.verdict, comparison.overturn)
    return alone is not None or _one_pair(comparison)


def _one_pair(comparison: Comparison) -> bool:
    asked = next((e for e in comparison.effects if e.asked), None)
    pair = next((c for c in comparison.contrasts if _is_primary(c, comparison)), None)
    one = asked or pair
    builds = [(p.recipe, p.build) for p in comparison.pieces if not p.left_out]
    return one is not None and on_one_pair(comparison.verdict, one.degrees_of_freedom, builds)


def rests_on(comparison: Comparison) -> str:
    """Which electrodes the verdict cannot do without, in one sentence, or "".

    Where nothing is shown there is nothing to stand: then it is said what leaving one out would make of it.
    """
    lines = [
        one
        for one in comparison.overturn
        if one.change is None and one.to_verdict and one.input.startswith("leaving out ")
    ]
    turned: dict[Verdict | None, list[str]] = {}
    for one in lines:
        turned.setdefault(one.to_verdict, []).append(one.input.removeprefix("leaving out "))
    if not turned:
        return ""
    if lines[0].from_verdict is Verdict.NOT_SHOWN:
        said = [f"without {_any_of(names)} it would be {_IT_WOULD_BE[to]}" for to, names in turned.items() if to in _IT_WOULD_BE]  # fmt: skip
        words = "; ".join(said)
        return f"{words[0].upper()}{words[1:]}." if words else ""
    names = [name for some in turned.values() for name in some]
    return f"Fragile: without {_any_of(names)} it would no longer stand."


_IT_WOULD_BE: dict[Verdict | None, str] = {
    Verdict.SHOWN: "shown",
    Verdict.SHOWN_SMALL: "shown, but smaller than matters",
    Verdict.EQUIVALENT: "shown that they do not differ by what matters",
}
"""What leaving one electrode out makes of a verdict that is not shown."""


def _any_of(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"any one of {_listed(names)}"


def _listed(names: Sequence[str]) -> str:
    return ", ".join(names) if len(names) <= MOST_NAMED else f"{len(names)} electrodes"


def places(values: Mapping[str, float]) -> dict[str, int]:
    """Place of each name, 1 is highest; equal values share a place.

    >>> places({"a": 90.0, "b": 90.0, "c": 80.0})
    {'a': 1, 'b': 1, 'c': 3}
    """
    return {
        name: 1 + sum(other > value for other in values.values()) for name, value in values.items()
    }
