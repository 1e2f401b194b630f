"""Which unknown moves the answer most: Morris' steps and Sobol's shares, by SALib where it is installed."""

from __future__ import annotations

from importlib import import_module
from typing import Any

import numpy as np
from numpy.typing import NDArray

from aerode.errors import MissingExtraError
from aerode.measure.porous.bands import Form, drawn
from aerode.measure.porous.changes import Change, changed
from aerode.measure.porous.recipe import FIELDS, Layer, model_columns, model_of
from aerode.physics.cathode import polarization_batch
from aerode.physics.cathode.batch import limits_batch
from aerode.records.simulations import InputRank

__all__ = ["ranked"]

Floats = NDArray[np.float64]
Columns = dict[str, Floats]

_PATHS = 24  # numerical: Morris paths
_BASE = 256
"""Numerical: Sobol's base sample, a power of two."""
_LEVELS = 4  # numerical: Morris' grid
_NEAR = 0.98  # numerical: where a draw cannot carry the current, its loss just short of its limit


def ranked(
    layer: Layer, changes: tuple[Change, ...], current: float, *, seed: int
) -> tuple[InputRank, ...]:
    """The inputs of the model by how much they move what a change does, the largest first.

    Parameters
    ----------
    layer : Layer
        What is known of the item.
    changes : tuple of Change
        The change; with none, the loss itself is looked at.
    current : float [A/m^2]
        Where the loss is looked at.
    seed : int
        Of the dice.

    Returns
    -------
    tuple of InputRank

    Raises
    ------
    MissingExtraError
        SALib is not installed.

    Notes
    -----
    Morris (1991), Technometrics 33:161: mean absolute elementary effect, here per half of an input's
    span. Sobol (2001), Math. Comput. Simul. 55:271, with Saltelli's sample (both from memory): share of
    the variance by an input alone, and with all its interactions. Inputs are taken as independent.
    Where a draw cannot carry the current, its loss at 0.98 of its limit stands in.
    """
    names = [name for name, band in layer.bands.items() if band.form is not Form.FIXED]
    problem = {"num_vars": len(names), "names": names, "bounds": [[0.0, 1.0]] * len(names)}
    sample, analyse = _parts("sample"), _parts("analyze")
    rows = sample["morris"].sample(problem, _PATHS, num_levels=_LEVELS, seed=seed)
    losses = _moves(layer, changes, names, np.asarray(rows), current)
    steps = analyse["morris"].analyze(problem, rows, losses, num_levels=_LEVELS, seed=seed)
    rows = sample["sobol"].sample(problem, _BASE, calc_second_order=False, seed=seed)
    losses = _moves(layer, changes, names, np.asarray(rows), current)
    shares = analyse["sobol"].analyze(problem, losses, calc_second_order=False, seed=seed)
    found = [
        InputRank(
            name=name,
            steps_V=0.5 * float(steps["mu_star"][k]),
            first_share=float(shares["S1"][k]),
            total_share=float(shares["ST"][k]),
            total_share_uncertainty=float(shares["ST_conf"][k]) / 1.96,  # by definition
        )
        for k, name in enumerate(names)
    ]
    return tuple(sorted(found, key=lambda one: -one.total_share))


def _parts(which: str) -> dict[str, Any]:
    try:
        return {name: import_module(f"SALib.{which}.{name}") for name in ("morris", "sobol")}
    except ImportError as missing:
        raise MissingExtraError(
            "ranking the inputs needs an optional library",
            next_step="pip install 'aerode[ranking]'",
        ) from missing


def _moves(
    layer: Layer, changes: tuple[Change, ...], names: list[str], rows: Floats, current: float
) -> Floats:
    """What the change does to the loss for rows of shares; the loss itself without a change."""
    shares = np.full((rows.shape[0], len(layer.bands)), 0.5)
    places = {name: k for k, name in enumerate(layer.bands)}
    for k, name in enumerate(names):
        shares[:, places[name]] = np.clip(rows[:, k], 1e-6, 1.0 - 1e-6)  # numerical
    values = drawn(layer.bands, shares)
    before = model_columns(values, values)
    if not changes:
        return _losses(before, before, current)
    after = model_columns(changed(values, layer, changes), values)
    return _losses(after, before, current) - _losses(before, after, current)


def _losses(columns: Columns, beside: Columns, current: float) -> Floats:
    """The loss of each row at the current, or just short of the smaller of two limits."""
    base = model_of(columns)
    changes = {name: columns[name] for name in FIELDS}
    limits = [limits_batch(base, {n: one[n] for n in FIELDS}) for one in (columns, beside)]
    reachable = np.minimum(current, _NEAR * np.minimum(*limits))
    loss = polarization_batch(base, changes, reachable[:, None]).loss[:, 0]
    worst = float(np.nanmax(loss))
    return np.where(np.isfinite(loss), loss, worst)
