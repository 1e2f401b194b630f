"""The electrodes of a bench, newest first, a page at a time: recipe, area, outcome, measured or not."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode import units
from aerode.records.electrodes import Cell, Electrode, RecipeState
from aerode.records.mixes import Mix
from aerode.records.runs import Run, RunSort

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.store.bench_file import BenchFile

__all__ = ["PAGE", "ElectrodeLine", "ElectrodeList", "area_words", "find_by_label", "find_mix_by_code", "list_electrodes", "load_runs", "measured_words", "recipe_words", "runs_of"]  # fmt: skip

PAGE = 25
"""Electrodes on one page of the list."""
_LABEL = re.compile(
    r"^\s*(?P<kind>electrode|mix)\s+(?P<name>.+?)\s+id\s+(?P<id>[0-9a-f]{8,32})\s*$", re.IGNORECASE
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ElectrodeLine:
    """One electrode in the list."""

    name: str
    recipe: str
    area: str
    made: str
    outcome: str
    whole: bool
    control: bool
    runs: int
    """Runs of load steps with at least one reading."""
    measured: str
    """The same in words, with all its runs counted, as the heading of its own page has it."""
    state_of: str
    """The piece it is a later state of; "" for a piece in its first state."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ElectrodeList:
    """A page of electrodes, and how many there are."""

    lines: tuple[ElectrodeLine, ...]
    total: int
    skip: int
    count: int


def list_electrodes(bench: BenchFile, *, skip: int = 0, count: int = PAGE) -> ElectrodeList:
    """A page of electrodes, newest first. Only the records of this page are read.

    Parameters
    ----------
    bench : BenchFile
        Open.
    skip, count : int
        How many newer ones to leave out, and how many to show.

    Returns
    -------
    ElectrodeList
    """
    lines = tuple(_line(bench, one) for one in bench.latest(Electrode, count=count, skip=skip))
    return ElectrodeList(lines=lines, total=bench.count(Electrode), skip=skip, count=count)


def _line(bench: BenchFile, electrode: Electrode) -> ElectrodeLine:
    runs = runs_of(bench, electrode.name)
    return ElectrodeLine(
        name=electrode.name,
        recipe=electrode.recipe or recipe_words(electrode),
        area=area_words(electrode),
        made=electrode.made[:10],
        outcome=electrode.outcome.value,
        whole=electrode.outcome.value == "whole",
        control=electrode.control,
        runs=load_runs(runs),
        measured=measured_words(runs),
        state_of=electrode.build if electrode.build != electrode.name else "",
    )


def load_runs(runs: Sequence[Run]) -> int:
    """How many of these runs are load steps with at least one reading."""
    return sum(1 for run in runs if run.sort is RunSort.LOADS and run.readings)


def measured_words(runs: Sequence[Run]) -> str:
    """In how many runs a piece was measured, as its list and its own page both say it.

    Parameters
    ----------
    runs : sequence of Run
        All of the piece: an ammeter's reading, a seep test or a log counts among "all".

    Examples
    --------
    >>> from aerode.records.runs import Reading, Run, RunSort
    >>> loads = Run(name="a", readings=(Reading(load="10 ohm", voltage=0.5),))
    >>> measured_words([loads])
    'measured in one run'
    >>> measured_words([loads, Run(name="b", sort=RunSort.SHORT_CIRCUIT)])
    'measured in one run of load steps, 2 runs in all'
    >>> measured_words([])
    'not measured yet'
    """
    count, every = load_runs(runs), len(runs)
    words = "one run" if count == 1 else f"{count} runs"
    if not count:
        return f"no load steps yet, {every} run{'' if every == 1 else 's'} in all" if every else "not measured yet"  # fmt: skip
    return f"measured in {words}" + (
        f" of load steps, {every} runs in all" if every > count else ""
    )


def recipe_words(electrode: Electrode) -> str:
    """What a piece without the name of a recipe is made of: its mixes, else what its state says."""
    mixes = list(dict.fromkeys(layer.mix for layer in electrode.layers if layer.mix))
    if mixes:
        return " on ".join(mixes)
    if electrode.recipe_state is RecipeState.MIX:
        return "recipe not noted"
    return electrode.recipe_state.value


def runs_of(bench: BenchFile, electrode: str) -> list[Run]:
    """The runs of an electrode, its own and those of its cells, in the order of first storing.

    Parameters
    ----------
    bench : BenchFile
        Open.
    electrode : str
        Its name.

    Returns
    -------
    list of Run
    """
    found = [run for run in bench.all(Run, of=electrode) if run.electrode in ("", electrode)]
    for cell in bench.all(Cell, of=electrode):
        found += [run for run in bench.all(Run, of=cell.name) if run.electrode in ("", electrode)]
    return list({run.name: run for run in found}.values())


def area_words(electrode: Electrode) -> str:
    """The wetted area as a person writes it; "" where it was not entered."""
    area = electrode.wetted_area
    if area is None:
        return ""
    return units.write(area.value, "m^2", area.standard_uncertainty, to="cm^2").replace("^2", "²")


def find_by_label(bench: BenchFile, text: str) -> tuple[str, list[str]]:
    """The electrode that a label or a typed name means.

    Parameters
    ----------
    bench : BenchFile
        Open.
    text : str
        A name, the beginning of one, or what the square code of a label says.

    Returns
    -------
    (str, list of str)
        The name, "" if none fits alone; and the names that come near.

    Notes
    -----
    A label holds the name of its day and an identity. The identity is asked first, so a piece that
    was renamed is found by its old label.
    """
    label = _LABEL.match(text)
    wanted = label["name"] if label else text.strip()
    standing = bench.find(Electrode, wanted) is not None
    if label and (found := _by_identity(bench, Electrode, wanted, label["id"], standing=standing)):
        return found, []
    if standing:
        return wanted, []
    names = bench.to_pick_from(Electrode, most=20_000)
    folded = wanted.casefold()
    near = [name for name in names if folded in name.casefold()]
    exact = [name for name in near if name.casefold() == folded]
    if len(exact) == 1 or len(near) == 1:
        return (exact or near)[0], []
    return "", near[:PAGE]


def find_mix_by_code(bench: BenchFile, text: str) -> str:
    """The mix that the square code of a bench sheet means; "" where the text is no such code.

    Parameters
    ----------
    bench : BenchFile
        Open.
    text : str
        As a reader gives it: "mix A id 0123456789ab". The identity is asked before the name.
    """
    code = _LABEL.match(text)
    if code is None or code["kind"].lower() != "mix":
        return ""
    standing = bench.find(Mix, code["name"]) is not None
    found = _by_identity(bench, Mix, code["name"], code["id"], standing=standing)
    return found or (code["name"] if standing else "")


def _by_identity(bench: BenchFile, cls: type, name: str, identity: str, *, standing: bool) -> str:
    """The name that the record of an identity bears now; "" where it is not on the lists."""
    if standing and bench.state(cls, name).record.startswith(identity.lower()):
        return name
    named = [r for r in bench.history(cls) if r.record.startswith(identity.lower())]
    return named[-1].name if named and not named[-1].withdrawn else ""
