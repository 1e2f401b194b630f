"""A property sheet as words: what to mind, where the figure holds, where it comes from."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

from aerode.usecases.source_words import named_source

if TYPE_CHECKING:
    from aerode.records.properties import HoldsFor, PropertySheet

__all__ = ["STATUS_WORDS", "property_facts"]

Fact: TypeAlias = tuple[str, str]
"""A label, and what stands behind it."""

STATUS_WORDS = {
    "verified": "verified against its source",
    "secondary": "read on a secondary page only",
    "unverified": "unverified: from memory or common practice",
}
"""How far a figure was checked."""
_LONG_SOURCE, _LONG_NOTE, _FEW = 200, 130, 2  # judgement: what stays on one screen


def property_facts(
    sheet: PropertySheet, *, short: bool = False, named: bool = False
) -> tuple[Fact, ...]:
    """What stands behind a figure, in words.

    Parameters
    ----------
    sheet : PropertySheet
    short : bool
        Cut long texts and other sources so that all of it stays on one screen.
    named : bool
        Sources by who said it and when, in place of the keys of the tables; conditions in words.

    Returns
    -------
    tuple of (str, str)
        Label and text: ("Holds", "temperature 0 degC to 40 degC (asked 20 degC)").
    """
    said: list[Fact] = []
    if sheet.reason and not sheet.reason.startswith(("the source gives", "a set of numbers")):
        said.append(("Why", f"{sheet.reason}."))
    if sheet.interval is not None:
        low, high = (_number(x, sheet.unit) for x in sheet.interval)
        said.append(("Between", f"{low} and {high}"))
    said += [("Mind", f"{warning}.") for warning in _worth_saying(sheet)]
    if sheet.condition:
        said.append(("For", _in_words(sheet.condition) if named else sheet.condition))
    if sheet.range:
        said.append(("Holds", "; ".join(map(_span, sheet.range))))
    if sheet.source:
        place = f", {sheet.place}" if sheet.place and sheet.place not in sheet.source_text else ""
        text = f"{sheet.source_text}{place}"
        key = "" if named else f" [{sheet.source}]"
        said.append(("Source", f"{_cut(text, _LONG_SOURCE) if short else text}{key}"))
    said.append(("Status", STATUS_WORDS[sheet.status]))
    if sheet.note:
        said.append(("Note", _cut(sheet.note, _LONG_NOTE) if short else sheet.note))
    return (*said, *(_by_name(sheet) if named else _on_file(sheet, short=short)))


def _in_words(condition: str) -> str:
    """A condition of the tables, "compilation=NFPA; body=OSHA", as words.

    >>> _in_words("equation=molar polynomial at 20 degC")
    'equation: molar polynomial at 20 degC'
    """
    return condition.replace("=", ": ")


def _by_name(sheet: PropertySheet) -> list[Fact]:
    """What else is on file, by who said it."""
    others = [
        f"{o.shown} ({', '.join(filter(None, (named_source(o.source), _in_words(o.condition))))})"
        for o in sheet.others
    ]
    return [("On file", "; ".join(others))] if others else []


def _number(value: float, unit: str) -> str:
    if unit == "K":
        return f"{value - 273.15:.4g} degC"
    return f"{value:.4g} {unit}".strip()


def _span(one: HoldsFor) -> str:
    name = one.variable.replace("_", " ")
    text = f"{name} {_number(one.low, one.unit)} to {_number(one.high, one.unit)}"
    if one.asked is None:
        return text
    here = _number(one.asked, one.unit)
    return f"{text} (asked {here}{'' if one.holds else ': OUTSIDE'})"


def _worth_saying(sheet: PropertySheet) -> list[str]:
    """The warnings but those that the status line repeats."""
    said = ("from memory or common practice", "read on a secondary page")
    return [w for w in dict.fromkeys(sheet.warnings) if not w.startswith(said)]


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 1].rsplit(" ", 1)[0] + " …"


def _on_file(sheet: PropertySheet, *, short: bool) -> list[Fact]:
    others = [
        f"{o.shown} [{o.source}{', ' + o.condition if o.condition else ''}]" for o in sheet.others
    ]
    if not others:
        return []
    if not short:
        return [("On file", "; ".join(others))]
    more = f"; {len(others) - _FEW} more with --json" if len(others) > _FEW else ""
    return [("On file", "; ".join(others[:_FEW]) + more)]
