"""What comes next for an electrode on its way from the mesh to the first reading."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.physics.heat_gates import Dryness
from aerode.records.electrodes import Outcome, RecipeState

if TYPE_CHECKING:
    from aerode.records.electrodes import Electrode
    from aerode.records.processes import ProcessAnswer

__all__ = ["next_act"]


def next_act(electrode: Electrode, dryness: ProcessAnswer | None) -> tuple[str, str]:
    """The next act on a piece that is not measured yet, and its place on the page.

    Parameters
    ----------
    electrode : Electrode
        With its log.
    dryness : ProcessAnswer or None
        What its weighings say, where two tell anything.

    Returns
    -------
    tuple of str
        (place, words); ("", "") where it can be measured: a bought or failed piece, one whose finished
        mass or pressing is on file, one whose recipe nobody noted.

    Examples
    --------
    >>> from aerode.records.electrodes import Electrode, Layer
    >>> next_act(Electrode(name="A-1", layers=(Layer(mix="A"),)), None)
    ('coat', 'Add a coat')
    """
    named = any(layer.mix or layer.batch for layer in electrode.layers)
    finished = electrode.mass is not None or bool(electrode.press or electrode.storage)
    ready = electrode.recipe_state is not RecipeState.MIX or electrode.outcome is not Outcome.WHOLE
    if not named or finished or ready:
        return "", ""
    if not any(layer.coats or layer.dry_mass for layer in electrode.layers):
        return "coat", "Add a coat"
    dry = dryness is not None and dryness.dryness is not None and dryness.dryness.finding == Dryness.DRY  # fmt: skip
    return ("press", "Press it") if dry else ("weighing", "Weigh it: is it dry?")
