"""Ask for a property of a substance in a state, with its source, range and status."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from aerode import properties, reference, units
from aerode.errors import InputError, RangeError, ReferenceDataError
from aerode.properties.answers import PropertyAnswer, si_unit, si_value
from aerode.records.properties import (
    HoldsFor,
    OtherFigure,
    PropertySheet,
)
from aerode.reference.process_figures import process_rows, process_sources
from aerode.usecases.property_words import WORKED_OUT, Asked, cut, known_words, word_of, worked_out

if TYPE_CHECKING:
    from collections.abc import Mapping

    from aerode.reference import PublishedRow

__all__ = ["PropertyQuestion", "property_of"]

_ROOM = 298.15  # K: taken where a temperature is needed and none was said, and then said
_STRENGTHS = {
    "mass_fraction": ("", ("",)),
    "molality": ("mol/kg", ("mol/kg",)),
    "molarity": ("mol/m^3", ("mol/L",)),
    "grams_per_100_ml_water": ("g", ("g",)),
    "practical_salinity": ("", ("",)),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PropertyQuestion:
    """What is asked, as typed; "" where it was not said.

    `strength` maps "mass_fraction", "molality", "molarity", "grams_per_100_ml_water" or
    "practical_salinity" to its text. `solvents` are texts as "ethanol" or "toluene=0.6".
    """

    quantity: str
    of: str
    temperature: str = ""
    pressure: str = ""
    strength: Mapping[str, str]
    source: str = ""
    product: str = ""
    solvents: tuple[str, ...] = ()
    unit: str = ""
    conditions: tuple[str, ...] = ()
    """Words the row's condition must hold, as in "body=NIOSH REL"."""


def _solvents(texts: tuple[str, ...]) -> dict[str, float]:
    shares: dict[str, float] = {}
    for text in texts:
        name, mark, share = text.partition("=")
        shares[reference.resolve(name)] = units.read(share, "", field="in").value if mark else 1.0
    return shares


def _asked(question: PropertyQuestion, understood: list[str]) -> Asked:
    def read(text: str, unit: str, field: str, bare: tuple[str, ...] = ()) -> float | None:
        if not text.strip():
            return None
        typed = units.read(text, unit, bare=bare, field=field)
        understood.append(f"{field.replace('_', ' ')}: {typed.understood}")
        return typed.value

    strength: dict[str, float] = {}
    for word, text in question.strength.items():
        unit, bare = _STRENGTHS[word]
        value = read(text, unit, word, bare)
        if value is not None:
            strength[word] = value
    return Asked(
        of=question.of,
        temperature=read(question.temperature, "K", "temperature"),
        pressure=read(question.pressure, "Pa", "pressure"),
        strength=strength,
        product=question.product,
        solvents=_solvents(question.solvents),
    )


def _conditions(texts: tuple[str, ...]) -> dict[str, str]:
    found: dict[str, str] = {}
    for text in texts:
        word, mark, said = text.partition("=")
        found[word.strip()] = said.strip() if mark else word.strip()
    return found


def _looked_up(asked: Asked, word: str, source: str, conditions: dict[str, str]) -> PropertyAnswer:
    special = None if source or conditions else worked_out(asked, word)
    if special is not None:
        return special
    if not source and word == "conductivity" and _is_calibration(asked):
        found = worked_out(asked, "calibration_conductivity")
        assert found is not None
        return found
    strength: dict[str, Any] = dict(asked.strength)
    return properties.lookup(
        asked.of, word, source=source, temperature=asked.temperature, conditions=conditions,
        **strength,
    )  # fmt: skip


def _is_calibration(asked: Asked) -> bool:
    return (
        set(asked.strength) == {"molality"} and reference.resolve(asked.of) == "potassium chloride"
    )


def property_of(question: PropertyQuestion) -> PropertySheet:
    """One property of one substance, with all that stands behind it.

    Parameters
    ----------
    question : PropertyQuestion
        As typed.

    Returns
    -------
    PropertySheet
        The value in SI, never clipped: outside the valid range `warnings` names the range. Where
        a temperature is needed and none was said, 25 degC is taken and said.

    Raises
    ------
    ReferenceDataError
        An unknown quantity, substance or source; near ones are named.
    InputError
        Something typed cannot be taken, or a strength is missing.

    Examples
    --------
    >>> sheet = property_of(PropertyQuestion(
    ...     quantity="density", of="NaCl", temperature="20 degC", strength={"mass_fraction": "10 %"}))
    >>> round(sheet.value, 1), sheet.unit, sheet.status
    (1070.8, 'kg/m^3', 'verified')
    """
    word = word_of(question.quantity)
    understood: list[str] = []
    asked = _asked(question, understood)
    conditions = _conditions(question.conditions)
    asked, answer, extra = _answered(asked, word, question.source, conditions)
    return _sheet(question, word, asked, answer, extra, tuple(understood))


def _answered(
    asked: Asked, word: str, source: str, conditions: dict[str, str]
) -> tuple[Asked, PropertyAnswer, tuple[str, ...]]:
    """The answer; at 25 degC, and saying so, where only a temperature was missing."""
    if asked.temperature is not None:
        return asked, _looked_up(asked, word, source, conditions), ()
    warm, said = replace(asked, temperature=_ROOM), ("no temperature was given: 25 degC is taken",)
    try:
        answer = _looked_up(asked, word, source, conditions)
    except RangeError as problem:
        if problem.where != "temperature":
            raise
        return warm, _looked_up(warm, word, source, conditions), said
    if answer.quantity.value is not None:
        return asked, answer, ()
    at_room = _looked_up(warm, word, source, conditions)
    return (asked, answer, ()) if at_room.quantity.value is None else (warm, at_room, said)


def _named(of: str) -> str:
    try:
        return reference.resolve(of)
    except ReferenceDataError:
        return of


def _state(asked: Asked) -> dict[str, float]:
    state = dict(asked.strength)
    if asked.temperature is not None:
        state["temperature"] = asked.temperature
    if asked.pressure is not None:
        state["pressure"] = asked.pressure
    return state


def _full_state(asked: Asked) -> dict[str, float]:
    """The state with every way of saying the strength, for the table of ranges."""
    state = _state(asked)
    if asked.strength and asked.temperature is not None and _named(asked.of) in properties.SALTS:
        try:
            brine = properties.solution(asked.of, asked.temperature, **dict(asked.strength))
            state |= {"mass_fraction": brine.mass_fraction, "molality": brine.molality}
            state |= {"molarity": brine.molarity, "salinity": 1e3 * brine.mass_fraction}
        except (InputError, ReferenceDataError):
            return state
    return state


def _sheet(
    question: PropertyQuestion,
    word: str,
    asked: Asked,
    answer: PropertyAnswer,
    extra: tuple[str, ...],
    understood: tuple[str, ...],
) -> PropertySheet:
    quantity = answer.quantity
    full = _full_state(asked)
    row = _row_behind(asked, word, answer)
    if quantity.value is None and row is not None and row.coefficients:
        return _of_coefficients(word, asked, row, understood)
    spans = tuple(
        HoldsFor(
            variable=span.variable,
            low=span.low,
            high=span.high,
            unit="" if span.unit == "1" else span.unit,
            asked=full.get(span.variable),
            holds=span.holds(full[span.variable]) if span.variable in full else None,
        )
        for span in answer.valid_range
    )
    return PropertySheet(
        headline=_headline(question, word, asked, answer, row),
        quantity=word,
        means=known_words()[word],
        substance=_named(asked.of),
        state=_state(asked),
        value=quantity.value,
        unit=quantity.unit,
        standard_uncertainty=quantity.standard_uncertainty,
        interval=quantity.interval_95,
        reason=quantity.reason,
        source=quantity.source,
        source_text=_source_text(quantity.source),
        place=answer.place,
        condition=answer.condition,
        range=spans,
        status=answer.status.value,
        basis=quantity.basis,
        warnings=(*answer.warnings, *extra),
        note=answer.note,
        others=_others(asked, word, quantity.source),
        understood=understood,
    )


def _source_text(key: str) -> str:
    if not key:
        return ""
    entry = process_sources().get(key) or reference.source(key)
    return str(entry).removeprefix(": ")


def _bound(answer: PropertyAnswer) -> str:
    """What a source gives where it gives no number: "at most 383.15 K"."""
    said = answer.quantity.reason or ""
    return said.removeprefix("the source gives ") if said.startswith("the source gives ") else ""


def _row_behind(asked: Asked, word: str, answer: PropertyAnswer) -> PublishedRow | None:
    """The row of the tables that an answer was read from, or, for none, the first with coefficients."""
    if asked.strength or word not in reference.quantity_words() or word in WORKED_OUT:
        return None
    try:
        rows = reference.select(asked.of, word)
    except ReferenceDataError:
        return None
    if answer.quantity.value is None:
        return next((row for row in rows if row.coefficients), None)
    same = (answer.quantity.source, answer.condition, answer.place)
    return next((row for row in rows if (row.source, row.condition, row.place) == same), None)


def _of_coefficients(
    word: str, asked: Asked, row: PublishedRow, understood: tuple[str, ...]
) -> PropertySheet:
    """A figure that is a set of numbers: the parts of a solubility parameter, an equation."""
    parts = ", ".join(f"{name.replace('_', ' ')} {value:g}" for name, value in row.coefficients)
    unit = "" if row.unit == "1" else f" {row.unit}"
    name = f"{word.replace('_', ' ')} of {_named(asked.of)}"
    return PropertySheet(
        headline=cut(f"{name}: {parts}{unit}"),
        quantity=word,
        means=known_words()[word],
        substance=_named(asked.of),
        state=_state(asked),
        value=None,
        unit=row.unit.removeprefix("1"),
        reason="a set of numbers, not one: see coefficients",
        coefficients=dict(row.coefficients),
        source=row.source,
        source_text=_source_text(row.source),
        place=row.place,
        condition=row.condition,
        status=row.status.value,
        note=row.note,
        understood=understood,
    )


def _headline(
    question: PropertyQuestion,
    word: str,
    asked: Asked,
    answer: PropertyAnswer,
    row: PublishedRow | None,
) -> str:
    name = f"{word.replace('_', ' ')} of {_named(asked.of)}"
    if word == "solubility":
        return _solubility_headline(asked, answer)
    value = answer.quantity.value
    if value is None:
        return cut(f"{name}: {_bound(answer) or 'no number on file'}")
    shown = answer.quantity.written(to=question.unit, digits=4)
    if (
        row is not None
        and not (answer.quantity.unit or question.unit)
        and row.unit not in ("1", "%")
    ):
        shown = row.shown
    if answer.quantity.unit == "K" and not question.unit:
        shown = f"{answer.quantity.written(to='degC', digits=4)} ({value:.2f} K)"
    outside = any("lies outside" in w for w in answer.warnings)
    tail = ", OUTSIDE the range it holds for" if outside else f", {answer.status.value}"
    return cut(f"{name}: {shown}{tail}")


def _solubility_headline(asked: Asked, answer: PropertyAnswer) -> str:
    """A hint in words: what is said of a single solvent, or where a blend lies."""
    liquids = " + ".join(asked.solvents)
    head = f"{_named(asked.of)} in {liquids}"
    if len(asked.solvents) == 1:
        hint = answer.warnings[0].split(": ", 1)[1]
        return cut(f"{head}: {hint} (a hint)")
    distance = answer.quantity.value
    if distance is None:
        return cut(f"{head}: no distance on file")
    return cut(
        f"{head}: distance {distance:.2f} of the sphere's radius (a hint, below 1 is inside)"
    )[:100]


def _others(asked: Asked, word: str, source: str) -> tuple[OtherFigure, ...]:
    """What else is on file for it, the tabulated rows only."""
    if asked.strength:
        return ()
    rows: list[PublishedRow] = []
    if word in reference.quantity_words():
        try:
            rows += reference.select(asked.of, word)
        except ReferenceDataError:
            return ()
    rows += [r for r in process_rows() if r.quantity == word and r.substance == _named(asked.of)]
    kept = [row for row in rows if not row.coefficients]
    return (
        tuple(map(_other, kept)) if len(kept) > 1 or any(r.source != source for r in kept) else ()
    )


def _other(row: PublishedRow) -> OtherFigure:
    centre = row.centre
    si = row.table == "process_figures"  # that table stands in SI already
    return OtherFigure(
        value=None if centre is None else centre if si else si_value(centre, row.unit),
        unit=row.unit.removeprefix("1") if si else si_unit(row.unit),
        source=row.source,
        condition=row.condition,
        status=row.status.value,
        shown=row.shown,
    )
