"""The bench of one request, and the few things pages remember between requests."""

from __future__ import annotations

import threading
from collections import OrderedDict
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

from fastapi import Depends, Request

from aerode.records.places import Bench
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from collections.abc import AsyncGenerator, Callable, Generator

    from aerode.web.gate import Gate

__all__ = ["LastAsked", "OpenBench", "Passing", "Remembered", "Sent", "gate_of", "turn_of"]

T = TypeVar("T")
_KEPT = 200


def gate_of(request: Request) -> Gate:
    """The gate before the bench: who opens it without `OpenBench` passes here."""
    return request.app.state.gate


async def _passing(request: Request) -> AsyncGenerator[None]:
    gate = gate_of(request)
    await gate.enter()
    try:
        yield
    finally:
        gate.leave()


Passing = Annotated[None, Depends(_passing)]
"""Among others at the bench for one request that opens it by itself."""


def _opened(request: Request, passed: Passing) -> Generator[BenchFile]:
    settings = request.app.state.settings
    state = request.scope.setdefault("state", {})
    visitor, key = state.get("visitor"), state.get("key")
    who = visitor.who if visitor is not None else ""
    if key is not None:
        who = key.who or key.label
    with BenchFile.open(settings.bench, clock=settings.clock, who=who) as bench:
        own = next(iter(bench.all(Bench)), None)
        state["bench_title"] = own.title if own else ""
        yield bench


OpenBench = Annotated[BenchFile, Depends(_opened)]
"""The bench, open for one request."""


def turn_of(request: Request) -> threading.Lock:
    """Whose turn it is: held while a record is read, changed and stored, so that two doors do not
    overwrite each other.
    """
    return request.app.state.turn


class Remembered:
    """Answers that take long, kept as long as the bench has not changed.

    The key of an answer holds the newest line of the journal, so a changed bench never gets an old
    answer; at most `most` answers are kept.
    """

    def __init__(self, most: int = _KEPT) -> None:
        self._most = most
        self._kept: OrderedDict[tuple[object, ...], Any] = OrderedDict()
        self._lock = threading.Lock()

    def of(self, bench: BenchFile, key: tuple[object, ...], make: Callable[[], T]) -> T:
        """The answer to `key` for the bench as it stands now."""
        whole = (bench.label, bench.newest(), *key)
        with self._lock:
            if whole in self._kept:
                self._kept.move_to_end(whole)
                return self._kept[whole]
        made = make()
        with self._lock:
            self._kept[whole] = made
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
        return made


class LastAsked:
    """What each visitor asked of the comparison last, as the end of an address; nothing is stored."""

    def __init__(self, most: int = _KEPT) -> None:
        self._most = most
        self._of: OrderedDict[int, str] = OrderedDict()
        self._lock = threading.Lock()

    def note(self, request: Request, query: str) -> None:
        """Remember it for the visitor of this request."""
        visitor = request.scope["state"].get("visitor")
        if visitor is None:
            return
        with self._lock:
            self._of[visitor.number] = query
            self._of.move_to_end(visitor.number)
            while len(self._of) > self._most:
                self._of.popitem(last=False)

    def of(self, request: Request) -> str:
        """What the visitor of this request asked last; "" for nothing of his own."""
        visitor = request.scope["state"].get("visitor")
        with self._lock:
            return self._of.get(visitor.number, "") if visitor is not None else ""


class Sent:
    """Forms that were sent already: the second press of a button leads to what the first one made."""

    def __init__(self, most: int = 2_000) -> None:
        self._most = most
        self._led_to: OrderedDict[str, str] = OrderedDict()
        self._lock = threading.Lock()

    def already(self, once: str) -> str:
        """Where the first sending of this form led; "" if it has not been sent."""
        with self._lock:
            return self._led_to.get(once, "")

    def note(self, once: str, led_to: str) -> None:
        """Remember where a form led."""
        if not once:
            return
        with self._lock:
            self._led_to[once] = led_to
            while len(self._led_to) > self._most:
                self._led_to.popitem(last=False)
