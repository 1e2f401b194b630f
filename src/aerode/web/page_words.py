"""Advice that names a command, said for somebody who has only the pages before them: one table, one boundary."""

from __future__ import annotations

import copy
import dataclasses
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar, cast

from aerode.errors import AerodeError, FieldFault, RecordError

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["HOW_TO_COME_IN", "WAYS", "Way", "for_pages", "in_page_words", "way_for"]

T = TypeVar("T")

HOW_TO_COME_IN = (
    "On a phone: ask the person at the computer for another code: More, Who is in, Let a phone in.",
    "On the computer itself: in the window where aerode runs, press Enter: it prints a fresh link. Open that one here.",
)
"""The two ways in, for whoever stands before the door: a link printed there opens nothing on a phone."""


@dataclass(frozen=True, slots=True)
class Way:
    """A piece of advice as the command line says it, as the pages say it, and where they do it."""

    said: re.Pattern[str]
    words: str
    place: str = ""
    """The page that does it; "" where it is the page one is on."""
    button: str = ""
    sends: bool = False
    """Whether the button does it at once instead of leading to a page."""


def _way(said: str, words: str, place: str = "", button: str = "", *, sends: bool = False) -> Way:
    return Way(re.compile(said), words, place, button, sends)


_COPIES = ("/data/restore", "Put a copy back")
_CHECK = ("/data/check", "Check the bench")
_DATA = ("/data", "To Data")

WAYS: tuple[Way, ...] = (
    # The bench file.
    _way(r"run `aerode bench check`; `aerode bench restore` puts the newest good copy back",
         "check the bench, or put a copy back", *_COPIES),
    _way(r"(run )?`aerode bench check`", "check the bench, under More, Data", *_CHECK),
    _way(r"aerode bench check --rebuild", "press “Make the list again” on the page of the check", *_CHECK),
    _way(r"aerode bench keep --forget-all", "press “Forget the kept answers” on the page of the check", *_CHECK),
    _way(r"name a copy that you kept yourself: aerode bench restore COPY",
         "hand in a copy that you kept yourself", *_COPIES),
    _way(r"`aerode bench backup --list` lists what is there", "choose one from the list of copies", *_COPIES),
    _way(r"make one: aerode bench new .*", "put a copy back in its place", *_COPIES),
    _way(r"name a file made by `aerode bench new`", "hand in a bench file of this program", *_DATA),
    _way(r"aerode bench migrate --bench .* \(a backup is made first\)",
         "bring it up to date with the button below: a copy is made first", "/data/up-to-date",
         "Bring the bench up to date", sends=True),
    _way(r"what `aerode bench export` wrote: a .zip, or its unpacked folder", "a package (.zip) as Export under More, Data gives it", *_DATA),
    _way(r"a package that `aerode bench export` wrote", "a package as Export under More, Data gives it", *_DATA),
    _way(r"import a long log as a series instead: aerode log --help", "bring a long log in under More, Data", *_DATA),
    # Records and their history.
    _way(r"`aerode bench history[^`]*` lists", "its history, under More, Data, lists", "/history", "History"),
    _way(r"`aerode bench show[^`]*` lists what is there", "pick it from its list"),
    _way(r"`aerode bench show` lists the kinds that are on the bench", "the Shelf lists what is on the bench", "/shelf", "The shelf"),
    _way(r"`aerode bench show results` lists them", "ask again from the beginning"),
    _way(r"look at it: aerode bench show run .*", "look at it under Measure", "/runs", "All runs"),
    _way(r"(settle it|rename one of them): aerode bench settle .*", "look at both states in its history, and keep one", *_DATA),
    _way(r"`aerode bench settle` lists what is", "More, Data lists what is", *_DATA),
    _way(r"--keep \S+ --rename '[^']*' renames the one of that state", "choose the one to rename, and type its new name"),
    # Measuring, mixing, judging.
    _way(r"measure it: aerode log run --electrode [^;]+", "measure it: start a run of it", "/runs/start", "Start a run"),
    _way(r"write it as in: aerode log ", "write it as in: "),
    _way(r"what `aerode compare` gives", "what Compare gives", "/compare", "Compare"),
    _way(r"draw the order of measuring beforehand: aerode compare --order",
         "draw the order of measuring beforehand, under Compare", "/compare/order", "Draw the order"),
    _way(r"say so: --same [\w…-]+", "tick it under Compare", "/compare", "Compare"),
    _way(r"if one die cut them: --same area", "if one die cut them, tick under Compare that it was the same", "/compare", "Compare"),
    _way(r"; or, if it is new here: --new-factor", ""),
    _way(r"or: [^;]*--acknowledge .*", "or write down on its page of cautions why you go on all the same", "/cautions", "Cautions"),
    _way(r"add --reason .*", "write the reason into the field"),
    _way(r"take that one again with: back", "correct that one below"),
    _way(r"take it again with: back", "correct the first reading below"),
    _way(r"`aerode mix` shows", "its page under Mix shows", "/mixes", "All mixes"),
    _way(r"before the press: aerode cautions ITEM --plate \"85 °C\" \(an electrode or mix of the bench\) names",
         "before the press: its page of cautions, under More, names", "/cautions", "Cautions"),
    _way(r"aerode cautions says which", "The cautions of its mix or piece say which", "/cautions", "Cautions"),
    _way(r"a polymer or wax on file: aerode property --for binder", "a polymer or wax on file: More, Figures lists what serves as a binder", "/properties", "Figures"),
    _way(r"`aerode property` lists them", "More, Figures lists them", "/properties", "Figures"),
    _way(r"`aerode symptom` lists them", "More, Something is wrong lists them", "/symptoms", "Something is wrong"),
    _way(r"`aerode schema` lists all names", "More, Who is in, Loggers leads to all of them", "/json", "For programs"),
    _way(r"The keys of an input file of `aerode simulate`", "The keys of an input file"),
    _way(r"then add --showed \"\.\.\.\" --cause 1", "then say what it showed, and which cause it was", "/symptoms", "Something is wrong"),
    _way(r"name the electrode before --from, or say it: --of .*", "say whose readings they are in the form below"),
    _way(r"say whose each is: --of .*", "say whose each column is in the form below"),
)  # fmt: skip
"""In the order in which they are tried; what is more particular comes first."""

_OF_THE_TERMINAL = ("aerode", "--", "with: back")
"""What a text that needs another word for the pages has in it: a quick look before the table is tried."""

_OPTION = re.compile(r"(?<![\w-])--([a-z][a-z-]*)")


def for_pages(text: str, labels: Mapping[str, str] | None = None) -> str:
    """A sentence of advice in which a command is said as the place of the pages that does the same.

    An option of the command line that is left becomes the field of that name, by its label where
    the form has one.

    >>> for_pages("if it was the same for all, say so: --same gap")
    'if it was the same for all, tick it under Compare'
    >>> for_pages("check the name; `aerode bench show electrode` lists what is there")
    'check the name; pick it from its list'
    >>> for_pages('as in --area "9 cm^2"; weigh the loss instead: --lost', {"lost": "Mass lost"})
    'as in “area” "9 cm^2"; weigh the loss instead: “Mass lost”'
    """
    if not any(mark in text for mark in _OF_THE_TERMINAL):
        return text
    for way in WAYS:
        text = way.said.sub(lambda _, words=way.words: words, text)
    return _OPTION.sub(lambda found: f"“{_label(found[1], labels or {})}”", text)


def _label(option: str, labels: Mapping[str, str]) -> str:
    name = option.replace("-", "_")
    return labels.get(name) or labels.get(f"{name}s") or option.replace("-", " ")


def way_for(error: AerodeError) -> Way | None:
    """The page that does what a refusal advises; None where it names none."""
    for text in (error.next_step, error.allowed):
        for way in WAYS:
            if way.place and way.said.search(text):
                return way
    return None


def in_page_words(value: T, labels: Mapping[str, str] | None = None) -> T:
    """The same value for a page: a refusal, the faults of a form, or an answer that carries advice.

    Texts that people typed or stored are never touched: only what the program says of them.

    Parameters
    ----------
    value : object
        Anything that a page shows; what is none of these comes back as it is.
    labels : mapping, optional
        Field → what its form calls it.
    """
    told: Any = value
    if isinstance(value, AerodeError):
        told = _refusal(value, labels)
    elif isinstance(value, FieldFault):
        told = _fault(value, labels)
    elif isinstance(value, (tuple, list)):
        items = cast("tuple[Any, ...] | list[Any]", value)
        if items and all(isinstance(one, FieldFault) for one in items):
            told = type(items)(_fault(one, labels) for one in items)
    elif isinstance(value, dict):
        named = cast("dict[Any, Any]", value)
        if named and all(_is_told(one) for one in named.values()):
            told = {key: tuple(for_pages(t, labels) for t in one) for key, one in named.items()}
    elif dataclasses.is_dataclass(value) and not isinstance(value, type):
        told = _answer(value, labels)
    return told


_ADVICE = ("next_step", "allowed", "what", "refusal")


def _is_told(value: object) -> bool:
    """Whether it is what is wrong with a field and what is allowed."""
    pair = cast("tuple[Any, ...]", value)
    return isinstance(value, tuple) and len(pair) == 2 and all(isinstance(t, str) for t in pair)


def _fault(fault: FieldFault, labels: Mapping[str, str] | None) -> FieldFault:
    said = for_pages(fault.what, labels), for_pages(fault.allowed, labels)
    return dataclasses.replace(fault, what=said[0], allowed=said[1])


def _refusal(error: AerodeError, labels: Mapping[str, str] | None) -> AerodeError:
    told = copy.copy(error)
    told.what = for_pages(error.what, labels)
    told.where = _OPTION.sub(lambda found: _label(found[1], labels or {}), error.where)
    told.allowed = for_pages(error.allowed, labels)
    told.next_step = for_pages(error.next_step, labels)
    if isinstance(told, RecordError):
        told.faults = tuple(_fault(fault, labels) for fault in told.faults)
    return told


def _answer(value: Any, labels: Mapping[str, str] | None) -> Any:
    changed: dict[str, Any] = {}
    for field in dataclasses.fields(value):
        held = getattr(value, field.name)
        if isinstance(held, AerodeError):
            changed[field.name] = _refusal(held, labels)
        elif isinstance(held, str) and field.name in _ADVICE and for_pages(held, labels) != held:
            changed[field.name] = for_pages(held, labels)
    return dataclasses.replace(value, **changed) if changed else value
