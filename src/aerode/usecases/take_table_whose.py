"""Which column of a table belongs to which electrode."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Protocol

from aerode.errors import InputError, some_of
from aerode.records.electrodes import Electrode

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.store.bench_file import BenchFile

__all__ = ["OWN", "Named", "shares", "told_owners"]

OWN = {"voltage", "current", "power", "charge", "current_density", "power_density"}
"""What is read at one electrode; the time, the temperature and the load may be of all."""


class Named(Protocol):
    """A column: its heading, and what it holds."""

    @property
    def heading(self) -> str:
        """As it stands in the file."""
        ...

    @property
    def role(self) -> str:
        """The quantity; "" where it is not understood."""
        ...


def told_owners(bench: BenchFile, of: dict[str, str], electrode: str) -> dict[str, str]:
    """Heading, channel or block → electrode, as a person said it.

    Raises
    ------
    NotFoundError
        No electrode of that name.
    """
    for name in (*of, *([electrode] if electrode else [])):
        bench.get(Electrode, name)
    return {what: name for name, what in of.items()}


def shares(
    bench: BenchFile,
    columns: Sequence[Named],
    part: str,
    told: dict[str, str],
    electrode: str,
    where: str,
) -> dict[str, list[int]]:
    """Electrode → the places (from 0) of the columns that are read at it, and of those for all.

    Parameters
    ----------
    bench : BenchFile
        Its electrodes are known by their names in the headings.
    columns : sequence
        All columns.
    part : str
        The title of the block, or the channel.
    told : dict
        What `told_owners` gave.
    electrode : str
        Whose run it is, where it is the run of one.
    where : str
        The file.

    Raises
    ------
    InputError
        Nothing tells whose a column is; or two columns of one electrode hold the same quantity.
    """
    names = bench.names(Electrode)
    own = [place for place, column in enumerate(columns) if column.role in OWN]
    common = [p for p, c in enumerate(columns) if c.role and c.role not in OWN]
    found: dict[str, list[int]] = {}
    strangers: list[str] = []
    for place in own:
        heading = columns[place].heading
        owner = told.get(heading) or told.get(part, "")
        if not told:  # what is said goes alone; without a word the names in the headings count
            owner = electrode or _named_in(heading, names) or _named_in(part, names)
        if owner:
            found.setdefault(owner, []).append(place)
        else:
            strangers.append(heading)
    if strangers and not told:
        raise _whose(strangers, names, where)
    for owner, places in found.items():
        _refuse_doubled(owner, [columns[place] for place in places], where)
    return {owner: sorted([*places, *common]) for owner, places in found.items()}


def _named_in(text: str, names: Sequence[str]) -> str:
    """The electrode whose name stands in a heading as a word, the longest of them."""
    for name in sorted(names, key=len, reverse=True):
        if re.search(rf"(?<!\w){re.escape(name)}(?!\w)", text):
            return name
    return ""


def _whose(headings: Sequence[str], names: Sequence[str], where: str) -> InputError:
    return InputError(
        f"nothing tells whose readings stand under {some_of((repr(h) for h in headings), 4)}",
        where=where,
        allowed=some_of(names) or "an electrode of this bench (there is none yet)",
        next_step=f'name the electrode before --from, or say it: --of "T6={headings[0]}"',
    )


def _refuse_doubled(owner: str, columns: Sequence[Named], where: str) -> None:
    by_role: dict[str, list[str]] = {}
    for column in columns:
        by_role.setdefault(column.role, []).append(column.heading)
    for role, headings in by_role.items():
        if len(headings) > 1:
            raise InputError(
                f"{len(headings)} columns can be the {role.replace('_', ' ')} of {owner}: "
                f"{some_of((repr(h) for h in headings), 6)}",
                where=where,
                allowed="one of them, or one for each electrode",
                next_step=f'say whose each is: --of "{owner}={headings[0]}" --of "OTHER={headings[1]}"',
            )
