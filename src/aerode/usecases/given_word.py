"""What somebody says was the same for all though nobody measured it: kept on the bench, and taken back."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from aerode.errors import InputError
from aerode.measure.comparison.conditions import CONDITIONS, REST, check_same
from aerode.records.electrodes import Electrode
from aerode.records.marks import Condition, Known
from aerode.usecases.changing import change_record
from aerode.usecases.run_keeping import keep_run, read_run

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable
    from datetime import datetime

    from aerode.records.comparisons import Comparison
    from aerode.records.results import ConditionLine
    from aerode.store.bench_file import BenchFile

__all__ = ["REST", "keep_word", "take_back_word"]

_AREA = "area"
_SAME = "same"
_FIELDS = {kind.key: kind.field for kind in CONDITIONS}


def keep_word(
    bench: BenchFile, found: Comparison, said: Collection[str], *, moment: datetime, who: str = ""
) -> tuple[str, ...]:
    """Keep on the bench that conditions which block a comparison were the same for all of its runs.

    It is put down of each run it is not known of (of the wetted area, of each electrode), so that it
    holds wherever these runs are compared, until it is taken back or measured. A run that is measured
    later has nobody's word yet. Each state it changes says in the history when, by whom and why.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    found : Comparison
        The comparison that is blocked, made without these words.
    said : collection of str
        Keys of conditions ("salinity"), or "rest" for all that block.
    moment : datetime
        When it is said.
    who : str
        Who says it; "" where that is not known.

    Returns
    -------
    tuple of str
        The conditions that were put down, in words.

    Raises
    ------
    InputError
        A word is no condition, or none of them blocks this comparison.
    """
    check_same(said)
    lines = [c for c in found.conditions if c.blocks and (c.key in said or REST in said)]
    if not lines:
        raise InputError(
            "none of these blocks the comparison, so there is nothing to keep",
            where="same",
            allowed=", ".join(c.key for c in found.conditions if c.blocks) or "nothing blocks",
            next_step="leave it out",
        )
    by = f"said{f' by {who}' if who else ''} when comparing, {moment.date().isoformat()}"
    for line in lines:
        why = f"{line.condition}: taken as the same for all, not measured"
        _put(bench, line, Condition(known=Known.SAME, how=by, text=_SAME), why=why, who=who)
    return tuple(line.condition for line in lines)


def take_back_word(
    bench: BenchFile, found: Comparison, keys: Collection[str], *, who: str = ""
) -> tuple[str, ...]:
    """Take back what was kept on somebody's word: these conditions may differ again.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    found : Comparison
        The comparison that rests on it.
    keys : collection of str
        Keys of conditions, or "rest" for all.
    who : str

    Returns
    -------
    tuple of str
        The conditions that were taken back, in words.

    Raises
    ------
    InputError
        A word is no condition, or nothing was kept of it.
    """
    check_same(keys)
    lines = [c for c in found.conditions if c.on_word and (c.key in keys or REST in keys)]
    if not lines:
        raise InputError(
            "the comparison does not rest on anybody's word for these",
            where="take_back",
            allowed=", ".join(c.key for c in found.conditions if c.on_word) or "nothing to take back",
            next_step="look at the table of conditions for how each is known",
        )  # fmt: skip
    for line in lines:
        _put(bench, line, Condition(), why=f"{line.condition}: the word was taken back", who=who)
    return tuple(line.condition for line in lines)


def _put(bench: BenchFile, line: ConditionLine, to: Condition, *, why: str, who: str) -> None:
    if line.key == _AREA:
        _put_alike(bench, line.runs, alike=to.known is Known.SAME, why=why, who=who)
        return
    field = _FIELDS[line.key]
    for name in line.runs:
        stored = read_run(bench, name)
        before: Condition = getattr(stored.run, field)
        lot = before.text if before.text != _SAME else ""  # a lot of aluminium stays named
        now = replace(to, text=lot or to.text) if line.key == "aluminium" else to
        if before != now:
            keep_run(bench, replace(stored.run, **{field: now}), stored, why=why)


def _put_alike(bench: BenchFile, names: Iterable[str], *, alike: bool, why: str, who: str) -> None:
    for name in names:
        change_record(
            bench, Electrode, name, lambda one: replace(one, area_alike=alike), why=why, who=who
        )
