"""Which fields of a record a form asks now, which later, and what each later one would buy.

The definition of the record says what a field is (number with unit, choice, yes or no, list); the
plan only says in which words and when it is asked.
"""

from __future__ import annotations

import dataclasses
import re
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache
from typing import TYPE_CHECKING, Annotated, Any, cast, get_args, get_origin

from aerode import units
from aerode.errors import UnitError
from aerode.records import KINDS
from aerode.usecases.bench_fields import field_hints, peeled
from aerode.web.form_plans_data import PLANS, QUESTIONS
from aerode.web.form_shapes import Ask, FormPlan, Group, Widget

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = [
    "Asked",
    "AskedGroup",
    "asked",
    "known_of",
    "labels_of",
    "picks_of",
    "plan_of",
    "typed_texts",
    "with_named_unit",
]

_FACTORS = "factors."
_PARTS = re.compile(r"([^±()]*?)((?:±|\+\s*/?\s*[-−])[^±()]*)?(\([^()]*\))?")


def plan_of(kind: str) -> FormPlan:
    """The plan of a kind.

    Raises
    ------
    KeyError
        A kind that people do not enter by form.
    """
    return FormPlan(kind=kind, question=QUESTIONS[kind], groups=PLANS[kind])


@dataclass(frozen=True, slots=True)
class Asked:
    """One field of a form, ready to be shown."""

    name: str
    label: str
    example: str
    why: str
    widget: Widget
    choices: tuple[str, ...]
    text: str
    fault: str
    allowed: str
    theirs: str
    wanted: bool
    of: str
    unit: str
    known: str
    meanings: dict[str, str]
    may_be_unsaid: bool
    """A choice that can be taken back: the record does without it."""


@dataclass(frozen=True, slots=True)
class AskedGroup:
    """A group of fields; `rows` holds one list of fields per row where it repeats."""

    title: str
    why: str
    later: bool
    repeats: bool
    stem: str
    rows: tuple[tuple[Asked, ...], ...]
    filled: bool


def asked(
    kind: str,
    texts: dict[str, str],
    *,
    faults: dict[str, tuple[str, str]] | None = None,
    theirs: dict[str, str] | None = None,
    more_rows: dict[str, int] | None = None,
    in_view: frozenset[str] = frozenset(),
) -> list[AskedGroup]:
    """The groups of a form with what stands in them.

    Parameters
    ----------
    kind : str
        "electrode", "powder", ...
    texts : dict
        Path → text.
    faults : dict
        Path → (what is wrong, what is allowed).
    theirs : dict
        Path → what somebody else stored meanwhile.
    more_rows : dict
        Stem of a repeating group → how many blank rows to offer.
    in_view : frozenset of str
        Paths that are asked now, whatever the plan says: their group is not folded away.
    """
    cls = KINDS[kind]
    faults, theirs, more_rows = faults or {}, theirs or {}, more_rows or {}
    found: list[AskedGroup] = []
    for group in plan_of(kind).groups:
        stems = _row_stems(group, texts, more_rows)
        rows = tuple(
            tuple(_one(cls, ask, stem, texts, faults, theirs) for ask in _asks_of(group, texts))
            for stem in stems
        )
        filled = any(_is_filled(cls, one) for row in rows for one in row)
        sort = texts.get("sort", "")
        if group.sorts and sort and sort not in group.sorts and not filled:
            continue
        later = group.later and not (sort in group.sorts and not group.repeats)
        later = later and not any(one.name in in_view for row in rows for one in row)
        found.append(
            AskedGroup(group.title, group.why, later, bool(group.repeats), group.repeats, rows, filled)
        )  # fmt: skip
    return found


def _asks_of(group: Group, texts: dict[str, str]) -> tuple[Ask, ...]:
    """The fields of a group; among the factors also those that the plan does not name and the texts do."""
    planned = {ask.path for ask in group.asks}
    if not any(path.startswith(_FACTORS) for path in planned):
        return group.asks
    others = [path for path in texts if path.startswith(_FACTORS) and path not in planned]
    named = [path for path in others if path.count(".") == 1 and path != _FACTORS]
    return (*group.asks, *(Ask(path, _label(path), "10 %") for path in named))


def _label(path: str) -> str:
    name = path.removeprefix(_FACTORS)
    return name[:1].upper() + name[1:]


def labels_of(groups: list[AskedGroup]) -> dict[str, str]:
    """What a person calls each field that holds a fault: its label, with its row where there are several."""
    found: dict[str, str] = {}
    for group in groups:
        for number, row in enumerate(group.rows, 1):
            for one in row:
                label = f"{one.label}, row {number}" if group.repeats else one.label
                found[one.name] = label
    return found


def _is_filled(cls: type, one: Asked) -> bool:
    """Whether anything stands in it; what is left as it starts is nothing."""
    started = one.text == _shape(cls, one.name).default
    return bool((one.text and not started) or one.fault or one.theirs)


def _row_stems(group: Group, texts: dict[str, str], more_rows: dict[str, int]) -> list[str]:
    if not group.repeats:
        return [""]
    stem = f"{group.repeats}."
    numbers = {
        int(rest.split(".")[0])
        for path, text in texts.items()
        if text
        and path.startswith(stem)
        and (rest := path.removeprefix(stem)).split(".")[0].isdigit()
    }
    count = max(numbers, default=-1) + 1
    begun = (
        1 if group.blank_rows > 1 else 0
    )  # where one row is the rule, none stands empty below it
    blank = max(more_rows.get(group.repeats, 0), begun if count else group.blank_rows)
    return [f"{stem}{row}." for row in range(count + blank)]


def _one(
    cls: type,
    ask: Ask,
    stem: str,
    texts: dict[str, str],
    faults: dict[str, tuple[str, str]],
    theirs: dict[str, str],
) -> Asked:
    path = f"{stem}{ask.path}"
    found = _shape(cls, f"{stem}{ask.path}")
    widget = ask.widget or found.widget
    begun = not stem or any(text for at, text in texts.items() if at.startswith(stem))
    shown = widget is not Widget.CHOICE and (not stem or stem.endswith(".0."))
    fault, allowed = next(
        (told for at, told in faults.items() if at == path or at.startswith(f"{path}.")), ("", "")
    )
    return Asked(
        name=path,
        label=ask.label or ask.path.rsplit(".", 1)[-1].replace("_", " "),
        example=ask.example,
        why=ask.why,
        widget=widget,
        choices=found.choices,
        # What is left as it starts is not typed: it comes back as it started. A blank row of
        # choices stays blank, but a word that the record would put there is shown in the first one.
        text=texts.get(path) or (found.default if begun or shown else ""),
        fault=fault,
        allowed=allowed,
        theirs=theirs.get(path, ""),
        wanted=ask.wanted,
        of=ask.of,
        unit=ask.unit(texts.get("sort", "")),
        known=ask.known,
        meanings=dict(ask.meanings),
        may_be_unsaid=not ask.wanted and not found.default,
    )


@dataclass(frozen=True, slots=True)
class _Shape:
    widget: Widget
    choices: tuple[str, ...] = ()
    default: str = ""


def _shape(cls: type, path: str) -> _Shape:
    return _shape_of(cls, ".".join("0" if p.isdigit() else p for p in path.split(".")))


@lru_cache(maxsize=1024)
def _shape_of(cls: type, path: str) -> _Shape:
    """What the record says a field is."""
    owner: Any = cls
    hint: Any = cls
    default: Any = ""
    for part in path.split("."):
        base = peeled(hint)[0]
        if get_origin(base) is tuple:
            base = peeled(get_args(base)[0])[0]
            if part.isdigit():
                hint = base
                continue
        if get_origin(base) is dict:
            return _Shape(Widget.TEXT)
        owner = base
        hint = field_hints(owner)[part]
        default = next(f.default for f in dataclasses.fields(owner) if f.name == part)
    base = peeled(hint)[0]
    if isinstance(base, type) and issubclass(base, Enum):
        chosen = str(default.value) if isinstance(default, Enum) else ""
        return _Shape(Widget.CHOICE, tuple(str(member.value) for member in base), chosen)
    if base is bool:
        return _Shape(Widget.YES_NO)
    of = get_args(base)[0] if get_origin(base) is tuple else None
    if isinstance(of, type) and issubclass(of, Enum):
        started = cast("tuple[Any, ...]", default) if isinstance(default, tuple) else ()
        return _Shape(
            Widget.SEVERAL, tuple(str(member.value) for member in of),
            "; ".join(str(one.value) for one in started),
        )  # fmt: skip
    marks: tuple[Any, ...] = get_args(hint)[1:] if get_origin(hint) is Annotated else ()
    words = next((mark for mark in marks if isinstance(mark, str) and " | " in mark), "")
    if base is str and words:
        return _Shape(Widget.CHOICE, tuple(words.split(" | ")), str(default))
    return _Shape(Widget.TEXT, default=default if isinstance(default, str) else "")


def picks_of(kind: str, texts: dict[str, str]) -> dict[str, str]:
    """The fields of a form that name another record, with the kinds that record may be of."""
    return {path: ask.of for path, ask in _all_asked(kind, texts) if ask.of}


def known_of(kind: str) -> set[str]:
    """The sorts of things on file that a form offers while typing."""
    return {ask.known for group in plan_of(kind).groups for ask in group.asks if ask.known}


def typed_texts(kind: str, sent: dict[str, str]) -> dict[str, str]:
    """What was sent for the fields of this form; what is left as it starts is not typed."""
    found: dict[str, str] = {}
    for path, ask in _all_asked(kind, sent):
        if path not in sent:
            continue
        text = sent[path].strip()
        shape = _shape(KINDS[kind], path)
        text = with_named_unit(text, ask.unit(sent.get("sort", "")))
        left = bool(shape.default) and text == shape.default
        found[path] = "" if left else text
    return found


def with_named_unit(text: str, unit: str) -> str:
    """The text with the unit that its label names, where numbers stand alone.

    >>> with_named_unit("10,2 ± 0.1", "ohm"), with_named_unit("1 kohm", "ohm")
    ('10,2 ohm ± 0.1', '1 kohm')
    >>> with_named_unit(".53", "g"), with_named_unit("5.", "g"), with_named_unit("1 234,5 ± .5", "g")
    ('.53 g', '5. g', '1 234,5 g ± .5')
    >>> with_named_unit("0.31; 0,35 mm; 0.4 (ruler)", "mm")
    '0.31 mm; 0,35 mm; 0.4 mm (ruler)'
    """
    if not unit:
        return text

    def one(part: str) -> str:
        found = _PARTS.fullmatch(part)
        if (
            not found
            or not _is_bare(found[1])
            or (found[2] and not _is_bare(found[2].lstrip("±+/-− ")))
        ):
            return part
        return " ".join(
            filter(None, (found[1].strip(), unit, *((found[n] or "").strip() for n in (2, 3))))
        )

    return "; ".join(one(part.strip()) for part in text.split(";"))


def _is_bare(text: str) -> bool:
    """True of a number without a unit, however it is written."""
    try:
        return not units.read_number(text)[1]
    except UnitError:
        return False


def _all_asked(kind: str, texts: dict[str, str]) -> Iterator[tuple[str, Ask]]:
    for group in plan_of(kind).groups:
        for ask in _asks_of(group, texts):
            for stem in _row_stems(group, texts, {}):
                yield f"{stem}{ask.path}", ask
