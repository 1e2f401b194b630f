"""The gate before the bench: everybody passes, until one has to have the file to himself."""

from __future__ import annotations

import asyncio
import threading
import time
from contextlib import contextmanager
from typing import TYPE_CHECKING

from aerode.errors import BusyError

if TYPE_CHECKING:
    from collections.abc import Generator

__all__ = ["Gate"]

_LOOK = 0.02
"""Between two looks at a gate that is shut [s]."""


class Gate:
    """Counts who is at the bench, and holds everybody else while one is there alone.

    Nobody waits for long: whoever cannot be alone soon is refused, and the gate stands open again.

    Parameters
    ----------
    wait : float
        The longest that somebody waits, for the others to leave or for the gate to open [s].

    Examples
    --------
    >>> gate = Gate(wait=0.1)
    >>> with gate.among(), gate.among():
    ...     gate.inside
    2
    >>> with gate.alone():
    ...     gate.inside
    0
    """

    def __init__(self, *, wait: float = 10.0) -> None:
        self._wait = wait
        self._inside = 0
        self._shut = False
        self._changed = threading.Condition()

    @property
    def inside(self) -> int:
        """How many are at the bench."""
        return self._inside

    def _pass(self) -> bool:
        with self._changed:
            if not self._shut:
                self._inside += 1
            return not self._shut

    async def enter(self) -> None:
        """Go to the bench; while the gate is shut, wait without holding a thread.

        Raises
        ------
        BusyError
            It stayed shut.
        """
        until = time.monotonic() + 6.0 * self._wait
        while not self._pass():
            if time.monotonic() > until:
                raise _shut()
            await asyncio.sleep(_LOOK)

    def leave(self) -> None:
        """Go away from the bench."""
        with self._changed:
            self._inside -= 1
            self._changed.notify_all()

    @contextmanager
    def among(self) -> Generator[None, None, None]:
        """At the bench among others; for what runs in a thread.

        Raises
        ------
        BusyError
            The gate stayed shut.
        """
        with self._changed:
            if not self._changed.wait_for(lambda: not self._shut, timeout=6.0 * self._wait):
                raise _shut()
            self._inside += 1
        try:
            yield
        finally:
            self.leave()

    @contextmanager
    def alone(self) -> Generator[None, None, None]:
        """At the bench alone: whoever is there leaves first, whoever comes waits outside.

        Raises
        ------
        BusyError
            Somebody is alone there already, or the others did not leave.
        """
        with self._changed:
            if self._shut:
                raise _shut()
            self._shut = True
        try:
            with self._changed:
                if not self._changed.wait_for(lambda: self._inside == 0, timeout=self._wait):
                    raise BusyError(
                        "another page is at work on this bench, so nothing was changed",
                        next_step="let it end, or stop the download, and do it again",
                    )
            yield
        finally:
            with self._changed:
                self._shut = False
                self._changed.notify_all()


def _shut() -> BusyError:
    return BusyError(
        "a copy is being put in the place of this bench just now",
        next_step="wait a moment and do it again",
    )
