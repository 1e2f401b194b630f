"""A run fitted once for all who ask: the same readings and the same dice give the same curves."""

from __future__ import annotations

import dataclasses
import threading
from collections import OrderedDict
from typing import TYPE_CHECKING, Any, cast

import numpy as np

from aerode.measure.curve_posterior import fit_run

if TYPE_CHECKING:
    from collections.abc import Hashable

    from numpy.typing import NDArray

    from aerode.measure.curve_posterior import CurvePosterior
    from aerode.measure.run_data import RunData

__all__ = ["fitted"]

_MOST = 64  # judgement: four comparisons of the pages; some 0.4 MB each
_kept: OrderedDict[Hashable, CurvePosterior] = OrderedDict()
_lock = threading.Lock()


def fitted(data: RunData, seed: int) -> CurvePosterior:
    """Every polarization curve that a run allows, as `fit_run` gives it with fresh dice of a seed.

    A comparison, its doubts, the page of a run and the first page ask for the same fits; each is
    worked out once and kept while the program runs. Nothing but the arguments decides the answer.

    Parameters
    ----------
    data : RunData
        The usable readings.
    seed : int [1]
        Of the dice.

    Returns
    -------
    CurvePosterior
        Shared by all who ask: not to be changed.

    Raises
    ------
    CannotTellError
        As `fit_run`.
    """
    key = _key(data, seed)
    with _lock:
        if key in _kept:
            _kept.move_to_end(key)
            return _kept[key]
    found = fit_run(data, np.random.default_rng(seed))
    with _lock:
        _kept[key] = found
        while len(_kept) > _MOST:
            _kept.popitem(last=False)
    return found


def _key(data: RunData, seed: int) -> Hashable:
    """Everything that the fit could look at, by its value."""
    said: list[Hashable] = [seed]
    for field in dataclasses.fields(data):
        value: Any = getattr(data, field.name)
        if isinstance(value, np.ndarray):
            array = cast("NDArray[Any]", value)
            said.append((array.dtype.str, array.shape, array.tobytes()))
        else:
            said.append(repr(value))  # exact for floats; frozen records show every field
    return tuple(said)
