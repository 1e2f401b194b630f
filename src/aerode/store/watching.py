"""An open bench that notes what is asked of it: what an answer rests on, and nothing less."""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING, Any, TypeVar

from aerode.store import results
from aerode.store.bench_file import BenchFile
from aerode.store.door import kind_of

if TYPE_CHECKING:
    from collections.abc import Callable, Generator, Sequence

    import sqlalchemy as sa

    from aerode.store.results import Read
    from aerode.store.revisions import Revision

__all__ = ["WatchedBench"]

T = TypeVar("T")


class WatchedBench(BenchFile):
    """The same bench for reading, with a list of every question that was put to it.

    What stood there is noted before it is read: where another writer comes in between, the answer
    counts as stale rather than as fresh. A question of a sort that is not known here counts as one
    about everything.
    """

    def __init__(self, bench: BenchFile) -> None:
        super().__init__(bench._engine, bench._place, upcasts=bench._upcasts, read_only=True)
        self._noted: dict[Read, str] = {}
        self._quiet = 0

    @property
    def noted(self) -> dict[Read, str]:
        """Each question with the digest of what stood there."""
        return dict(self._noted)

    def close(self) -> None:
        """Nothing: the bench it was made of is still open."""

    def _ask(self, read: Read, answer: Callable[[], Any]) -> Any:
        if read not in self._noted:
            with super().reading() as connection:
                self._noted[read] = results.fingerprint(connection, read)
        self._quiet += 1
        try:
            return answer()
        finally:
            self._quiet -= 1

    @contextlib.contextmanager
    def reading(self) -> Generator[sa.Connection, None, None]:
        """A connection; asked for on its own, it may read anything."""
        with super().reading() as connection:
            if not self._quiet and ("journal",) not in self._noted:
                self._noted["journal",] = results.fingerprint(connection, ("journal",))
            yield connection

    @property
    def layout(self) -> int:
        """The number of the layout of its tables; no answer rests on it."""
        self._quiet += 1
        try:
            return super().layout
        finally:
            self._quiet -= 1

    def get(self, cls: type[T], name: str) -> T:
        """As of the bench."""
        return self._ask(("one", kind_of(cls), name), lambda: super(WatchedBench, self).get(cls, name))  # fmt: skip

    def find(self, cls: type[T], name: str) -> T | None:
        """As of the bench; that nothing is there is noted too."""
        return self._ask(("one", kind_of(cls), name), lambda: super(WatchedBench, self).find(cls, name))  # fmt: skip

    def state(self, cls: type, name: str) -> Revision:
        """As of the bench."""
        return self._ask(("one", kind_of(cls), name), lambda: super(WatchedBench, self).state(cls, name))  # fmt: skip

    def standing(self, cls: type, name: str) -> Revision | None:
        """As of the bench."""
        return self._ask(("one", kind_of(cls), name), lambda: super(WatchedBench, self).standing(cls, name))  # fmt: skip

    def all(self, cls: type[T], *, of: str | None = None) -> list[T]:
        """As of the bench; a record that comes later is noticed."""
        kind = kind_of(cls)
        read = ("all", kind) if of is None else ("all", kind, of)
        return self._ask(read, lambda: super(WatchedBench, self).all(cls, of=of))

    def names(self, cls: type) -> list[str]:
        """As of the bench."""
        return self._ask(("all", kind_of(cls)), lambda: super(WatchedBench, self).names(cls))

    def latest(self, cls: type[T], *, count: int, skip: int = 0, of: str | None = None) -> list[T]:
        """As of the bench; any change of the kind counts."""
        ask = super().latest
        return self._ask(("all", kind_of(cls)), lambda: ask(cls, count=count, skip=skip, of=of))

    def around(
        self, cls: type[T], of: Sequence[str], owners: Sequence[type], *, field: str
    ) -> list[T]:
        """As of the bench; any change of the kind counts."""
        ask = super().around
        return self._ask(("all", kind_of(cls)), lambda: ask(cls, of, owners, field=field))

    def saying(self, cls: type[T], field: str, text: str | bool) -> list[T]:
        """As of the bench; any change of the kind counts."""
        ask = super().saying
        return self._ask(("all", kind_of(cls)), lambda: ask(cls, field, text))

    def count(self, cls: type) -> int:
        """As of the bench."""
        return self._ask(("all", kind_of(cls)), lambda: super(WatchedBench, self).count(cls))

    def to_pick_from(self, cls: type, *, most: int = 500) -> list[str]:
        """As of the bench."""
        ask = super().to_pick_from
        return self._ask(("all", kind_of(cls)), lambda: ask(cls, most=most))

    def series(self, name: str) -> dict[str, list[float | None]]:
        """As of the bench."""
        return self._ask(("series", name), lambda: super(WatchedBench, self).series(name))
