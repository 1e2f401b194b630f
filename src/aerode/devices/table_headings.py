"""What a heading says: which quantity a column holds, and in which unit.

The words are common ones of the trade in several languages (common practice, no source).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from functools import lru_cache

from aerode import units
from aerode.errors import TableError

__all__ = ["ROLE_UNITS", "Heading", "is_unit", "order_in", "roles_of_unit", "spelled", "understand"]

ROLE_UNITS = {
    "resistance": "ohm",
    "voltage": "V",
    "current": "A",
    "time": "s",
    "temperature": "K",
    "power": "W",
    "charge": "C",
    "mass": "kg",
    "length": "m",
    "area": "m^2",
    "current_density": "A/m^2",
    "power_density": "W/m^2",
}
"""What a column can hold, and the SI unit in which it is handed on."""

_WORDS = {
    "resistance": "resistance resistor resistors load widerstand last résistance resistencia "
    "weerstand r rl rload ohms",
    "voltage": "voltage volts volt potential ocv spannung klemmenspannung tension spanning voltaje "
    "tensión u v e vcell ucell uk",
    "current": "current amps amp ampere strom courant corriente stroom i icell",
    "time": "time elapsed seconds zeit uhrzeit zeitstempel temps tiempo tijd timestamp clock t "
    "date datum fecha datetime dato heure hora tag runtime laufzeit durée uptime millis micros epoch "
    "unixtime unix dauer",
    "temperature": "temperature temp temperatur température temperatura temperatuur t",
    "power": "power leistung puissance potencia vermogen p",
    "charge": "charge ladung carga lading q",
    "mass": "mass weight masse gewicht masa peso massa m",
    "length": "length thickness width länge dicke breite longueur épaisseur gap abstand",
    "area": "area fläche surface superficie oppervlak",
    "current_density": "j stromdichte",
    "power_density": "leistungsdichte",
}
_ROLES_BY_WORD: dict[str, tuple[str, ...]] = {}
for _role, _listed in _WORDS.items():
    for _word in _listed.split():
        _ROLES_BY_WORD[_word] = (*_ROLES_BY_WORD.get(_word, ()), _role)
# German and Dutch write compounds as one word: the last part says what it is.
_ENDINGS = {
    "spannung": "voltage", "widerstand": "resistance", "strom": "current", "spanning": "voltage",
    "weerstand": "resistance", "stroom": "current", "temperatur": "temperature", "zeit": "time",
}  # fmt: skip
_DATE_WORDS = ("date", "datum", "fecha", "dato", "timestamp", "zeitstempel", "serial")
_ELAPSED_WORDS = ("elapsed", "runtime", "laufzeit", "durée", "uptime", "dauer", "duration")
_COUNTERS = {"millis": "ms", "micros": "us"}
"""What microcontrollers call their counters of milliseconds and microseconds."""
_PHRASES = {"current density": "current_density", "power density": "power_density"}

_BRACKETS = re.compile(r"^(?P<word>.*?)\s*[(\[{]\s*(?P<unit>[^()\[\]{}]+?)\s*[)\]}]\s*$")
_IN = re.compile(r"^(?P<word>.*\S)\s+(?:in|en)\s+(?P<unit>\S.*)$", re.IGNORECASE)
_COMMA = re.compile(r"^(?P<word>[^,]+),\s*(?P<unit>[^,]+)$")
_SLASH = re.compile(r"^(?P<word>[^/]+?)\s*/\s*\(?(?P<unit>.+?)\)?$")
_TAIL = re.compile(r"^(?P<word>.+?)[\s_]+(?P<unit>[^\s_]+)$")
_NUMBERED = re.compile(r"^[^\W\d_uivrep]\d+$", re.IGNORECASE)
"""A name such as T6; U1 or V2 are quantities with a number."""
_AGAINST = re.compile(r"\s+(?:vs\.?|gegen|against)\s.*$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading as understood: its text, the quantity ("" if not known), the unit as written."""

    text: str
    role: str
    unit: str
    says_date: bool = field(default=False, repr=False)
    """It speaks of a date: bare numbers under it may count days."""
    says_elapsed: bool = field(default=False, repr=False)
    """It speaks of elapsed time: it counts from zero."""
    date_place: int | None = field(default=None, repr=False)
    """The place of the column with the dates, where date and time stand apart."""


def spelled(unit: str) -> str:
    """A unit without brackets, in the spelling that `aerode.units` reads: "kOhm" is "kohm".

    >>> spelled("[kOhm]")
    'kohm'
    """
    return re.sub("ohms?", "ohm", unit.strip().strip("()[]{}").strip(), flags=re.IGNORECASE)


_OTHER_UNITS = frozenset(
    [
        "kg",
        "g",
        "mg",
        "W",
        "mW",
        "kW",
        "N",
        "Pa",
        "kPa",
        "bar",
        "mm",
        "cm",
        "km",
        "J",
        "kJ",
        "mol",
        "L",
        "mL",
    ]
)
"""Units that no column read here has; behind the name of a quantity they are a slip."""


@lru_cache(maxsize=512)
def roles_of_unit(unit: str) -> tuple[str, ...]:
    """The quantities that a unit can measure.

    >>> roles_of_unit("mV"), roles_of_unit("furlongs per Monday")
    (('voltage',), ())
    """
    plain = spelled(unit)
    if not plain or re.match(r"[\d.,+\-]", plain) or re.search(r"[^\W\d]\s+\d", plain):
        return ()  # "meter 1" is a name
    return tuple(role for role, target in ROLE_UNITS.items() if units.same_kind(plain, target))


_TIME_FORMAT = re.compile(
    r"^[\[(]?[hHmMsSdDyYjJtT]{1,4}([:./\- ]+[hHmMsSdDyYjJtTnf.0]{1,4}){1,6}[\])]?$"
)
_ORDER = re.compile(
    r"(?P<a>d+|m+|[yj]+)[./\-](?P<b>d+|m+|[yj]+)[./\-](?P<c>d+|m+|[yj]+)", re.IGNORECASE
)


def is_unit(text: str) -> bool:
    """True if a cell holds nothing but a unit, bare or in brackets, or the form of a date or time.

    >>> is_unit("mV"), is_unit("hh:mm:ss"), is_unit("note")
    (True, True, False)
    """
    return bool(roles_of_unit(text)) or bool(_TIME_FORMAT.match(text.strip()))


def order_in(heading: str) -> str:
    """The order of day, month and year that a heading spells out; "" where it does not.

    >>> order_in("Date (dd/mm/yyyy)"), order_in("Zeit [JJJJ-MM-TT]"), order_in("time")
    ('d/m/y', '', '')
    """
    match = _ORDER.search(heading)
    if not match:
        return ""
    order = "/".join(match[part][0].lower().replace("j", "y") for part in "abc")
    return order if order in {"d/m/y", "m/d/y", "y/m/d"} else ""


def _roles_of_words(words: str) -> list[str]:
    """The quantities that the words of a heading name, the last word first."""
    plain = words.strip()
    folded = re.sub(r"[\s_]+", " ", plain.casefold())
    found = [role for phrase, role in _PHRASES.items() if phrase in folded]
    if found:
        return found
    for token in reversed(re.split(r"[\s_./\-]+", plain)):
        if _NUMBERED.match(token):
            continue
        word = token.casefold().rstrip("0123456789:")
        roles = list(_ROLES_BY_WORD.get(word, ()))
        if not roles:
            roles = [role for ending, role in _ENDINGS.items() if word.endswith(ending)]
        found += [role for role in roles if role not in found]
    return found


def understand(text: str, *, where: str = "") -> Heading:
    """What a heading says.

    Takes `voltage_V`, `Voltage (mV)`, `U/V`, `I [mA]`, `R_load (kΩ)`, `Spannung in V`, `mV`.

    Parameters
    ----------
    text : str
        The heading.
    where : str
        The place of the heading, for the refusal.

    Raises
    ------
    TableError
        The word names one quantity and the unit measures another.

    Examples
    --------
    >>> understand("R_load (kΩ)")
    Heading(text='R_load (kΩ)', role='resistance', unit='kΩ')
    >>> understand("Spannung in V").role, understand("note").role
    ('voltage', '')
    """
    heading = _understand(text, where)
    folded = text.casefold()
    if heading.role != "time":
        return heading
    return replace(
        heading,
        unit=heading.unit or next((u for w, u in _COUNTERS.items() if w in folded), ""),
        says_date=any(word in folded for word in _DATE_WORDS),
        says_elapsed=any(word in folded for word in _ELAPSED_WORDS),
    )


def _understand(text: str, where: str) -> Heading:
    plain = _without_reference(text.strip())
    whole = roles_of_unit(plain)
    if len(plain) > 1 and len(whole) == 1:
        return Heading(text, whole[0], spelled(plain))
    for pattern in (_BRACKETS, _IN, _COMMA, _SLASH, _TAIL):
        match = pattern.match(plain)
        if match:
            heading = _with_unit(text, match["word"], match["unit"], pattern is _TAIL, where)
            if heading:
                return heading
    return _without_unit(text, plain, whole)


def _with_unit(text: str, word: str, unit: str, is_tail: bool, where: str) -> Heading | None:
    """Word and unit together, where the second is a unit at all."""
    by_unit = roles_of_unit(unit)
    by_word = _roles_of_words(word)
    both = [role for role in by_word if role in by_unit]
    if by_word and spelled(unit) in _OTHER_UNITS:
        raise TableError(
            f"the heading {text!r} names {_or(by_word)} and gives {unit!r}, a unit of something else",
            where=where,
            allowed=f"a unit of {_or(by_word)}",
            next_step="correct the heading",
        )
    if not by_unit or (is_tail and not both):  # "cell A" is a name, "current A" is not
        return None
    if by_word and not both:
        raise TableError(
            f"the heading {text!r} names {_or(by_word)} and a unit of {_or(by_unit)}",
            where=where,
            allowed=f"a unit of {_or(by_word)}, or a name for {_or(by_unit)}",
            next_step="correct the heading, or say which column is which",
        )
    if both:
        return Heading(text, both[0], spelled(unit))
    return Heading(text, by_unit[0] if len(by_unit) == 1 else "", spelled(unit))


def _without_reference(text: str) -> str:
    """A heading without what a potential is measured against: "E (V vs. Al)" is "E (V)"."""
    bracketed = _BRACKETS.match(text)
    if bracketed:
        return f"{bracketed['word']} ({_AGAINST.sub('', bracketed['unit'])})"
    return _AGAINST.sub("", text).strip()


def _without_unit(text: str, plain: str, whole: tuple[str, ...]) -> Heading:
    """A bare word; of one letter, "V" and "m" are words and units at once."""
    if plain in {"t", "T"}:  # time or temperature: nothing here tells
        return Heading(text, "", "")
    by_word = _roles_of_words(re.sub(r"[(\[{].*$", "", plain))
    if whole and by_word:
        both = [role for role in by_word if role in whole]
        return Heading(text, both[0] if both else "", "")
    if whole:
        return Heading(text, whole[0] if len(whole) == 1 else "", spelled(plain))
    return Heading(text, by_word[0] if by_word else "", "")


def _or(roles: list[str] | tuple[str, ...]) -> str:
    return " or ".join(role.replace("_", " ") for role in roles)
