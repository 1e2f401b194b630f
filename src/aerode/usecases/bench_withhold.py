"""Leaving named fields out of what goes to others: marked where they stood, and counted."""

from __future__ import annotations

import dataclasses
import difflib
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, Any, cast, get_args

from aerode.errors import InputError
from aerode.records import KINDS
from aerode.usecases.bench_fields import field_hints, peeled
from aerode.usecases.bench_tables import WITHHELD

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["Withholding"]

_OF_STATES = ("who", "why")
_OF_FILES = ("files", "originals")


@lru_cache(maxsize=1)
def _known() -> frozenset[str]:
    """The name of every field of every record, at any depth."""
    found: set[str] = set()
    waiting = list(KINDS.values())
    seen: set[type] = set()
    while waiting:
        cls = waiting.pop()
        if cls in seen:
            continue
        seen.add(cls)
        for name, hint in field_hints(cls).items():
            found.add(name)
            base, _ = peeled(hint)
            for part in (base, *get_args(base)):
                inner, _ = peeled(part)
                if isinstance(inner, type) and dataclasses.is_dataclass(inner):
                    waiting.append(inner)
    return frozenset(found)


@dataclass(slots=True)
class Withholding:
    """Which fields are withheld, and how often each of them was there."""

    words: tuple[str, ...] = ()
    counts: dict[str, int] = field(default_factory=dict[str, int])
    states: int = 0

    @classmethod
    def of(cls, words: Iterable[str]) -> Withholding:
        """From what was typed: "who, note, price", or the words "files" and "originals".

        Raises
        ------
        InputError
            No field is called so, or it cannot be left out.
        """
        told = tuple(
            dict.fromkeys(w.strip() for text in words for w in text.split(",") if w.strip())
        )
        allowed = (_known() | {*_OF_STATES, *_OF_FILES}) - {"name"}
        for word in told:
            if word == "name":
                raise InputError(
                    "names cannot be withheld: the records refer to each other by them",
                    where="--withhold", next_step="rename the records first, on a copy of the bench",
                )  # fmt: skip
            if word not in allowed:
                near = difflib.get_close_matches(word, allowed, n=3)
                raise InputError(
                    f"no field is called {word!r}", where="--withhold",
                    allowed=", ".join(near) or "who, why, files, originals, or a field of a record",
                )  # fmt: skip
        return cls(told, dict.fromkeys(told, 0))

    def files(self, *, original: bool) -> bool:
        """True if a file is withheld."""
        return "files" in self.words or (original and "originals" in self.words)

    def count(self, word: str) -> None:
        """One more value that is left out."""
        self.counts[word] += 1

    def text(self, word: str, text: str) -> str:
        """Who or why of a state, or the mark in its place."""
        if word not in self.words or not text:
            return text
        self.counts[word] += 1
        return WITHHELD

    def plain(self, value: Any, *, counted: bool = True) -> Any:
        """A plain record with the mark in the place of every withheld field that is filled."""
        if isinstance(value, list):
            return [self.plain(part, counted=counted) for part in cast("list[Any]", value)]
        if not isinstance(value, dict):
            return value
        answer: dict[str, Any] = {}
        for key, part in cast("dict[str, Any]", value).items():
            if key in self.words and part not in (None, "", [], {}):
                answer[key] = WITHHELD
                if counted:
                    self.counts[key] += 1
            else:
                answer[key] = self.plain(part, counted=counted)
        return answer
