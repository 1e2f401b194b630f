"""Put a copy in the place of the bench, seen first: what it holds, what would be lost, a backup before."""

from __future__ import annotations

import shutil
import tempfile
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from aerode.errors import AerodeError, DamagedError, InputError, OlderFileError
from aerode.records.places import Bench
from aerode.store import backups, package_in
from aerode.store.bench_file import BenchFile
from aerode.store.connecting import place_of
from aerode.store.holding import Holding, holding, missing_in
from aerode.usecases.bench_copies import migrate, pack_logs, restore
from aerode.usecases.bench_package import is_package

if TYPE_CHECKING:
    from collections.abc import Generator
    from datetime import datetime

    from aerode.records.bench_copies import BenchRestore
    from aerode.store.connecting import Place
    from aerode.store.holding import Missing

__all__ = ["MOST_LINES", "CopySeen", "LostLine", "PutBack", "look_at_copy", "put_back"]

MOST_LINES = 40
"""Records named among those that would go; the rest is counted."""
SAFETY = "before-putting-back"
"""The word in the name of the backup that is made first; the keeping rule never removes it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LostLine:
    """One record that is newer on the bench than in the copy."""

    kind: str
    name: str
    at: str
    """The moment of its newest state."""
    who: str
    whole: bool
    """True where the copy knows nothing of it at all; otherwise it has an earlier state."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CopySeen:
    """What putting a copy back would do. Nothing is changed by looking."""

    name: str
    made: str
    """When the backup was made, ISO 8601; "" for a file that does not say."""
    held: Holding
    same_bench: bool | None
    """Whether it is a copy of this bench; None where the bench cannot be read."""
    older: bool
    """Whether it is brought up to date when it is put back."""
    lost: tuple[LostLine, ...] = ()
    lost_states: int = 0
    lost_records: int = 0
    """Of which the copy knows nothing at all."""
    lost_logs: int = 0
    lost_files: int = 0
    unreadable: AerodeError | None = field(default=None)
    """Why what stands on the bench now cannot be compared."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PutBack:
    """What was done: the answer of the restoring, and the backup that was made first."""

    done: BenchRestore
    safety: str
    """The name of the backup; "" where the bench was too damaged to be backed up."""
    brought_up: bool


def _refuse_shared(bench: str) -> Place:
    place = place_of(bench)
    if place.path is None:
        raise InputError(
            "this bench is kept in a shared database, and nothing is ever put in its place",
            where=place.label,
            allowed="a bench in a file",
            next_step="bring the copy in instead: what is missing comes back, nothing is lost",
        )
    return place


@contextmanager
def _as_bench_file(copy: Path) -> Generator[Path, None, None]:
    """The copy as a bench file of its own that may be opened for writing; it is gone afterwards."""
    with tempfile.TemporaryDirectory() as folder:
        laid_out = Path(folder) / "copy.aerode"
        if is_package(copy):
            package_in.make_from(laid_out, copy)
        else:
            with BenchFile.open(copy, read_only=True):
                pass  # what is no bench is refused by its own name
            shutil.copyfile(copy, laid_out)
        yield laid_out


def look_at_copy(bench: str, copy: Path, *, made: str = "") -> CopySeen:
    """What a copy holds, and what would go if it were put in the place of the bench.

    Parameters
    ----------
    bench : str
        The bench file; it may be damaged.
    copy : Path
        A backup, another bench file, or a package.
    made : str
        When it was made, where its name says so.

    Returns
    -------
    CopySeen

    Raises
    ------
    DamagedError
        The copy is not whole.
    NewerFileError
        A newer version of the program wrote it.
    InputError, StoreError
        It is no bench; or the bench lies in a shared database.
    """
    place = _refuse_shared(bench)
    assert place.path is not None
    with _as_bench_file(copy) as laid_out:
        older = _is_older(laid_out)
        _refuse_damaged(laid_out, copy.name)
        held = holding(laid_out)
        try:
            missing = missing_in(laid_out, place.path, most=10 * MOST_LINES)
            own = holding(place.path).identity
        except AerodeError as refusal:
            return CopySeen(
                name=copy.name, made=made, held=held, same_bench=None, older=older, unreadable=refusal
            )  # fmt: skip
    lines = _lines(missing)
    return CopySeen(
        name=copy.name, made=made, held=held, same_bench=own == held.identity, older=older,
        lost=lines[:MOST_LINES], lost_states=missing.count, lost_records=len(missing.new),
        lost_logs=missing.logs, lost_files=missing.files,
    )  # fmt: skip


def _refuse_damaged(laid_out: Path, name: str) -> None:
    with BenchFile.open(laid_out, read_only=True) as held:
        found = held.check()
    if not found.whole:
        raise DamagedError(
            f"this copy is damaged, so it cannot be put back ({found.headline.removeprefix('DAMAGED: ')})",
            where=name,
            next_step="take another copy",
        )


def _is_older(laid_out: Path) -> bool:
    """Whether it has to be brought up to date; one of a newer version is refused."""
    try:
        BenchFile.open(laid_out).close()
    except OlderFileError:
        return True
    return False


def _lines(missing: Missing) -> tuple[LostLine, ...]:
    """Each record once, by its newest state."""
    found: dict[str, LostLine] = {}
    for state in missing.states:
        if state.record not in found:
            found[state.record] = LostLine(
                kind=state.kind, name=state.name, at=state.at, who=state.who,
                whole=state.record in missing.new,
            )  # fmt: skip
    return tuple(found.values())


def put_back(bench: str, copy: Path, *, moment: datetime) -> PutBack:
    """Put a copy in the place of the bench, after a backup of what stands there.

    Whoever calls this sees to it that nobody else in this program has the bench open; another
    program that has it open is found out, and nothing is changed.

    Parameters
    ----------
    bench : str
        The bench file; it may be damaged, and is then kept aside as it is.
    copy : Path
        A backup, another bench file, or a package.
    moment : datetime
        Goes into the names of the backup and of the file that is kept aside.

    Returns
    -------
    PutBack

    Raises
    ------
    BusyError
        Another program has the bench open; nothing was changed.
    DamagedError, NewerFileError, InputError, StoreError
        As `look_at_copy`; or the backup could not be made. Nothing was changed.
    """
    place = _refuse_shared(bench)
    with _as_bench_file(copy) as laid_out:
        older = _is_older(laid_out)
        _refuse_damaged(laid_out, copy.name)
    safety = _back_up_first(bench, moment)
    try:
        done = restore(bench, copy, moment=moment)
    except BaseException:
        if safety is not None:
            safety.unlink(missing_ok=True)  # nothing was changed, so nothing has to be kept
        raise
    if older:
        migrate(bench, moment=moment)
    with BenchFile.open(place.label) as opened:
        opened.all(Bench)  # it opens, and can be written
    return PutBack(done=done, safety=safety.name if safety else "", brought_up=older)


def _back_up_first(bench: str, moment: datetime) -> Path | None:
    """A backup of the bench as it stands; None where it cannot be read whole.

    A bench that is not whole is no reason not to put a copy back; a full disk is one.
    """
    pack_logs(bench)
    try:
        with BenchFile.open(bench, read_only=True) as store:
            made, _ = backups.back_up(store, moment=moment, why=SAFETY)
    except DamagedError:
        return None
    except AerodeError:
        if _can_be_read(bench):
            raise
        return None
    return made.path


def _can_be_read(bench: str) -> bool:
    try:
        with BenchFile.open(bench, read_only=True) as store:
            return store.check().whole
    except AerodeError:
        return False
