"""Enter a new record or change one, field by field, from what was typed; nothing typed is lost."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast, get_args, get_origin

from aerode.cautions.large import LARGE
from aerode.errors import ChangedError, FieldFault, RecordError, some_of
from aerode.records import adapter
from aerode.records.electrodes import Electrode
from aerode.records.instruments import MeterRange
from aerode.records.marks import Condition, Entry, Share
from aerode.records.mixes import Batch, Mix, Portion
from aerode.usecases.believable import newly_impossible
from aerode.usecases.bench_fields import field_hints, peeled, plain_record, unit_of_field
from aerode.usecases.bench_show import class_of_kind
from aerode.usecases.bench_words import written_field, written_value
from aerode.usecases.mix_agrees import two_mixes_fault
from aerode.usecases.mix_size import ask_of_record
from aerode.usecases.mix_whole import with_the_rest
from aerode.usecases.unlikely_entries import ask_of_entries
from aerode.usecases.unlikely_loading import ask_of_loading
from aerode.usecases.unlikely_mesh import LIKE_THE_MESH, ask_of_mesh, new_doubts
from aerode.usecases.unlikely_pieces import ALLOWED, ask_of_piece
from aerode.usecases.unlikely_pot import LIKE_THE_PLAN, ask_of_pot, doubts_of_pot

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from aerode.store.bench_file import BenchFile

__all__ = ["Clash", "Entered", "enter", "texts_of"]

_WHOLE = (Entry, Condition, Share, Portion)
"""Records that stand in one field as one text."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """A field that somebody else changed while this form was open."""

    field: str
    theirs: str
    yours: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Entered:
    """What became of the typed fields: the stored record, or the reasons why nothing was stored."""

    record: Any | None = None
    changed: tuple[str, ...] = ()
    faults: tuple[FieldFault, ...] = ()
    clashes: tuple[Clash, ...] = ()
    state: str = ""
    """The digest of the newest state, to be sent with the form next time."""
    ask: str = ""
    """What is asked first: nothing is stored until somebody is sure."""
    allowed: str = ""
    """What would not be asked about, where it is no size."""
    instead: tuple[tuple[str, str], ...] = ()
    """What was likelier meant: the path of a field, and its text."""


def texts_of(record: object) -> dict[str, str]:
    """Every field of a record as the text that a form shows, by its path.

    Parameters
    ----------
    record : record
        Of any stored kind.

    Returns
    -------
    dict of str to str
        "wetted_area" → "9.54 cm^2 (photo)", "press.0.force" → "200 N". Fields that are empty have
        no entry.

    Examples
    --------
    >>> from aerode.records.electrodes import Electrode, Firmness, Press
    >>> texts_of(Electrode(name="T6", press=(Press(firmness=Firmness.FIRM),)))
    {'name': 'T6', 'press.0.firmness': 'firm'}
    """
    return {path: text for path, text in _leaves(record, "") if text}


def _leaves(record: Any, before: str) -> Iterator[tuple[str, str]]:
    cls = cast("type[Any]", type(record))
    siblings = {name: getattr(record, name) for name in field_hints(cls)}
    defaults: dict[str, Any] = {f.name: f.default for f in dataclasses.fields(cls)}
    for name, hint in field_hints(cls).items():
        value = siblings[name]
        path = f"{before}{name}"
        if value is None or (value == defaults[name] and not _always_told(cls, name)):
            continue
        if cls is Mix and name in {"wanted", "rest"}:
            yield from _shares_with_rest(record, name)
            continue
        if isinstance(value, dict):
            for key, part in cast("dict[str, Any]", value).items():
                yield f"{path}.{key}", _text(part, Any, None)
        elif _is_nested(value):
            yield from _leaves(value, f"{path}.")
        elif isinstance(value, tuple) and any(_is_nested(part) for part in cast("tuple[Any, ...]", value)):  # fmt: skip
            for index, part in enumerate(cast("tuple[Any, ...]", value)):
                yield from _leaves(part, f"{path}.{index}.")
        else:
            whole = isinstance(value, (Entry, Share, Portion, tuple))
            typed = _text(value, hint, unit_of_field(cls, name, siblings)) if whole else ""
            yield path, typed or written_field(record, name)


def _shares_with_rest(mix: Mix, name: str) -> Iterator[tuple[str, str]]:
    """The wanted shares with the word rest where one of them is it; several are named by themselves."""
    one = mix.rest[0] if len(mix.rest) == 1 else ""
    if name == "wanted":
        each = [f"{s.of}: rest" if s.of == one else _text(s, Share, None) for s in mix.wanted]
        yield name, "; ".join(each)
    elif not one:
        yield name, "; ".join(mix.rest)


def _always_told(cls: type, name: str) -> bool:
    """What a range measures is told even where it is the usual: its neighbours depend on it."""
    return cls is MeterRange and name == "measures"


def _is_nested(value: Any) -> bool:
    return (
        dataclasses.is_dataclass(value)
        and not isinstance(value, type)
        and not isinstance(value, _WHOLE)
    )


def _text(value: Any, hint: Any, unit: str | None) -> str:
    """What was typed, where that was kept; else the value written for people."""
    if isinstance(value, Entry) and value.text:
        behind = f"published: {value.published}" if value.published else value.how
        return f"{value.text} ({behind})" if behind else value.text
    if isinstance(value, Portion):
        amount = value.mass or value.volume
        si = "kg" if value.mass else "m^3"
        return f"{value.shelf.value} {value.of}: {_text(amount, Any, si)}"
    if isinstance(value, Share):
        return f"{value.of}: {100 * value.fraction:.10g} %"
    if isinstance(value, tuple):
        inner = get_args(peeled(hint)[0])
        each = inner[0] if inner else Any
        return "; ".join(_text(part, each, unit) for part in cast("tuple[Any, ...]", value))
    return written_value(value, hint, unit)


def enter(
    bench: BenchFile,
    kind: str,
    texts: Mapping[str, str],
    *,
    name: str = "",
    state: str = "",
    picks: Mapping[str, str] | None = None,
    why: str = "",
    who: str = "",
    sure: bool | str = False,
) -> Entered:
    """Store a new record, or the changed fields of one that is there.

    Only the fields whose text differs from what the form showed are read again, so a number that
    nobody touched keeps all its digits. What somebody else stored in the meantime is kept, unless
    both changed the same field: then nothing is stored and both values are told.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    kind : str
        "electrode", "powder", ...
    texts : mapping
        Path → text, as `texts_of` gives them; rows that are blank are left out.
    name : str
        Of the record that is changed; "" for a new one.
    state : str
        The digest of the state that the form showed; "" takes the newest.
    picks : mapping, optional
        Path → kinds, with blanks between: fields that name another record of the bench.
    why, who : str
        Kept in the history.
    sure : bool or str
        An unlikely size of a mix or a pot, share or weight is meant so: True, whatever is asked; or the
        very question that was read, word for word. A number that was changed since raises another one.

    Returns
    -------
    Entered
        The record, or what is asked first, or all faults at once (each with the path of its field), or the clashes.

    Raises
    ------
    NotFoundError, ConflictError
        No record of that name; it stands in two states that a person has to settle first.
    """
    cls = class_of_kind(kind)
    newest: Any = None
    digest = ""
    base: dict[str, str] = {}
    current: dict[str, str] = {}
    if name:
        standing = bench.state(cls, name)
        digest, newest = standing.digest, bench.read(standing)
        current = base = texts_of(newest)
        if state and state != digest:
            base = _shown(bench, cls, name, state) or base
    typed = {path: text.strip() for path, text in texts.items()}
    changed = tuple(
        path for path, text in typed.items() if _plainly(text) != _plainly(base.get(path, ""))
    )
    clashes = tuple(
        Clash(field=path, theirs=current.get(path, ""), yours=typed[path])
        for path in changed
        if current.get(path, "") not in (base.get(path, ""), typed[path])
    )
    if clashes:
        return Entered(changed=changed, clashes=clashes, state=digest)
    merged = {**current, **{path: typed[path] for path in changed}}
    back = _typed_rows(_rows(cls, merged))
    plain, faults = _plain(cls, merged, newest, set(changed))
    faults += _strangers(bench, merged, picks or {}, changed)
    if cls is Mix and not faults and {"wanted", "portions"} & set(changed):
        plain, faults = with_the_rest(bench, plain)
    record, more = _made(cls, plain, f"{kind} {name or merged.get('name', '')}".strip())
    if record is not None:
        more = newly_impossible(record, newest) or two_mixes_fault(bench, record, newest)
    more = [dataclasses.replace(f, field=_unpacked(_path(f.field), back)) for f in more]
    told = {fault.field for fault in faults}
    faults += [
        f for f in more if not any(f.field == t or f.field.startswith(f"{t}.") for t in told)
    ]
    if record is not None and record.name != name and bench.find(cls, record.name) is not None:
        what = f"this bench has a {kind} called {record.name!r} already"
        faults.append(FieldFault("name", what, "another name", record.name))
    if faults or record is None:
        return Entered(changed=changed, faults=tuple(faults), state=digest)
    if name and record == newest:
        return Entered(record=newest, state=digest)
    ask, allowed = _asked(bench, record, newest)
    if ask and sure is not True and str(sure or "").split() != ask.split():
        return Entered(
            changed=changed,
            state=digest,
            ask=ask,
            allowed=allowed,
            instead=_likelier(bench, record, newest, back),
        )
    if name and record.name != name:
        digest = bench.rename(cls, name, record.name, why=why, who=who).digest
    try:
        stored = bench.put_onto(record, digest, why=why, who=who)
    except ChangedError:  # another program was quicker: asked again of what stands there now
        name = record.name if name else ""
        return enter(bench, kind, texts, name=name, state=state or digest, picks=picks, why=why, who=who, sure=sure)  # fmt: skip
    return Entered(record=record, changed=changed, state=stored.digest)


def _asked(bench: BenchFile, record: Any, newest: Any) -> tuple[str, str]:
    """All that is asked before this is stored, a line each, and what would not be asked about."""
    size = ask_of_record(bench, record, newest)
    others = (
        (
            ask_of_entries(bench, record, newest),
            "a share of 1 % or more and weights to the step of a scale of the bench",
        ),
        (ask_of_pot(bench, record, newest), LIKE_THE_PLAN),
        (ask_of_piece(bench, record, newest), ALLOWED),
        (ask_of_mesh(bench, record, newest), LIKE_THE_MESH),
        (ask_of_loading(bench, record, newest), "a loading near that of its sister pieces"),
    )
    allowed = [text for ask, text in others if ask]
    if size and allowed:
        allowed.insert(0, f"up to {1e3 * LARGE:g} g wet at once")
    return "\n".join(filter(None, (size, *(ask for ask, _ in others)))), "; ".join(allowed)


def _likelier(
    bench: BenchFile, record: Any, newest: Any, back: Mapping[tuple[str, int], int]
) -> tuple[tuple[str, str], ...]:
    """The fields of a weight that slipped, each with what was likelier meant."""
    if isinstance(record, Batch):
        found = [
            (f"portions.{back.get(('portions', one.place), one.place)}.mass", one.instead)
            for one in doubts_of_pot(bench, record, newest)
        ]
    elif isinstance(record, Electrode):
        found = [("mesh_mass", one.instead) for one in new_doubts(bench, record, newest)]
    else:
        found = []
    return tuple(dict.fromkeys((path, text) for path, text in found if text))


_SIGNS = str.maketrans({"²": "^2", "³": "^3", "−": "-"})


def _plainly(text: str) -> str:
    """A text as it is compared: a form shows "60 m³", and may have been made from "60 m^3"."""
    return text.strip().translate(_SIGNS).replace("°C", "degC").replace("°F", "degF")


def _shown(bench: BenchFile, cls: type, name: str, state: str) -> dict[str, str]:
    """The texts of the state that a form was made from."""
    for revision in bench.history(cls, name):
        if revision.digest == state and not revision.withdrawn:
            return texts_of(bench.read(revision))
    return {}


def _plain(
    cls: type, texts: Mapping[str, str], newest: Any, changed: set[str]
) -> tuple[dict[str, Any], list[FieldFault]]:
    """The plain values of the record: texts read where they changed, kept as stored elsewhere."""
    rows = _rows(cls, texts)
    values: dict[str, Any] = {}
    for path, text in texts.items():
        if text and (parts := _packed(path, rows)) is not None:
            _put(values, parts, text)
    plain, found = plain_record(cls, _lists(values))
    back = _typed_rows(rows)
    faults = [dataclasses.replace(f, field=_unpacked(path, back)) for path, f in found]
    if newest is not None:
        stored = adapter.write(newest)
        for path in texts:
            parts = _packed(path, rows)
            if path not in changed and parts is not None:
                kept = _at(stored, path.split("."))
                if kept is not None:
                    _put_plain(plain, parts, kept)
        faults = [fault for fault in faults if _is_changed(fault.field, changed)]
    return plain, faults


def _is_changed(field: str, changed: set[str]) -> bool:
    return any(field == path or field.startswith(f"{path}.") for path in changed)


def _rows(cls: type, texts: Mapping[str, str]) -> dict[str, list[int]]:
    """For each list of nested records: the numbers of the rows that hold anything."""
    rows: dict[str, set[int]] = {}
    for path, text in texts.items():
        parts = path.split(".")
        if not text:
            continue
        for place, part in enumerate(parts):
            if place and part.isdigit() and _is_list(cls, parts[:place]):
                rows.setdefault(".".join(parts[:place]), set()).add(int(part))
    return {stem: sorted(numbers) for stem, numbers in rows.items()}


def _is_list(cls: type, parts: list[str]) -> bool:
    hint: Any = cls
    for part in parts:
        if part.isdigit():
            continue
        base = peeled(hint)[0]
        if get_origin(base) is tuple:
            base = peeled(get_args(base)[0])[0]
        if not dataclasses.is_dataclass(base) or part not in field_hints(cast("type", base)):
            return False
        hint = field_hints(cast("type", base))[part]
    return get_origin(peeled(hint)[0]) is tuple


def _packed(path: str, rows: Mapping[str, list[int]]) -> list[str | int] | None:
    """The path with its row numbers counted without the blank rows; None in a blank row."""
    parts = path.split(".")
    packed: list[str | int] = []
    for place, part in enumerate(parts):
        stem = ".".join(parts[:place])
        if part.isdigit() and stem in rows:
            if int(part) not in rows[stem]:
                return None
            packed.append(rows[stem].index(int(part)))
        else:
            packed.append(part)
    return packed


def _typed_rows(rows: Mapping[str, list[int]]) -> dict[tuple[str, int], int]:
    """(List, place in the record) → the number of the row where it was typed."""
    return {(stem, new): old for stem, olds in rows.items() for new, old in enumerate(olds)}


def _path(field: str) -> tuple[str | int, ...]:
    return tuple(int(part) if part.isdigit() else part for part in field.split("."))


def _unpacked(path: tuple[str | int, ...], back: Mapping[tuple[str, int], int]) -> str:
    told: list[str] = []
    for part in path:
        stem = ".".join(told)
        told.append(str(back.get((stem, part), part)) if isinstance(part, int) else part)
    return ".".join(told)


def _put(values: dict[str, Any], parts: list[str | int], value: Any) -> None:
    place: dict[Any, Any] = values
    for part in parts[:-1]:
        place = place.setdefault(part, {})
    place[parts[-1]] = value


def _lists(values: Any) -> Any:
    """Mappings whose keys are row numbers as lists."""
    if not isinstance(values, dict):
        return values
    named = cast("dict[Any, Any]", values)
    if named and all(isinstance(key, int) for key in named):
        return [_lists(named[key]) for key in sorted(named)]
    return {key: _lists(part) for key, part in named.items()}


def _put_plain(plain: Any, parts: list[str | int], value: Any) -> None:
    place = plain
    for part in parts[:-1]:
        if isinstance(place, dict):
            place = cast("dict[Any, Any]", place).setdefault(part, {})
        else:
            place = place[part]
    place[parts[-1]] = value


def _at(stored: Any, parts: list[str]) -> Any:
    place = stored
    for part in parts:
        if isinstance(place, dict):
            place = cast("dict[str, Any]", place).get(part)
        elif isinstance(place, list) and part.isdigit() and int(part) < len(cast("list[Any]", place)):  # fmt: skip
            place = cast("list[Any]", place)[int(part)]
        else:
            return None
    return place


def _strangers(
    bench: BenchFile, texts: Mapping[str, str], picks: Mapping[str, str], changed: tuple[str, ...]
) -> list[FieldFault]:
    """Names that stand for nothing on this bench."""
    import difflib

    faults: list[FieldFault] = []
    for path, kind in picks.items():
        wanted = texts.get(path, "")
        if not wanted or path not in changed:
            continue
        classes = [class_of_kind(word) for word in kind.split()]
        if all(bench.find(cls, wanted) is None for cls in classes):
            known = [one for cls in classes for one in bench.to_pick_from(cls)]
            said = kind.replace(" ", " or ")
            near = " or ".join(difflib.get_close_matches(wanted, known, n=2)) or some_of(known, 6)
            allowed = near or f"enter the {said} first, or leave it empty"
            faults.append(FieldFault(path, f"no {said} is called {wanted!r} here", allowed, wanted))
    return faults


def _made(cls: type, plain: dict[str, Any], where: str) -> tuple[Any | None, list[FieldFault]]:
    try:
        return cast("Any", adapter.read(cls, plain, where=where)), []  # pyright: ignore[reportUnknownMemberType]
    except RecordError as error:
        return None, list(error.faults)
