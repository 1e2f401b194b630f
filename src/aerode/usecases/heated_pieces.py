"""What tells whether a piece is dry before it is heated: a coat put on since, the step of the scale."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument, Sort

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["coated_since", "scale_step"]


def scale_step(bench: BenchFile) -> float | None:
    """The step of the bench's scale [kg], where there is only one.

    Parameters
    ----------
    bench : BenchFile
        Open.

    Returns
    -------
    float or None
        None too where its step was never told, and of a scale that is gone.
    """
    steps = [one.resolution for one in bench.all(Instrument) if one.sort is Sort.SCALE and one.gone is None]  # fmt: skip
    return steps[0] if len(steps) == 1 else None


def coated_since(bench: BenchFile, electrode: Electrode) -> bool:
    """Whether a coat came to a piece after the last of its pressings, by the order of its history.

    Parameters
    ----------
    bench : BenchFile
        Open.
    electrode : Electrode
        As it stands on the bench.

    Returns
    -------
    bool
        False where it was never pressed, and where coats and pressings were entered at once: a piece
        is coated before it is pressed.
    """
    if not electrode.press or bench.find(Electrode, electrode.name) is None:
        return False
    fewest = now = _coats(electrode)
    for revision in reversed(bench.history(Electrode, electrode.name)):
        state = bench.read(revision)
        if not isinstance(state, Electrode) or len(state.press) < len(electrode.press):
            break
        fewest = min(fewest, _coats(state))
    return now > fewest


def _coats(electrode: Electrode) -> int:
    return sum(len(layer.coats) for layer in electrode.layers)
