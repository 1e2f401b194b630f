"""A recipe card on one's own bench: matched to the shelf, dosed to the scale, the stock and the area."""

from __future__ import annotations

import difflib
from dataclasses import replace
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import InputError, NotFoundError, some_of
from aerode.records.materials import PowderLot, Solution
from aerode.records.mixes import Mix
from aerode.records.recipes import CardDoses, CardMatch
from aerode.usecases.mix import MixQuestion, mix_with_cautions, new_mix
from aerode.usecases.off_shelf import offered

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from aerode.records.doses import MixAnswer
    from aerode.records.marks import Entry
    from aerode.records.recipes import CardMix, CardPart, RecipeCard
    from aerode.store.bench_file import BenchFile

    Lot = PowderLot | Solution

__all__ = ["dose_card", "match_card"]


def match_card(
    bench: BenchFile, card: RecipeCard, use: Mapping[str, str] | None = None
) -> dict[str, tuple[Lot, CardMatch]]:
    """What of the shelf stands for each part of a card, by what its maker calls it.

    A part is found by its substance and what it does there; what a person says (`use`) goes first.

    Parameters
    ----------
    bench : BenchFile
        Open.
    card : RecipeCard
        The card.
    use : mapping, optional
        Material or substance of the card → name of a powder or a solution of the bench.

    Returns
    -------
    dict
        Material → lot of the bench, and how the two differ.

    Raises
    ------
    NotFoundError
        Parts for which nothing stands on the shelf, or more than one thing; all are named.
    """
    shelf: list[Lot] = [*offered(bench, PowderLot), *offered(bench, Solution)]
    told = dict(use or {})
    found: dict[str, tuple[Lot, CardMatch]] = {}
    lacking: list[str] = []
    parts = {part.material: part for mix in card.mixes for part in mix.dry}
    _refuse_strange(told, parts.values(), shelf)
    for material, part in parts.items():
        lots = _fitting(part, shelf, told)
        if len(lots) == 1:
            found[material] = (lots[0], _match(part, lots[0]))
        elif lots:
            names = ", ".join(repr(lot.name) for lot in lots)
            lacking.append(f"{part.substance} ({part.function}): more than one fits: {names}")
        else:
            lacking.append(f"{part.substance} ({part.function}), there called {material!r}: none")
    if lacking:
        known = ", ".join(lot.name for lot in shelf) or "nothing yet"
        raise NotFoundError(
            "this shelf does not decide on every part of the card: " + "; ".join(lacking),
            where=bench.label, allowed=f"powders and solutions of this bench: {known}",
            next_step='say what stands for it: --use "SUBSTANCE=NAME OF YOUR LOT"',
        )  # fmt: skip
    return found


def _refuse_strange(
    told: Mapping[str, str], parts: Iterable[CardPart], shelf: Sequence[Lot]
) -> None:
    """A name in `use` that is on neither side is a slip."""
    every = [word for part in parts for word in (part.material, part.substance)]
    names = [lot.name for lot in shelf]
    for word, lot in told.items():
        for name, known, what in (
            (word, every, "part of the card"),
            (lot, names, "lot of this bench"),
        ):
            if name not in known:
                near = difflib.get_close_matches(name, known, n=3) or dict.fromkeys(known)
                raise NotFoundError(
                    f"no {what} is called {name!r}", where="--use", allowed=some_of(near, 8)
                )


def _substance(lot: Lot) -> str:
    return lot.substance if isinstance(lot, PowderLot) else lot.polymer


def _fitting(part: CardPart, shelf: Sequence[Lot], told: Mapping[str, str]) -> list[Lot]:
    said = told.get(part.material) or told.get(part.substance)
    if said:
        return [lot for lot in shelf if lot.name == said][:1]
    same = [lot for lot in shelf if _substance(lot).casefold() == part.substance.casefold()]
    doing = [lot for lot in same if lot.function.value == part.function]
    return doing or same


def _match(part: CardPart, lot: Lot) -> CardMatch:
    differs: list[str] = []
    if _substance(lot).casefold() != part.substance.casefold():
        differs.append(f"{_substance(lot)} in the place of {part.substance}")
    if lot.function.value != part.function:
        differs.append(f"entered as {lot.function.value}, there it is {part.function}")
    if isinstance(lot, Solution):
        theirs = part.plasticiser_share.value if part.plasticiser_share else 0.0
        mine = lot.plasticiser.value if lot.plasticiser else None
        if mine is None and theirs:
            differs.append(
                f"there {100 * theirs:.0f} % of it is plasticiser, of yours it is not known"
            )
        elif mine is not None and abs(mine - theirs) > 0.02:
            differs.append(f"plasticiser {100 * mine:.0f} %, there {100 * theirs:.0f} %")
    return CardMatch(part=part.material, taken=lot.name, differs="; ".join(differs))


def dose_card(
    bench: BenchFile,
    card: RecipeCard,
    question: MixQuestion,
    *,
    use: Mapping[str, str] | None = None,
    name: str = "",
    room: str = "",
    who: str = "",
) -> CardDoses:
    """Dose a card on this bench; its mixes stand on it from then on, as wanted shares.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    card : RecipeCard
        The card.
    question : MixQuestion
        Area, loading, electrodes, spare, scale, solids; where area, loading or solids are not
        said, those of the card hold.
    use : mapping, optional
        Material or substance of the card → name of a powder or a solution of this bench.
    name : str
        Under which the mix is stored; the name on the card otherwise.
    room : str
        Where it is mixed; the only room of the bench otherwise.
    who : str
        For the history.

    Returns
    -------
    CardDoses

    Raises
    ------
    NotFoundError
        A part for which nothing stands on the shelf.
    InputError
        The name is taken by another mix; no area or no loading, on the card neither.
    StoppedError
        A STOP of this bench waits for its acknowledgement.
    """
    matches = match_card(bench, card, use)
    if not card.mixes:
        raise InputError("no mix is on this card: there is nothing to dose", where=card.name)
    asked = {mix.name: _question(card, mix, question) for mix in card.mixes}
    answers: list[MixAnswer] = []
    stored: list[str] = []
    notes: list[str] = []
    for mix in card.mixes:
        called = _name(card, mix, name)
        told = asked[mix.name]
        _store(bench, called, card, mix, matches, who)
        try:
            answer, _ = mix_with_cautions(bench, called, told, room=room)
        except InputError as error:
            if question.solids or not told.solids:
                raise
            answer, _ = mix_with_cautions(bench, called, replace(told, solids=""), room=room)
            notes.append(
                f"{called}: {told.solids} solids as on the card cannot be had: {error.what}"
            )
        answers.append(answer)
        stored.append(called)
    pieces = "one electrode" if question.electrodes == 1 else f"{question.electrodes} electrodes"
    return CardDoses(
        headline=f"Dosed {card.name} for {pieces} from this shelf: {', '.join(stored)}",
        card=card.name,
        matches=tuple(match for _, match in matches.values()),
        mixes=tuple(answers),
        notes=tuple(notes),
        stored=tuple(stored),
        steps=card.steps,
        cautions=card.cautions,
    )


def _name(card: RecipeCard, mix: CardMix, name: str) -> str:
    if not name:
        return mix.name
    return name if len(card.mixes) == 1 else f"{name} {mix.name}"


def _wanted(mix: CardMix, matches: Mapping[str, tuple[Lot, CardMatch]]) -> list[str]:
    """The shares as `new_mix` reads them; the largest takes what rounding left over."""
    largest = max(mix.dry, key=lambda part: part.share.value)
    others = sum(round(part.share.value, 12) for part in mix.dry if part is not largest)
    texts: list[str] = []
    for part in mix.dry:
        lot = matches[part.material][0]
        shelf = "powder" if isinstance(lot, PowderLot) else "solution"
        share = max(0.0, 1.0 - others) if part is largest else part.share.value
        texts.append(f"{shelf}:{lot.name}={100 * share:.10g} %")
    return texts


def _store(
    bench: BenchFile, called: str, card: RecipeCard, mix: CardMix,
    matches: Mapping[str, tuple[Lot, CardMatch]], who: str,
) -> None:  # fmt: skip
    """The mix as wanted shares; the same card taken up once more changes nothing."""
    note = f"from the recipe card {card.name}" + (
        f", state {card.state[:12]}" if card.state else ""
    )
    there = bench.find(Mix, called)
    if there is not None:
        if there.note != note:
            raise InputError(
                f"a mix {called!r} is on this bench already, and it is another one", where="--as",
                allowed="a name that is free", next_step="take the card up under another name: --as NAME",
            )  # fmt: skip
        return
    new_mix(bench, called, wanted=_wanted(mix, matches), note=note, who=who)


def _question(card: RecipeCard, mix: CardMix, question: MixQuestion) -> MixQuestion:
    """What is asked, with what the card says where nothing was said."""
    loadings = [s.loading for s in card.steps if s.loading is not None and s.mix == mix.name]
    said = {
        "area": question.area or _text(card.area, "m^2"),
        "loading": question.loading or _text(loadings[0] if loadings else None, "kg/m^2"),
        "solids": question.solids or _text(mix.solids_fraction, ""),
    }
    for field in ("area", "loading"):
        if not said[field]:
            raise InputError(
                f"the card says no {field}", where=f"--{field}",
                allowed='as in --area "9 cm^2" --loading "25 mg/cm^2"', next_step=f"add --{field}",
            )  # fmt: skip
    return replace(question, **said)


def _text(entry: Entry | None, unit: str) -> str:
    """A value without its uncertainty, as it would be typed."""
    if entry is None:
        return ""
    if not unit:
        return f"{100 * entry.value:.6g} %"
    return units.write(entry.value, unit, to={"m^2": "cm^2", "kg/m^2": "mg/cm^2"}[unit], digits=6)
