"""Which piece to keep as control where the bench has none: named, so that the advice can be followed."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

import numpy as np

from aerode.measure.comparison.entrants import recipe_of
from aerode.records.comparisons import ActAt, NextAct
from aerode.records.electrodes import Outcome

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.measure.comparison.joint import JointFit
    from aerode.measure.comparison.study import Values
    from aerode.records.comparisons import AirOrBattery
    from aerode.records.electrodes import Electrode

__all__ = ["control_act", "control_piece"]


def control_piece(
    values: Values, pieces: JointFit, air: Sequence[AirOrBattery] = ()
) -> Electrode | None:
    """The first whole build of the leading recipe that was read, and that nobody has to doubt.

    Parameters
    ----------
    values : Values
        Every run that was read.
    pieces : JointFit
        The fitted level of each electrode [log]; the recipe whose mean level is highest leads.
    air : sequence of AirOrBattery
        A piece whose row is not cleared may run on its own charge: another goes before it.

    Returns
    -------
    Electrode or None
        None where no whole piece was read. Where every piece of the leading recipe is doubted, the
        first of the next recipe that is not; where all are, the first of the leading one.
    """
    levels = dict(zip(pieces.names, pieces.fit.coefficients, strict=True))
    by_order = sorted(
        zip(values.order, values.measured, strict=True),
        key=lambda one: (one[1].entrant.run.session, float(one[0])),
    )
    read = {m.entrant.electrode.name: m.entrant.electrode for _, m in by_order}
    of_recipe: defaultdict[str, list[float]] = defaultdict(list)
    for name, electrode in read.items():
        if name in levels:
            of_recipe[recipe_of(electrode)].append(float(levels[name]))
    lead = sorted(of_recipe, key=lambda recipe: -float(np.mean(of_recipe[recipe])))
    doubted = {row.electrode for row in air if not row.cleared}
    whole = [
        one for one in read.values() if one.outcome is Outcome.WHOLE and recipe_of(one) in of_recipe
    ]
    return min(
        whole, key=lambda one: (one.name in doubted, lead.index(recipe_of(one))), default=None
    )


def control_act(values: Values, pieces: JointFit, air: Sequence[AirOrBattery] = ()) -> NextAct:
    """What to do where no control was read: which piece to keep as one, and when to read it.

    Parameters
    ----------
    values : Values
    pieces : JointFit
    air : sequence of AirOrBattery

    Returns
    -------
    NextAct
        Whoever is compared was read already, so the control is for the session that follows.
    """
    found = control_piece(values, pieces, air)
    why = "then a change over the day can be told from the pieces"
    if found is None:
        return NextAct(
            do="keep the next good build as control; read it first, in the middle and last",
            why=why,
            at=ActAt.CONTROL,
        )
    return NextAct(
        do=f"keep {found.name} as control; in the next session read it first, in the middle and last",
        why=why,
        control=found.name,
        at=ActAt.CONTROL,
    )
