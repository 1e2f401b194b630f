"""What came to a piece after it was heated: a coat put on since asks anew whether it is dry."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.records.electrodes import Electrode

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["coated_since"]


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
