"""Bring a package onto a bench: where nothing is, the whole bench; elsewhere what is not there yet."""

from __future__ import annotations

from pathlib import Path
from typing import IO, TYPE_CHECKING

from aerode.records.bench_packages import BenchPackageImport, KindTaken
from aerode.store import package_in
from aerode.store.bench_file import BenchFile, now
from aerode.store.connecting import place_of
from aerode.store.restoring import put_in_place

if TYPE_CHECKING:
    import os
    from datetime import datetime

    from aerode.store.taking import Taken

__all__ = ["import_package", "is_package"]


def is_package(source: str | os.PathLike[str]) -> bool:
    """True for a `.zip`, and for a folder with the history of a bench in it."""
    path = Path(source)
    return (path.is_file() and path.suffix.lower() == ".zip") or (
        path / package_in.HISTORY
    ).is_file()


def import_package(
    bench: str | os.PathLike[str],
    source: str | Path | IO[bytes],
    *,
    moment: datetime | None = None,
) -> BenchPackageImport:
    """Bring a package onto a bench.

    Where nothing is yet, or only a title, the bench of the package is made, with its identity, its
    journal and every digest; the file with the title is kept aside. Onto any other bench come those
    states, series and files that are not there yet; what was changed in both becomes a conflict.

    Parameters
    ----------
    bench : path or str
        The bench file, which need not be there; or the address of a PostgreSQL database.
    source : path or file
        A `.zip`, an unpacked folder, or an open file that can go back and forth.
    moment : datetime, optional
        For the name of a file that is kept aside; now otherwise.

    Returns
    -------
    BenchPackageImport

    Raises
    ------
    InputError
        It is no archive, or one that is not to be trusted.
    DamagedError
        Something in it does not agree with its digest.
    StoreError
        Fields of the package were withheld; nothing was changed.
    """
    place = place_of(bench)
    label = str(source) if isinstance(source, str | Path) else "the package"
    if package_in.is_vacant(place):
        return _answer(package_in.make_from(bench, source), label, place.label, new=True)
    with BenchFile.open(bench) as store:
        replaced = place.path is not None and package_in.only_its_title(store)
        if not replaced:
            taken = package_in.take_in_package(store, source)
            return _answer(
                taken, label, place.label, conflicts=tuple(package_in.conflicts_of(store))
            )
    assert place.path is not None
    held: list[Taken] = []
    done = put_in_place(
        place.path, lambda new: held.append(package_in.make_from(new, source)),
        moment=moment or now(),
    )  # fmt: skip
    return _answer(held[0], label, place.label, new=True, kept_aside=str(done.kept_aside or ""))


def _answer(
    taken: Taken,
    source: str,
    bench: str,
    *,
    new: bool = False,
    conflicts: tuple[str, ...] = (),
    kept_aside: str = "",
) -> BenchPackageImport:
    states = sum(taken.states.values())
    count = "one state" if states == 1 else f"{states} states"
    headline = (
        f"Made {bench} from the package: {count}" if new else f"Took in {count} that were new"
    )
    if not new and not taken.new:
        headline = "Nothing new: all of it is on this bench already"
    if conflicts:
        headline += f"; {len(conflicts)} to be settled"
    return BenchPackageImport(
        headline=headline,
        source=source,
        bench=bench,
        new_bench=new,
        kinds=tuple(KindTaken(kind=kind, states=n) for kind, n in sorted(taken.states.items())),
        series_chunks=taken.chunks,
        files=taken.files,
        known=taken.known,
        conflicts=conflicts,
        kept_aside=kept_aside,
    )
