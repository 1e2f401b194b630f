"""Who takes part in a comparison: a run, its electrode and its cell, and on which side it stands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from aerode.records.electrodes import Cell, Electrode
    from aerode.records.materials import Electrolyte
    from aerode.records.runs import Run

__all__ = ["Entrant", "first_states", "recipe_of", "session_of", "temperature_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Entrant:
    """One run of load steps, with the electrode and the cell it was taken on."""

    run: Run
    electrode: Electrode
    cell: Cell | None = None
    cell_how: str = ""
    """Why it is this cell, where the run names none itself."""
    electrolyte: Electrolyte | None = None
    """The batch that the cell names, where it is on the shelf."""

    @property
    def recipe(self) -> str:
        """The side it stands on."""
        return recipe_of(self.electrode)

    @property
    def control(self) -> bool:
        """Whether it is a reading of the control."""
        return self.run.control or self.electrode.control


def recipe_of(electrode: Electrode) -> str:
    """The name under which separately built pieces of one recipe stand together.

    Parameters
    ----------
    electrode : Electrode [record]
        Its `recipe`; where that is empty, its factors; where there are none, its mixes; where
        nothing at all is known, the piece itself (then it has no fellow).

    Returns
    -------
    str

    Examples
    --------
    >>> from aerode.records.electrodes import Electrode
    >>> recipe_of(Electrode(name="T5", factors={"wax": 0.04, "binder": 0.15}))
    'binder 0.15, wax 0.04'
    >>> recipe_of(Electrode(name="T9"))
    'T9'
    """
    if electrode.recipe:
        return electrode.recipe
    if electrode.factors:
        return ", ".join(
            f"{name} {_plain(value)}" for name, value in sorted(electrode.factors.items())
        )
    mixes = sorted({layer.mix for layer in electrode.layers if layer.mix})
    return " + ".join(mixes) if mixes else electrode.piece


def _plain(value: float | str) -> str:
    return value if isinstance(value, str) else f"{value:g}"


def session_of(run: Run) -> str:
    """The session of a run; a run that names none is a session of its own.

    Parameters
    ----------
    run : Run [record]

    Returns
    -------
    str
    """
    return run.session or f"(run {run.name})"


def first_states(electrodes: Iterable[Electrode]) -> dict[str, str]:
    """For each piece of matter, the name of its earliest state among these electrodes.

    A washed or re-pressed electrode is entered under a new name with the same build: a later
    state. The earliest is the one that bears the build's own name, else the one made first,
    else the one handed in first.

    Parameters
    ----------
    electrodes : iterable of Electrode [record]

    Returns
    -------
    dict of str to str
        Piece to electrode name.

    Examples
    --------
    >>> from aerode.records.electrodes import Electrode
    >>> first_states([Electrode(name="T4 washed", build="T4"), Electrode(name="T4")])
    {'T4': 'T4'}
    """
    states: dict[str, list[Electrode]] = {}
    for electrode in electrodes:
        states.setdefault(electrode.piece, []).append(electrode)
    return {piece: _earliest(piece, found) for piece, found in states.items()}


def _earliest(piece: str, found: Sequence[Electrode]) -> str:
    for electrode in found:
        if electrode.name == piece:
            return electrode.name
    dated = [electrode for electrode in found if electrode.made]
    return min(dated, key=lambda e: e.made).name if len(dated) == len(found) else found[0].name


def temperature_of(run: Run) -> float | None:
    """The temperature of the cell in a run [K]: as noted, else the mean of its readings; None where neither is.

    Examples
    --------
    >>> from aerode.records.runs import Reading, Run
    >>> warm = [Reading(voltage=0.4, temperature=t) for t in (295.0, 297.0)]
    >>> temperature_of(Run(name="r", readings=tuple(warm)))
    296.0
    """
    if run.temperature.value is not None:
        return run.temperature.value
    read = [r.temperature for r in run.readings if r.temperature is not None]
    return sum(read) / len(read) if read else None
