"""What people type into the fields of a record: texts, units and words into the record itself.

The definition of the record is the only guide: its annotations say which field is a number in
which unit, a choice of words, a list, or a record of its own.
"""

from __future__ import annotations

import contextlib
import dataclasses
import difflib
import re
import types
from dataclasses import dataclass, field
from datetime import date, datetime, time
from enum import Enum
from functools import lru_cache
from typing import TYPE_CHECKING, Annotated, Any, Union, cast, get_args, get_origin, get_type_hints

from aerode import units
from aerode.errors import FieldFault, UnitError
from aerode.quantities import Unit
from aerode.records.electrodes import Weighing
from aerode.records.instruments import Instrument, MeterRange
from aerode.records.marks import Condition, Entry, Known, Moment, Share
from aerode.records.mixes import Ingredient, Mix, Portion
from aerode.records.places import Claim
from aerode.usecases.dates import read_date
from aerode.usecases.typed_area import sides_multiplied

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = [
    "Path",
    "Typing",
    "field_hints",
    "is_share",
    "is_step",
    "peeled",
    "plain_record",
    "unit_of_field",
]

Path = tuple[str | int, ...]
"""Where a value stands in a record: ("layers", 0, "mix")."""


@dataclass(frozen=True, slots=True)
class Typing:
    """A text as typed, with the unit that its column heading gives."""

    text: str
    unit: str = ""


@dataclass(slots=True)
class _Reader:
    faults: list[tuple[Path, FieldFault]] = field(default_factory=list[tuple[Path, FieldFault]])
    dates: list[str] = field(default_factory=list[str])
    """Dates that were typed otherwise than they are stored: "made typed as 12.3.2025"."""

    def fault(self, path: Path, what: str, allowed: str, raw: object) -> None:
        name = ".".join(str(part) for part in path)
        self.faults.append((path, FieldFault(name, what, allowed, str(raw))))


def plain_record(
    cls: type, values: Mapping[str, Any]
) -> tuple[dict[str, Any], list[tuple[Path, FieldFault]]]:
    """Typed texts as the plain values from which `aerode.records.adapter.read` makes the record.

    Parameters
    ----------
    cls : type
        A record class.
    values : mapping
        Field names to texts, numbers, `Typing`, lists and mappings.

    Returns
    -------
    tuple
        The plain values (SI), and every fault with its path.

    Examples
    --------
    >>> from aerode.records.electrodes import Electrode
    >>> plain, faults = plain_record(Electrode, {"name": "T6", "wetted_area": "9.54 cm^2 (photo)"})
    >>> round(plain["wetted_area"]["value"], 6), plain["wetted_area"]["how"], faults
    (0.000954, 'photo', [])
    """
    reader = _Reader()
    plain = _record(reader, cls, values, ())
    if reader.dates and "note" in field_hints(cls):  # what was typed is kept with the record
        plain["note"] = "; ".join([*filter(None, [plain.get("note", "")]), *reader.dates])
    return plain, reader.faults


@lru_cache(maxsize=128)
def field_hints(cls: type) -> dict[str, Any]:
    """The annotation of each field of a record class."""
    hints = get_type_hints(cls, include_extras=True)
    return {f.name: hints[f.name] for f in dataclasses.fields(cls) if f.name != "schema"}


def peeled(hint: Any) -> tuple[Any, str | None]:
    """A type without its marks and without None, and the unit it is marked with.

    >>> from aerode.records.electrodes import Electrode
    >>> peeled(field_hints(Electrode)["wetted_area"])[1]
    'm^2'
    """
    unit: str | None = None
    while True:
        origin = get_origin(hint)
        if origin is Annotated:
            hint, *marks = get_args(hint)
            unit = next((m.symbol for m in marks if isinstance(m, Unit)), unit)
        elif origin in {Union, types.UnionType}:
            kept = [arg for arg in get_args(hint) if arg is not type(None)]
            if len(kept) > 1:
                return hint, unit
            hint = kept[0]
        else:
            return hint, unit


def unit_of_field(cls: type, name: str, siblings: Mapping[str, Any]) -> str | None:
    """The unit of a field: its mark, or what another field of the record says it is.

    The full scale of a meter range is in V, A or ohm, as `measures` says.
    """
    marked = peeled(field_hints(cls)[name])[1]
    told = {key: _text(value) for key, value in siblings.items()}
    if cls is MeterRange and name in {"full_scale", "count"}:
        measures = told.get("measures", "voltage")
        return {"voltage": "V", "current": "A", "resistance": "ohm"}.get(measures)
    if cls is Instrument and name in {"resolution", "limit_of_error"}:
        return {"scale": "kg", "thermometer": "K", "calipers": "m"}.get(told.get("sort", ""))
    if cls is Claim and name == "at":
        return "A/m^2" if told.get("response", "").startswith("voltage") else "V"
    return marked


def _text(value: Any) -> str:
    return (value.text if isinstance(value, Typing) else str(value)).strip()


def _is_empty(value: Any) -> bool:
    return value is None or (isinstance(value, (str, Typing)) and not _text(value))


# -- records, lists, mappings -------------------------------------------------------------------


def _record(reader: _Reader, cls: type, values: Any, path: Path) -> dict[str, Any]:
    if not isinstance(values, dict):
        short = _SHORT.get(cls)
        if short and isinstance(values, (str, Typing)):
            return short(reader, _text(values), path)
        above = ".".join(str(part) for part in path)
        parts = list(field_hints(cls))
        allowed = f"headings of their own: {', '.join(f'{above}.{part}' for part in parts)}"
        reader.fault(
            path, f"{above} has parts, and one cell cannot hold them", allowed, _text(values)
        )
        return {}
    hints = field_hints(cls)
    typed = cast("dict[str, Any]", values)
    plain: dict[str, Any] = {}
    for name, value in typed.items():
        if name not in hints:
            near = difflib.get_close_matches(name, hints, n=2)
            allowed = " or ".join(near) if near else ", ".join(hints)
            reader.fault((*path, name), f"there is no field {name!r}", allowed, _text(value))
        elif not _is_empty(value):
            unit = unit_of_field(cls, name, typed)
            found = _value(reader, hints[name], value, (*path, name), unit, is_step(cls, name))
            if found is not None:
                plain[name] = found
    if cls is Mix:
        _settle_rest(reader, plain, path)
    return plain


def _settle_rest(reader: _Reader, plain: dict[str, Any], path: Path) -> None:
    """The share that was typed as the rest gets what the others leave, and is kept as the rest."""
    wanted: list[dict[str, Any]] = plain.get("wanted", [])
    marked = [share for share in wanted if share.pop("rest", False)]
    if not marked:
        return
    left = 1.0 - sum(float(share.get("fraction", 0.0)) for share in wanted)
    if len(marked) > 1 or left < -1e-9:
        what = "two shares are the rest" if len(marked) > 1 else f"the shares add up to {100 * (1 - left):.4g} % before the rest"  # fmt: skip
        reader.fault((*path, "wanted"), what, "one rest, and less than 100 % beside it", "rest")
    for share in marked:
        share["fraction"] = max(0.0, left)
    plain["rest"] = [share["of"] for share in marked]


def is_step(cls: type, name: str) -> bool:
    """True where a temperature is a difference: the step of a thermometer."""
    return cls is Instrument and name in {"resolution", "limit_of_error"}


def is_share(cls: type, name: str) -> bool:
    """True where a number without a unit is a part of the whole: a tolerance, written in per cent."""
    return (cls, name) in {(Instrument, "tolerance"), (MeterRange, "of_reading")}


def _value(
    reader: _Reader, hint: Any, value: Any, path: Path, unit: str | None, step: bool = False
) -> Any:
    if hint == Moment:
        return _date(reader, value, path)
    base, marked = peeled(hint)
    unit = unit if unit is not None else marked
    origin = get_origin(base)
    if base is Entry or base is Condition:
        return _entered(reader, base, value, path, unit)
    if origin is tuple:
        return _several(reader, base, value, path, unit)
    if origin is dict:
        return _named(reader, base, value, path)
    if dataclasses.is_dataclass(base):
        return _record(reader, cast("type", base), value, path)
    if isinstance(base, type) and issubclass(base, Enum):
        return _word(reader, base, value, path)
    if base is bool:
        return _yes_or_no(reader, value, path)
    if base is float:
        return _number(reader, value, path, unit, step)
    if base is int:
        return _whole_number(reader, value, path)
    if base is str:
        return _written(value)
    return _number_or_word(value)


def _several(reader: _Reader, base: Any, value: Any, path: Path, unit: str | None) -> list[Any]:
    """A list: of a TOML array, of a cell divided by semicolons, of numbered columns."""
    kinds = get_args(base)
    if isinstance(value, dict):  # columns such as press.firmness or press.2.firmness
        parts = _numbered(cast("dict[str, Any]", value))
    elif isinstance(value, list):
        parts = cast("list[Any]", value)
    else:
        words = _words_of(kinds[0])
        parts = _listed(value, words) if words else _divided(value)
        if (
            words
        ):  # a word that is none of them is a fault of the whole list, not of a numbered place
            told = [_word(reader, kinds[0], part, path) for part in parts]
            return list(dict.fromkeys(one for one in told if one is not None))
        if kinds[0] is Share and len(parts) == 1 and not re.search(r"[:\d]", _text(parts[0])):
            parts = [f"{_text(parts[0])}: 100 %"]  # one thing alone is all of it
    each = [kinds[0]] * len(parts) if kinds[-1] is Ellipsis else list(kinds)
    if len(each) != len(parts):
        reader.fault(path, f"{len(parts)} values stand here", f"{len(each)} values", str(parts))
        return []
    return [
        _value(reader, kind, part, (*path, index), unit)
        for index, (kind, part) in enumerate(zip(each, parts, strict=True))
    ]


def _words_of(kind: Any) -> tuple[str, ...]:
    """The fixed words of a choice; empty where it is none."""
    return (
        tuple(str(one.value) for one in kind)
        if isinstance(kind, type) and issubclass(kind, Enum)
        else ()
    )


def _listed(value: Any, words: tuple[str, ...]) -> list[str]:
    """Fixed words as people list them: by semicolons, commas, a stroke, a plus or "and".

    >>> _listed("adults, children and class", ("adults", "children", "class"))
    ['adults', 'children', 'class']
    """
    if _text(value).casefold() in {word.casefold() for word in words}:
        return [_text(value)]
    parts = re.split(r"\s*[;,/+&]\s*|\s+and\s+", _text(value).strip().rstrip("."))
    return [one for part in parts if (one := re.sub(r"^and\s+", "", part.strip()))]


def _divided(value: Any) -> list[Any]:
    """The parts of a cell; a unit behind the last one holds for all that have none."""
    if not isinstance(value, (str, Typing)):
        return [value]
    texts = [part.strip() for part in _text(value).split(";") if part.strip()]
    unit = value.unit if isinstance(value, Typing) else ""
    if texts and not unit:
        with contextlib.suppress(UnitError):
            unit = units.read_number(texts[-1])[1]
    return [Typing(text, unit) for text in texts]


def _numbered(values: dict[str, Any]) -> list[Any]:
    if values and all(key.isdigit() for key in values):
        return [values[key] for key in sorted(values, key=int)]
    return [values]


def _named(reader: _Reader, base: Any, value: Any, path: Path) -> dict[str, Any]:
    if not isinstance(value, dict):
        reader.fault(path, "named values are needed here", "a table, as in factors.binder", value)
        return {}
    hint = get_args(base)[1]
    return {
        name: _value(reader, hint, part, (*path, name), None)
        for name, part in cast("dict[str, Any]", value).items()
        if not _is_empty(part)
    }


# -- words --------------------------------------------------------------------------------------


def _written(value: Any) -> str:
    if isinstance(value, (datetime, date, time)):
        return value.isoformat()
    return _text(value)


def _date(reader: _Reader, value: Any, path: Path) -> str | None:
    try:
        typed = read_date(_written(value))
    except UnitError as error:
        reader.fault(path, error.what, error.allowed, _text(value))
        return None
    if typed.understood:
        name = ".".join(str(part) for part in path)
        reader.dates.append(f"{name} typed as {typed.text.strip()}")
    return typed.iso


def _word(reader: _Reader, base: type[Enum], value: Any, path: Path) -> str | None:
    text = _text(value)
    for member in base:
        if str(member.value).casefold() == text.casefold():
            return str(member.value)
    choices = ", ".join(str(member.value) for member in base)
    reader.fault(path, f"{text!r} is none of the words for this", choices, text)
    return None


def _yes_or_no(reader: _Reader, value: Any, path: Path) -> bool | None:
    if isinstance(value, bool):
        return value
    word = _text(value).casefold()
    if word in {"yes", "y", "true", "x", "1"}:
        return True
    if word in {"no", "n", "false", "0"}:
        return False
    reader.fault(path, f"{word!r} is neither yes nor no", "yes, no, or nothing", word)
    return None


# -- numbers ------------------------------------------------------------------------------------

_SPREAD = re.compile(r"(±|\+\s*/?\s*[-−])")


def _own_unit(text: str) -> str:
    """The unit that a text holds itself: behind the number, or behind ± where that is no per cent."""
    head, *tail = _SPREAD.split(text, maxsplit=1)
    own = units.read_number(head)[1]
    behind = units.read_number(tail[1])[1] if tail and not own else ""
    return own or ("" if behind == "%" else behind)


def _with_unit(text: str, unit: str) -> str:
    """The text with the unit of its column where it has none of its own."""
    if not unit or _own_unit(text):
        return text
    head, *tail = _SPREAD.split(text, maxsplit=1)
    return " ".join([head.strip(), unit, "".join(tail)]).strip()


def _read(text: str, unit: str, heading_unit: str, step: bool = False) -> units.Typed:
    """A number in `unit`; one with a dimension needs its unit, so that nothing is guessed."""
    full = _with_unit(text, heading_unit)
    number, _ = units.read_number(full)
    own = _own_unit(full)
    if unit and not own:
        raise UnitError(f"{text!r} has no unit", allowed=f"a number with its unit, as in {units.example(unit)}")  # fmt: skip
    if step and unit == "K":
        factor, _ = units.scale(own, unit)
        return units.Typed(factor * number, None, full, full)
    return units.read(full, unit)


def _number(
    reader: _Reader, value: Any, path: Path, unit: str | None, step: bool = False
) -> float | None:
    if isinstance(value, (int, float)) and not isinstance(value, bool) and not unit:
        return float(value)
    try:
        heading_unit = value.unit if isinstance(value, Typing) else ""
        return _read(_text(value), unit or "", heading_unit, step).value
    except UnitError as error:
        reader.fault(path, error.what, error.allowed, _text(value))
        return None


def _whole_number(reader: _Reader, value: Any, path: Path) -> int | None:
    text = _text(value)
    if re.fullmatch(r"[+\-]?\d+", text):
        return int(text)
    reader.fault(path, f"{text!r} is not a whole number", "a whole number, as in 5", text)
    return None


def _number_or_word(value: Any) -> float | str:
    """A factor setting: a plain number is a number, a share in per cent stays in per cent, all else is a word."""
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return float(value)
    text = _text(value)
    try:
        number, unit = units.read_number(text)
    except UnitError:
        return text
    return number if not unit else f"{number:g} %" if unit in {"%", "percent"} else text


_HOW = re.compile(r"^(?P<head>.*?)\s*\((?P<how>[^()]*)\)\s*$", re.DOTALL)


def _entered(
    reader: _Reader, base: type, value: Any, path: Path, unit: str | None
) -> dict[str, Any]:
    """An entry or a condition: "9.54 cm^2 ± 1.2 % (photo)", "same", or a table of its fields."""
    if isinstance(value, dict):
        return _spelled_out(reader, base, cast("dict[str, Any]", value), path, unit)
    text = _text(value)
    match = _HOW.match(text)
    head, how = (match["head"], match["how"].strip()) if match else (text, "")
    plain: dict[str, Any] = {}
    if how.casefold().startswith("published:") and base is Entry:
        plain["published"] = how.partition(":")[2].strip()
    elif how:
        plain["how"] = how
    if base is Condition:
        known, head = _known(head)
        plain["known"] = known.value
        if known is not Known.MEASURED:
            return plain
    heading_unit = value.unit if isinstance(value, Typing) else ""
    try:
        as_read = sides_multiplied(head) if unit == "m^2" else head
        typed = _read(as_read, unit or "", heading_unit)
        _refuse_more_than_all(typed.value, unit, head)
    except UnitError as error:
        allowed = error.allowed
        if base is Condition:
            allowed = f"{allowed}; or same, or may differ"
        reader.fault(path, error.what, allowed, text)
        return plain
    plain["value"] = typed.value
    if typed.standard_uncertainty is not None:
        plain["standard_uncertainty"] = typed.standard_uncertainty
    plain["text"] = _with_unit(head, heading_unit)
    return plain


_SAME = re.compile(r"same( for all)?(, not measured)?", re.IGNORECASE)
_MAY_DIFFER = re.compile(r"may differ|unknown|not known|\?", re.IGNORECASE)


def _known(text: str) -> tuple[Known, str]:
    if _SAME.fullmatch(text.strip()):
        return Known.SAME, ""
    if _MAY_DIFFER.fullmatch(text.strip()):
        return Known.MAY_DIFFER, ""
    return Known.MEASURED, re.sub(r"^measured:?\s+", "", text.strip(), flags=re.IGNORECASE)


def _refuse_more_than_all(value: float, unit: str | None, typed: str) -> None:
    if not unit and not 0.0 <= value <= 1.0:
        raise UnitError(
            f"{typed.strip()} is {'more than the whole' if value > 1 else 'less than nothing'}",
            allowed="0 to 100 %, with its sign, as in 7 %",
        )


def _spelled_out(
    reader: _Reader, base: type, values: dict[str, Any], path: Path, unit: str | None
) -> dict[str, Any]:
    """A table with value, standard_uncertainty, how, text (and known, published)."""
    plain: dict[str, Any] = {}
    for name, value in values.items():
        if name not in field_hints(base):
            reader.fault((*path, name), f"there is no field {name!r}", ", ".join(field_hints(base)), value)  # fmt: skip
        elif name == "known":
            plain[name] = _word(reader, Known, value, (*path, name))
        elif name in {"value", "standard_uncertainty"}:
            step = name == "standard_uncertainty"
            plain[name] = _number(reader, value, (*path, name), unit, step)
        else:
            plain[name] = _written(value)
    return {name: value for name, value in plain.items() if value is not None}


# -- short forms of records in one cell ---------------------------------------------------------

_NAMED_AMOUNT = re.compile(r"^(?P<of>.*?)\s*(?::|=)\s*(?P<amount>.+)$")


def _share(reader: _Reader, text: str, path: Path) -> dict[str, Any]:
    """ "biochar A: 40 %"; among the wanted shares of a mix also "biochar A: rest"."""
    match = _NAMED_AMOUNT.match(text)
    if not match:
        reader.fault(path, f"{text!r} is not a name with its share", "biochar A: 40 %", text)
        return {}
    if path[0] == "wanted" and match["amount"].strip().casefold() == "rest":
        return {"of": match["of"], "rest": True}  # how much that is follows from the others
    fraction = _number(reader, match["amount"], (*path, "fraction"), "")
    return {"of": match["of"], "fraction": fraction} if fraction is not None else {}


def _portion(reader: _Reader, text: str, path: Path) -> dict[str, Any]:
    """ "solution PVB: 30 g" or "biochar A: 12.4 g"; the first word may be the shelf."""
    match = _NAMED_AMOUNT.match(text)
    if not match:
        reader.fault(path, f"{text!r} is not a name with its amount", "biochar A: 12.4 g", text)
        return {}
    first, _, rest = match["of"].partition(" ")
    shelves = {member.value for member in Ingredient}
    plain = {"of": rest, "shelf": first} if rest and first in shelves else {"of": match["of"]}
    try:
        _, unit = units.read_number(re.split("±", match["amount"])[0])
    except UnitError:
        unit = ""
    is_volume = bool(unit) and units.same_kind(unit, "m^3")
    part, si = ("volume", "m^3") if is_volume else ("mass", "kg")
    return {**plain, part: _entered(reader, Entry, match["amount"], (*path, part), si)}


_WEIGHED = re.compile(
    r"^(?P<mass>.+?)(?:\s+after\s+(?P<after>.+?)|\s+(?:at|on)\s+(?P<at>\S.*))?$", re.IGNORECASE
)


def _weighing(reader: _Reader, text: str, path: Path) -> dict[str, Any]:
    """ "12.43 g", "12.42 g after 15 min" (since the weighing before it), "12.42 g at 2026-05-02T10:15"."""
    match = _WEIGHED.match(text)
    parts = match.groupdict() if match else {"mass": text, "after": None, "at": None}
    plain: dict[str, Any] = {}
    for name, unit in (("mass", "kg"), ("after", "s")):
        if parts[name]:
            number = _number(reader, parts[name], (*path, name), unit)
            if number is not None:
                plain[name] = number
    return {**plain, "at": parts["at"].strip()} if parts["at"] else plain


_SHORT = {Share: _share, Portion: _portion, Weighing: _weighing}
