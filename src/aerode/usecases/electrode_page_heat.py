"""What a plate may do to a piece, said before it is heated: the window of each of its mixes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.cautions import lookup
from aerode.cautions.breathing import organic_liquids
from aerode.cautions.heatings import heatings_of
from aerode.cautions.policy import COLD_PLATE_MARGIN
from aerode.errors import AerodeError
from aerode.physics.water import ZERO_CELSIUS
from aerode.records.electrodes import Electrode
from aerode.records.mixes import Batch, Mix
from aerode.usecases.cautions import CautionQuestion, situation_of
from aerode.usecases.process import mix_on_file
from aerode.usecases.process_pressing import PressQuestion, press

if TYPE_CHECKING:
    from aerode.cautions.situation import Heating
    from aerode.records.processes import PolymerWindow
    from aerode.store.bench_file import BenchFile

__all__ = ["HeatLine", "heat_lines", "hurt_title", "solvent_mixes"]

_ROOM = 298.15
"""[K]; judgement: a room of 25 °C, as the cautions take it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatLine:
    """One mix or pot in the piece: how warm a plate may be, and on what that rests."""

    of: str
    said: str
    rests: tuple[str, ...] = ()
    limits_at: tuple[tuple[str, str, str], ...] = ()
    """(polymer, kind, lot) whose data sheet would take the place of a house rule."""
    known: bool = True
    """False where no line is on file: no heat."""
    softens: float | None = None
    """Where heat begins to bind [K]."""


def heat_lines(bench: BenchFile, electrode: Electrode) -> tuple[HeatLine, ...]:
    """The plate temperatures that the polymers of a piece allow, mix by mix.

    Parameters
    ----------
    bench : BenchFile
        Open.
    electrode : Electrode
        Its layers name mixes or pots.

    Returns
    -------
    tuple of HeatLine
        Empty where no layer names what it was coated with.
    """
    names = [layer.batch or layer.mix for layer in electrode.layers if layer.batch or layer.mix]
    return tuple(_line(bench, name) for name in dict.fromkeys(names))


def _line(bench: BenchFile, name: str) -> HeatLine:
    try:
        answer = press(PressQuestion(mix=name), bench)
    except AerodeError as problem:
        return HeatLine(of=name, said=f"no heat: {problem.what}", known=False)
    if answer.window_high is None:
        return HeatLine(
            of=name, said="no heat: no line on file tells how far it may go", known=False
        )
    ruled = {one.polymer for one in answer.window if _by_the_house(one)}
    at = tuple(
        one for one in mix_on_file(bench, name).limits_at if lookup.known_name(one[0]) in ruled
    )
    rests = tuple(_rests(one) for one in answer.window)
    return HeatLine(
        of=name, said=answer.headline, rests=rests, limits_at=at, softens=answer.window_low
    )


def _by_the_house(one: PolymerWindow) -> bool:
    return "house rule" in one.note


def _rests(one: PolymerWindow) -> str:
    """On what the window of one polymer rests, in plain words."""
    soft = "" if one.softens is None else f" softens at about {one.softens - ZERO_CELSIUS:.0f} °C"
    trust = {"unverified": ", from memory", "verified": "", "secondary": ", read on a secondary page"}.get(one.status, "")  # fmt: skip
    if one.line is None:
        return f"{one.polymer}{soft or ' has no softening on file'}{trust}"
    top = f"{one.line - ZERO_CELSIUS:.0f} °C"
    if _by_the_house(one):
        return (
            f"{one.polymer}{soft or ' has no softening on file'} (no figure of it is verified); how hot it may get is "
            f"not published, so our own rule of {top} stands until the limit of its data sheet is entered"
        )
    why = " (data sheet)" if "data sheet" in one.note else ""
    return (
        f"{one.polymer}{soft or ' has no softening on file'} and must stay below {top}{why}{trust}"
    )


def hurt_title(electrode: Electrode, *, wetted: bool, coated_since: bool = False) -> str:
    """Before what the cautions of a piece are to be read: what was done already is said as done.

    Parameters
    ----------
    electrode : Electrode
        With its pressings and the states it was kept in.
    wetted : bool
        A run of it has a reading.
    coated_since : bool
        A coat was put on after the last heat: that heat is ahead again.

    Returns
    -------
    str
        A press without heat counts as no heat.

    Examples
    --------
    >>> hurt_title(Electrode(name="T1"), wetted=False)
    'Before heat or water touches it'
    >>> hurt_title(Electrode(name="T1"), wetted=True)
    'It was wetted; before heat touches it'
    """
    heated = any(not one.cold and not _is_cool(one) for one in heatings_of(electrode, ()))
    wetted = wetted or any(state.rinsed for state in electrode.storage)
    if heated and coated_since:
        return "A coat was put on since it was heated; before heat or water touches it again"
    if heated and wetted:
        return "It was heated and wetted; what holds for the next time"
    if heated:
        return "It was heated; before water touches it"
    return "It was wetted; before heat touches it" if wetted else "Before heat or water touches it"


def _is_cool(heating: Heating) -> bool:
    plate = heating.plate_temperature
    return plate is not None and plate <= _ROOM + COLD_PLATE_MARGIN


def solvent_mixes(bench: BenchFile, electrode: Electrode) -> tuple[str, ...]:
    """The mixes of its layers that give off solvent vapour while the coat is wet.

    Parameters
    ----------
    bench : BenchFile
        Open.
    electrode : Electrode
        Its layers name mixes or pots.

    Returns
    -------
    tuple of str
        Names of mixes on the bench, each once; what is wet with water alone is left out, what
        cannot be told is not.
    """
    found: list[str] = []
    for layer in electrode.layers:
        batch = bench.find(Batch, layer.batch) if layer.batch else None
        name = batch.mix if batch is not None else layer.mix
        if name and name not in found and bench.find(Mix, name) and _has_solvent(bench, name):
            found.append(name)
    return tuple(found)


def _has_solvent(bench: BenchFile, mix: str) -> bool:
    try:
        return bool(organic_liquids(situation_of(bench, f"mix:{mix}", CautionQuestion())))
    except AerodeError:
        return True
