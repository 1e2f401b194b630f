"""Merging: whatever happened on the copies of a bench, the union is one, from whichever side."""

from __future__ import annotations

import itertools
import shutil
import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from aerode.errors import AerodeError
from aerode.records.electrodes import Electrode
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_export import export
from aerode.usecases.bench_merge import merge
from aerode.usecases.bench_settle import conflicts_of, settle

NAMES = st.sampled_from(["T1", "T2", "T3"])
ACTS = st.lists(
    st.tuples(st.sampled_from(["put", "rename", "withdraw", "undo"]), NAMES, NAMES), max_size=5
)


def _act(path: Path, acts: list[tuple[str, str, str]]) -> None:
    """Do some things to a copy; what is refused there is left."""
    with BenchFile.open(path, who=path.stem) as bench:
        for act, name, other in acts:
            try:
                if act == "put":
                    bench.put(Electrode(name=name, note=other), why=path.stem)
                elif act == "rename":
                    bench.rename(Electrode, name, other)
                elif act == "withdraw":
                    bench.withdraw(Electrode, name)
                else:
                    bench.undo(Electrode, name)
            except AerodeError:
                continue


def _seen(path: Path) -> tuple[set[str], list[list[str]], list[str]]:
    """Every state, every conflict by its states, and the names on the list."""
    with BenchFile.open(path) as bench:
        assert bench.check().whole
        groups = sorted(sorted(s.digest for s in one.states) for one in conflicts_of(bench))
        return {e.digest for e in bench.history()}, groups, sorted(bench.names(Electrode))


def _merged(folder: Path, into: Path, others: list[Path], number: int) -> Path:
    copy = Path(shutil.copy(into, folder / f"{number}.aerode"))
    with BenchFile.open(copy) as bench:
        for other in others:
            merge(bench, other)
    return copy


@settings(max_examples=10, deadline=None)
@given(ACTS, ACTS, ACTS)
def test_the_order_does_not_matter(
    first: list[tuple[str, str, str]],
    second: list[tuple[str, str, str]],
    third: list[tuple[str, str, str]],
) -> None:
    """Three copies go apart and meet in all six orders, once as a package, once twice over."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with BenchFile.create(folder / "a.aerode", title="one") as bench:
            bench.put_all([Electrode(name="T1"), Electrode(name="T2")])
        paths = [folder / "a.aerode", folder / "b.aerode", folder / "c.aerode"]
        for path in paths[1:]:
            shutil.copy(paths[0], path)
        for path, acts in zip(paths, (first, second, third), strict=True):
            _act(path, acts)
        with BenchFile.open(paths[2], read_only=True) as bench:
            export(bench, folder / "c.zip")

        orders = [list(order) for order in itertools.permutations(paths)]
        orders.append([paths[0], folder / "c.zip", paths[1], paths[1], paths[2]])
        met = [_merged(folder, into, others, n) for n, (into, *others) in enumerate(orders)]

        wanted = _seen(met[0])
        assert all(_seen(path) == wanted for path in met[1:])
        _settle_all(met[0])
        with BenchFile.open(met[1]) as bench:
            merge(bench, met[0])
        assert _seen(met[1]) == _seen(met[0])


def _settle_all(path: Path) -> None:
    """Each conflict ends with its first state, or with another name for it."""
    with BenchFile.open(path) as bench:
        for number in range(20):
            conflicts = conflicts_of(bench)
            if not conflicts:
                return
            one = conflicts[0]
            rename = "" if one.one_record else f"apart {number}"
            settle(bench, one.kind, one.name, keep=one.states[0].digest, rename=rename)
        raise AssertionError("a conflict does not end")
