"""The fast solver made ready before it is asked for, beside the pages and at low priority; how far it is.

Its loops are translated to machine code once for each version of the program and of the compiling
library, and kept in the user's cache folder. That takes some twenty seconds of one core; done inside
the program that serves the pages, it would hold up every page.
"""

from __future__ import annotations

import contextlib
import platform
import subprocess
import sys
import time
from dataclasses import dataclass
from hashlib import sha256
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import TYPE_CHECKING

from aerode.physics.cathode import compiled

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["PARTS", "GettingReady", "Standing", "is_ready"]

PARTS = 26
"""Loops of the solver that are translated, one after the other."""
_MOST = 600.0  # judgement: longer than the slowest machine takes [s]; then the page does it itself
_LETTERS = 16  # numerical: letters of the digest that name the mark
_WORK = (
    "import os; getattr(os, 'nice', int)(10)\n"
    "from aerode.physics.cathode.compiled import prepare; prepare()"
)


@dataclass(frozen=True, slots=True)
class Standing:
    """How far it is: loops translated of all of them, and since when [s]."""

    done: int
    of: int
    seconds: float


def _mark() -> Path | None:
    """The file that says: this program and this library have been through. None: nothing is to be done."""
    folder = compiled.cache_folder()
    try:
        library = version("numba")
    except PackageNotFoundError:
        return None
    if folder is None:
        return None
    where = Path(str(compiled.__file__)).parent
    # The library keeps what it translated apart for each place a program is installed at, and for each processor.
    told = f"{library} {sys.version} {platform.machine()} {platform.processor()} {where.resolve()}"
    digest = sha256(told.encode())
    for file in sorted(where.glob("*.py")):
        digest.update(file.read_bytes())
    return folder / f"ready-{digest.hexdigest()[:_LETTERS]}"


def is_ready() -> bool:
    """Tell whether a first prediction has nothing to wait for, as far as can be seen from outside.

    Returns
    -------
    bool
        True also where there is nothing to make ready: without the compiling library.
    """
    mark = _mark()
    return mark is None or mark.exists()


class GettingReady:
    """The translation in a program of its own, begun once and looked at while it runs.

    Parameters
    ----------
    command : sequence of str, optional
        What to run instead.
    clock : callable, optional
        Gives seconds from any start.
    """

    def __init__(
        self, command: list[str] | None = None, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._command = command or [sys.executable, "-c", _WORK]
        self._clock = clock
        self._mark = _mark()
        self._work: subprocess.Popen[bytes] | None = None
        self._begun = 0.0
        self._before: set[tuple[Path, int]] = set()

    def start(self) -> None:
        """Begin, where something is to be done; on a refusal of the system nothing is lost."""
        if self._work is not None or self._mark is None or self._mark.exists():
            return
        self._begun, self._before = self._clock(), self._files()
        low = getattr(subprocess, "BELOW_NORMAL_PRIORITY_CLASS", 0)
        with contextlib.suppress(OSError):
            self._work = subprocess.Popen(
                self._command, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL, creationflags=low,
            )  # fmt: skip

    def standing(self) -> Standing | None:
        """How far it is; None where a prediction has nothing to wait for any more.

        Returns
        -------
        Standing or None
            None too where it failed or takes too long: then the first prediction does the work itself.
        """
        if self._work is None:
            return None
        seconds = self._clock() - self._begun
        ended = self._work.poll()
        if ended is None and seconds <= _MOST:
            return Standing(min(self._translated(), PARTS - 1), PARTS, seconds)
        self.stop()
        if ended == 0 and self._mark is not None:
            with contextlib.suppress(OSError):
                self._mark.touch()
        return None

    def _translated(self) -> int:
        """Files of translated code that were not there at the start, or are other ones by now."""
        return len(self._files() - self._before)

    def _files(self) -> set[tuple[Path, int]]:
        """Each with the moment of its last change, as the disk counts it."""
        found: set[tuple[Path, int]] = set()
        for file in self._mark.parent.rglob("*.nbi") if self._mark is not None else ():
            with contextlib.suppress(OSError):
                found.add((file, file.stat().st_mtime_ns))
        return found

    def stop(self) -> None:
        """End it, as when the pages are closed; what was translated so far is kept."""
        if self._work is not None:
            if self._work.poll() is None:
                self._work.terminate()
            self._work.wait()
            self._work = None
