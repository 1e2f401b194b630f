"""A mix or a batch as the texts of its form, and back: a row that nobody touched keeps its digits."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from aerode import units
from aerode.errors import AerodeError, FieldFault, NotFoundError, RecordError, UnitError
from aerode.measure.mix.completing import complete
from aerode.records import adapter
from aerode.records.mixes import Batch, Ingredient, Mix, Portion
from aerode.usecases.bench_fields import plain_record
from aerode.usecases.entering import texts_of
from aerode.usecases.mix import read_wanted, scale_of, shelf_of
from aerode.usecases.mix_which_holds import settle
from aerode.usecases.mix_whole import is_worked_out, whole_values
from aerode.usecases.pot_plan import as_planned, is_as_planned, is_none

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from aerode.measure.mix.lots import Shelf
    from aerode.store.bench_file import BenchFile

__all__ = [
    "UNNAMED",
    "MixDraft",
    "MixRow",
    "TypedMix",
    "behind_amounts",
    "read_batch",
    "read_mix",
    "typed_batch",
    "typed_mix",
]

UNNAMED = "this mix"
"""What a mix is called that has no name yet."""
_REST = "rest"
_BEHIND = re.compile(r"\s*(?=±|\()")


@dataclass(frozen=True, slots=True, kw_only=True)
class MixRow:
    """One row of the form: what, how much goes in ("12.0 g", "30 mL"), or what share is wanted."""

    of: str = ""
    amount: str = ""
    share: str = ""

    @property
    def blank(self) -> bool:
        """Nothing was typed in it."""
        return not (self.of.strip() or self.amount.strip() or self.share.strip())


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedMix:
    """A mix, or a batch of one, as it stands in its form."""

    name: str = ""
    rows: tuple[MixRow, ...] = ()
    solids: str = ""
    after: str = ""
    note: str = ""
    mix: str = ""
    """Of a batch: the mix it is a pot of."""
    made: str = ""
    rested: str = ""
    holds: str = ""
    """Which of amounts and shares was said to hold (`aerode.usecases.mix_which_holds`)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MixDraft:
    """The mix that was typed, or what of it cannot be taken yet; fields are "rows.2.amount"."""

    mix: Mix | None
    faults: tuple[FieldFault, ...] = ()
    told: str = ""
    """Which amounts or shares follow the others, where both were there."""
    ask: str = ""
    """How amounts and shares disagree, where it is open which holds; in `mix` the shares do."""


def typed_mix(mix: Mix) -> TypedMix:
    """A stored mix as the texts of its form.

    Parameters
    ----------
    mix : Mix

    Returns
    -------
    TypedMix
        One row for each ingredient, with what went in and what was wanted side by side, as they
        were typed: what was worked out from the rest of them is left empty, and a rest stays "rest".

    Examples
    --------
    >>> from aerode.records.marks import Share
    >>> typed_mix(Mix(name="T5", wanted=(Share(of="char", fraction=1.0),))).rows
    (MixRow(of='char', amount='', share='100 %'),)
    """
    wanted = _typed_shares(mix)
    rows = [
        MixRow(
            of=of, amount="" if is_worked_out(portion) else amount, share=wanted.pop(portion.of, "")
        )
        for portion, (of, amount) in zip(mix.portions, _amounts(mix), strict=True)
    ]
    rows += [MixRow(of=of, share=share) for of, share in wanted.items()]
    texts = texts_of(mix)
    return TypedMix(
        name=mix.name, rows=tuple(rows), solids=texts.get("solids_fraction", ""), after=mix.after,
        note=mix.note,
    )  # fmt: skip


def _typed_shares(mix: Mix) -> dict[str, str]:
    """The wanted shares as they were typed; "" for those that follow from amounts."""
    weighed = {portion.of for portion in mix.portions if not is_worked_out(portion)}
    found: dict[str, str] = {}
    for share in mix.wanted:
        if share.of not in mix.rest:
            found[share.of] = f"{100 * share.fraction:.10g} %"
        elif share.of in weighed and len(mix.rest) > 1:
            found[share.of] = ""
        else:
            found[share.of] = _REST
    return found


def typed_batch(batch: Batch) -> TypedMix:
    """A stored batch as the texts of its form: every planned ingredient has its row.

    What was not weighed is left empty, as it was typed; what was planned and did not go in is 0.
    """
    texts = texts_of(batch)
    told = zip(_amounts(batch), batch.portions, strict=True)
    rows = tuple(
        MixRow(of=of, amount="" if is_as_planned(p) else amount) for (of, amount), p in told
    )
    there = {portion.of for portion in batch.portions}
    none = "0 g" if batch.portions else ""
    rows += tuple(MixRow(of=p.of, amount=none) for p in batch.planned if p.of not in there)
    return TypedMix(
        name=batch.name, rows=rows, note=batch.note, mix=batch.mix, made=batch.made,
        rested=texts.get("rested", ""),
    )  # fmt: skip


def _amounts(record: Mix | Batch) -> list[tuple[str, str]]:
    """Name and amount of each portion, as they are typed: what is behind the amount is not of the box."""
    return [(of, _BEHIND.split(text, maxsplit=1)[0]) for of, text in _said(record)]


def _said(record: Mix | Batch) -> list[tuple[str, str]]:
    """Name and whole text of each amount."""
    found: list[tuple[str, str]] = []
    for portion in record.portions:
        text = texts_of(replace(record, portions=(portion,)))["portions"]
        found.append((portion.of, text.removeprefix(f"{portion.shelf.value} {portion.of}: ")))
    return found


def behind_amounts(record: Mix | Batch) -> dict[str, str]:
    """How well each amount is known and how it was found, for beside its box.

    Examples
    --------
    >>> from aerode.records.marks import Entry
    >>> entry = Entry(value=2e-3, standard_uncertainty=1e-5, text="2 g ± 0.01 g", how="kitchen scale")
    >>> behind_amounts(Mix(name="T5", portions=(Portion(of="char", mass=entry),)))
    {'char': '± 0.01 g (kitchen scale)'}
    """
    told = {of: text[len(_BEHIND.split(text, maxsplit=1)[0]) :].strip() for of, text in _said(record)}  # fmt: skip
    return {of: _bare(text) for of, text in told.items() if text}


def _bare(text: str) -> str:
    """Without brackets around the whole."""
    return text[1:-1] if text.startswith("(") and text.find(")") == len(text) - 1 else text


def read_mix(bench: BenchFile, typed: TypedMix, standing: Mix | None = None) -> MixDraft:
    """The mix that was typed.

    Parameters
    ----------
    bench : BenchFile
        Open; only its shelf is read.
    typed : TypedMix
        The texts of the form. One share may be "rest".
    standing : Mix, optional
        The mix that is changed: a row that nobody touched keeps all its digits.

    Returns
    -------
    MixDraft
        The mix, or every fault with its field.
    """
    shelf = shelf_of(bench)
    portions, faults = _portions(typed, shelf, standing)
    base = standing or bench.find(Mix, typed.after.strip())
    shares, more = _shares(typed, shelf, standing, base)
    faults += more
    values: dict[str, Any] = {"name": typed.name.strip() or UNNAMED}
    if typed.solids.strip():
        values["solids_fraction"] = typed.solids.strip()
    plain, found = plain_record(Mix, values)
    if standing is not None and typed.solids.strip() == texts_of(standing).get("solids_fraction"):
        plain["solids_fraction"], found = adapter.write(standing.solids_fraction), []
    faults += [replace(f, field="solids") for path, f in found if path[0] == "solids_fraction"]
    if typed.after.strip() and bench.find(Mix, typed.after.strip()) is None:
        faults.append(_fault("after", f"no mix is called {typed.after.strip()!r} here", "a mix of this bench"))  # fmt: skip
    if not faults and not portions and not shares:
        faults.append(_fault("rows", "the mix holds nothing yet", "one ingredient with its amount"))
    told = ask = ""
    if not faults:
        whole, faults, told, ask = _whole(bench, typed, portions, shares, shelf, standing)
        plain |= whole
    if faults:
        return MixDraft(mix=None, faults=tuple(faults))
    plain |= {"after": typed.after.strip(), "note": typed.note.strip()}
    try:
        return MixDraft(mix=adapter.read(Mix, plain, where="mix"), told=told, ask=ask)
    except RecordError as error:
        return MixDraft(mix=None, faults=tuple(error.faults))


def _fault(field: str, what: str, allowed: str, raw: str = "") -> FieldFault:
    return FieldFault(field, what, allowed, raw)


def _portions(
    typed: TypedMix, shelf: Shelf, standing: Mix | Batch | None
) -> tuple[list[Any], list[FieldFault]]:
    """The portions as plain values; a row that is as it was stored keeps what was stored."""
    shown = dict(zip(_amounts(standing), standing.portions, strict=True)) if standing else {}
    plain: list[Any] = []
    faults: list[FieldFault] = []
    for number, row in enumerate(typed.rows):
        of, amount = row.of.strip(), row.amount.strip()
        if row.blank:
            continue
        if not of:
            faults.append(_fault(f"rows.{number}.of", "the name of the ingredient is missing", "a name on the shelf"))  # fmt: skip
            continue
        if amount and (of, amount) in shown:
            plain.append(adapter.write(shown[of, amount]))
            continue
        try:
            place, name = _place(of, shelf)
        except AerodeError as error:
            allowed = error.allowed or "a name on the shelf"
            faults.append(_fault(f"rows.{number}.of", error.what, allowed, of))
            continue
        if amount:
            values, found = _portion(name, place, amount)
            faults += [replace(f, field=f"rows.{number}.amount") for f in found]
            plain.append(values)
        elif not row.share.strip():
            faults.append(_fault(f"rows.{number}.amount", f"{of}: how much goes in is missing", "12.0 g or 30 mL"))  # fmt: skip
    return plain, faults


def _portion(name: str, place: Ingredient, amount: str) -> tuple[Any, list[FieldFault]]:
    """One portion as plain values: a volume where its unit is one, else a mass."""
    try:
        unit = units.read_number(re.split(r"±|\(", amount)[0])[1]
    except UnitError:
        unit = ""  # what it is is said when the mass is read
    part = "volume" if unit and _is_volume(unit) else "mass"
    plain, found = plain_record(Portion, {"of": name, "shelf": place.value, part: amount})
    return plain, [fault for _, fault in found]


def _is_volume(unit: str) -> bool:
    try:
        return units.same_kind(unit, "m^3")
    except UnitError:
        return False


def _place(of: str, shelf: Shelf) -> tuple[Ingredient, str]:
    kind, colon, rest = of.partition(":")
    if colon and kind.strip() in {one.value for one in Ingredient}:
        return Ingredient(kind.strip()), rest.strip()
    return shelf.place_of(of), of


def _shares(
    typed: TypedMix, shelf: Shelf, standing: Mix | None, base: Mix | None
) -> tuple[dict[str, float | None], list[FieldFault]]:
    """The wanted shares by name; one that nobody touched keeps all its digits."""
    texts = _typed_shares(standing) if standing else {}
    shown = {(s.of, texts[s.of]): s.fraction for s in standing.wanted} if standing else {}
    asked = {n: row for n, row in enumerate(typed.rows) if row.share.strip() and row.of.strip()}
    shares: dict[str, float | None] = {}
    faults: list[FieldFault] = []
    for number, row in asked.items():
        of, text = row.of.strip(), row.share.strip()
        try:
            if text.casefold() != _REST:  # said of the field, before it is read beside its name
                units.read(text, "", bare=("", "%"), plausible=(0.0, 1.0), field="share")
                if two := _two_ways(text):
                    faults.append(_fault(f"rows.{number}.share", f"{text} may be {two[0]} or {two[1]}", f"{two[0]} or {two[1]}, with its sign", text))  # fmt: skip
                    continue
            (name, share), *_ = read_wanted([f"{of}={text}"], shelf).items()
        except NotFoundError:  # told at the name of its row
            continue
        except AerodeError as error:
            allowed = f"{error.allowed}; or type “rest” as one of them" if error.allowed else ""
            faults.append(_fault(f"rows.{number}.share", error.what, allowed, text))
            continue
        if name in shares:
            faults.append(_fault(f"rows.{number}.share", f"a share of {of} stands twice", "one share", text))  # fmt: skip
        shares[name] = shown.get((of, text), share) if share is not None else None
    total = sum(share for share in shares.values() if share is not None)
    if not faults and total > 1.0 + 1e-6:
        over = f"{100 * (total - 1.0):.4g}"
        faults += [
            _fault(f"rows.{n}.share", f"the shares add up to {100 * total:.4g} %", f"100 % together: take {over} off another, or type “rest” in one")
            for n in _changed(asked, shares, base)
        ]  # fmt: skip
    return shares, faults


def _changed(
    asked: Mapping[int, MixRow], shares: Mapping[str, float | None], base: Mix | None
) -> list[int]:
    """The rows whose share is larger than it was; the last one where none is."""
    before = {s.of: s.fraction for s in base.wanted} if base else {}
    names = {n: row.of.strip().rpartition(":")[2].strip() for n, row in asked.items()}
    larger = [n for n, of in names.items() if before and (shares.get(of) or 0.0) > before.get(of, 0.0) + 1e-6]  # fmt: skip
    return larger or [max(asked)]


def _two_ways(text: str) -> tuple[str, str] | None:
    """A bare number up to 1 in a field of per cent, once as per cent and once as a part of 1."""
    value, unit = units.read_number(re.split(r"±|\(", text)[0])
    if unit or not 0.0 < value <= 1.0:
        return None
    return f"{value:.10g} %", f"{100.0 * value:.10g} %"


def _whole(
    bench: BenchFile, typed: TypedMix, portions: list[Any], shares: dict[str, float | None], shelf: Shelf,
    standing: Mix | None,
) -> tuple[dict[str, Any], list[FieldFault], str, str]:  # fmt: skip
    """Portions, shares and rest as plain values, with what follows from the others filled in.

    Beside them which follow the others, in words, and how the two disagree where that is open.
    """
    if standing is not None and _filled(typed) == _filled(typed_mix(standing)):
        return (
            {
                "portions": [adapter.write(portion) for portion in standing.portions],
                "wanted": [adapter.write(share) for share in standing.wanted],
                "rest": list(standing.rest),
            },
            [],
            "",
            "",
        )
    base = standing or bench.find(Mix, typed.after.strip())
    try:
        order = [row.of.strip().rpartition(":")[2].strip() for row in typed.rows if row.of.strip()]
        read = [adapter.read(Portion, one) for one in portions]
        one = settle(read, shares, shelf, scale_of(bench, "")[0], base=base, copied=standing is None, holds=typed.holds)  # fmt: skip
        whole = complete(one.portions, one.shares, shelf, order=order)
    except AerodeError as error:
        return {}, [_fault(_row_of(typed, error), error.what, _allowed(error))], "", ""
    return whole_values(whole), [], one.told, one.ask


def _filled(typed: TypedMix) -> list[tuple[str, str, str]]:
    rows = [row for row in typed.rows if not row.blank]
    return [(row.of.strip(), row.amount.strip(), row.share.strip()) for row in rows]


def _row_of(typed: TypedMix, error: AerodeError) -> str:
    """The field of the row that a refusal is about; the last share where it names none."""
    rows = [(n, row) for n, row in enumerate(typed.rows) if not row.blank]
    named = [
        (n, row) for n, row in rows if row.of.strip().rpartition(":")[2].strip() == error.where
    ]
    number, row = (named or rows)[-1]
    return f"rows.{number}.{'share' if row.share.strip() or not row.amount.strip() else 'amount'}"


def _allowed(error: AerodeError) -> str:
    return "; ".join(filter(None, [error.allowed, error.next_step]))


def read_batch(
    bench: BenchFile,
    typed: TypedMix,
    standing: Batch | None = None,
    planned: tuple[Portion, ...] = (),
) -> tuple[Batch | None, tuple[FieldFault, ...]]:
    """The batch that was typed: an empty amount is as planned, 0 says that none went in.

    Parameters
    ----------
    bench : BenchFile
        Open; only its shelf is read.
    typed : TypedMix
        The texts of the form.
    standing : Batch, optional
        The batch that is changed.
    planned : tuple of Portion
        What was to be weighed, as `aerode.usecases.pot_plan.plan_of` gives it.

    Returns
    -------
    tuple
        The batch, or None and every fault with its field.
    """
    weighed = [
        n for n, row in enumerate(typed.rows) if row.amount.strip() and not is_none(row.amount)
    ]
    rows = tuple(typed.rows[n] for n in weighed)
    portions, faults = _portions(replace(typed, rows=rows), shelf_of(bench), standing)
    faults = [replace(f, field=_moved(f.field, weighed)) for f in faults]
    mix = typed.mix.strip()
    recipe = bench.find(Mix, mix)
    noted = any(row.amount.strip() for row in typed.rows)
    if not faults and (noted or planned != (recipe.portions if recipe else ())):
        portions, faults = _with_the_planned(typed, portions, planned)
    values = {"name": typed.name.strip() or UNNAMED, "mix": mix, "rested": typed.rested.strip()}
    plain, found = plain_record(Batch, {key: text for key, text in values.items() if text})
    faults += [fault for _, fault in found]
    if recipe is None:
        faults.append(_fault("mix", f"no mix is called {mix!r} here", "a mix of this bench", mix))
    if faults:
        return None, tuple(faults)
    plain |= {"portions": portions, "made": typed.made.strip(), "note": typed.note.strip()}
    same = standing is not None and _filled(typed) == _filled(typed_batch(standing))
    kept = standing.planned if standing is not None and same else planned if portions else ()
    plain["planned"] = [adapter.write(one) for one in kept]
    try:
        return adapter.read(Batch, plain, where="batch"), ()
    except RecordError as error:
        return None, tuple(error.faults)


def _with_the_planned(
    typed: TypedMix, portions: list[Any], planned: Sequence[Portion]
) -> tuple[list[Any], list[FieldFault]]:
    """The portions in the order of the rows, with the planned amount where none was typed."""
    weighed = [adapter.read(Portion, one) for one in portions]
    plan, told = {one.of: one for one in planned}, iter(portions)
    filled: list[Any] = []
    faults: list[FieldFault] = []
    for number, row in enumerate(typed.rows):
        if not row.of.strip() or is_none(row.amount):
            continue
        if row.amount.strip():
            filled.append(next(told))
        elif one := plan.get(row.of.strip().rpartition(":")[2].strip()):
            filled.append(adapter.write(as_planned(one, weighed, planned)))
        elif weighed:
            what = f"{row.of.strip()}: how much went in is missing, and the mix says no amount"
            faults.append(_fault(f"rows.{number}.amount", what, "what was weighed, as in 12.0 g, or 0 if none went in"))  # fmt: skip
    if typed.rows and not filled and not faults and any(is_none(row.amount) for row in typed.rows):
        faults.append(_fault("rows.0.amount", "nothing went in", "one amount above 0"))
    return filled, faults


def _moved(field: str, places: Sequence[int]) -> str:
    """The field of a row counted among all rows, from its place among those that were weighed."""
    stem, number, part = field.split(".")
    return f"{stem}.{places[int(number)]}.{part}"
