"""What a plate may do to a piece, said before it is heated: the window of each of its mixes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.errors import AerodeError
from aerode.usecases.process_pressing import PressQuestion, press

if TYPE_CHECKING:
    from aerode.records.electrodes import Electrode
    from aerode.store.bench_file import BenchFile

__all__ = ["HeatLine", "heat_lines"]


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatLine:
    """One mix or pot in the piece: how warm a plate may be, and on what that rests."""

    of: str
    said: str
    rests: tuple[str, ...] = ()
    known: bool = True
    """False where no line is on file: no heat."""


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
    rests = tuple(
        f"{one.polymer}: {one.note}, {one.status}" if one.note else f"{one.polymer}: {one.status}"
        for one in answer.window
    )
    return HeatLine(of=name, said=answer.headline, rests=rests)
