"""Shares that older records hold as plain numbers, told in per cent as they were typed."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from aerode.usecases.next_mixes import lot_for

if TYPE_CHECKING:
    from aerode.measure.comparison.study import Study
    from aerode.records.electrodes import Electrode

__all__ = ["in_per_cent"]

_SAME = 1e-6  # rounding alone


def in_per_cent(electrode: Electrode, study: Study) -> Electrode:
    """The electrode with a factor of 0.1 as "10 %", where its mix has that share of what the factor names.

    Parameters
    ----------
    electrode : Electrode
        One without a recipe stays as it is: its factors are its name among its fellows.
    study : Study
        With the mixes and the shelf.

    Returns
    -------
    Electrode
        For a comparison; nothing of it is stored.
    """
    plain = {name: one for name, one in electrode.factors.items() if not isinstance(one, str)}
    if not electrode.recipe or not plain:
        return electrode
    lots = {**study.powders, **study.solutions}
    told = dict(electrode.factors)
    for layer in electrode.layers:
        pot = study.batches.get(layer.batch)
        mix = study.mixes.get(layer.mix or (pot.mix if pot else ""))
        shares = {share.of: share.fraction for share in mix.wanted} if mix else {}
        for name, value in plain.items():
            lot = lot_for(name, lots, shares)
            if lot and math.isclose(shares[lot], value, abs_tol=_SAME):
                told[name] = f"{100.0 * value:.6g} %"
    return replace(electrode, factors=told)
