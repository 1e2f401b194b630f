"""The answer of a porous fit: what the run added to the recipe's bands, and which model foretells it better."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from aerode.errors import CannotTellError
from aerode.measure.curve_posterior import fit_run
from aerode.measure.identifiability import Spread, estimate, withheld
from aerode.measure.porous.fit_figures import fit_curves, fit_widths
from aerode.measure.porous.fitting import (
    PorousModel,
    PorousPosterior,
    PorousRun,
    fit_porous,
)
from aerode.measure.porous.scoring import Score, held_out_score
from aerode.measure.porous.streaming import no_steps
from aerode.measure.run_data import RunData
from aerode.physics.cathode import operating_point
from aerode.quantities import Basis, Reason
from aerode.records.results import Estimate
from aerode.records.simulations import PorousFit, PriorPosterior

__all__ = ["KEPT", "Told", "fitted", "porous_fit", "told"]

Floats = NDArray[np.float64]

KEPT = 0.7
"""A parameter whose width after the readings is more than this share of the one before was not found
by them; judgement."""
_UNITS = {
    "tafel_slope": "V/decade",
    "exchange_current": "A/m^3",
    "ionic_conductivity": "S/m",
    "electronic_conductivity": "S/m",
    "film_transfer": "1/s",
    "agglomerate_radius": "m",
    "electrons": "",
}
_DECADE = math.log(10.0)  # e-folds, by definition
_FIRST = 0.2  # judgement: share of the time that the fit itself takes
_DRAWN = 2000  # numerical
_SPLITS = 320  # numerical: cathodes whose loss is split; with 160 a 95 % band held in 92 to 94
_OUTER = 1.96  # by definition: a normal's 95 %
_LONGEST = 100  # judgement


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What a posterior tells of the inside.

    Parameters
    ----------
    rows : tuple of PriorPosterior
        Each parameter, the resistance outside and the level, with a value where the run told one.
    losses : dict of str to Estimate [V]
        The parts of the cathode's loss.
    current : float [A]
        At which they are given: the middle of what was measured.
    pair : ndarray, shape (m, 2) [V, ohm]
        Level and resistance outside for each row of the sample.
    """

    rows: tuple[PriorPosterior, ...]
    losses: dict[str, Estimate]
    current: float
    pair: Floats


def told(posterior: PorousPosterior, dice: Generator) -> Told:
    """What a run tells of the inside of its cathode.

    Parameters
    ----------
    posterior : PorousPosterior
        Without a `reason`.
    dice : numpy.random.Generator

    Returns
    -------
    Told
    """
    model = posterior.model
    pair = model.drawn_pair(posterior.sample.samples, dice)
    current = float(np.sqrt(model.seen[0] * model.seen[-1]))
    return Told(
        rows=(*_parameters(posterior), *_outside(posterior, pair)),
        losses=_losses(posterior, current, dice),
        current=current,
        pair=pair,
    )


def porous_fit(
    run: PorousRun, *, seed: int = 1, step: Callable[[str, float], None] = no_steps
) -> tuple[PorousFit, PorousPosterior]:
    """The whole answer on one run.

    Parameters
    ----------
    run : PorousRun
    seed : int
        Of the dice.
    step : callable
        Told how far it is.

    Returns
    -------
    tuple of PorousFit and PorousPosterior

    Raises
    ------
    CannotTellError
        No wetted area, or too few loads.
    """
    data, dice = run.data, np.random.default_rng(seed)
    posterior = fit_porous(run, dice)
    if posterior.sample.reason is not None:
        return _withheld(data, posterior), posterior
    step("foretelling each load", _FIRST)
    found = told(posterior, dice)
    score, why = _scored(run, seed, step)
    plain = fit_run(data, np.random.default_rng(seed))
    return PorousFit(
        headline=_headline(data, found.rows, score),
        source=data.source,
        electrode=data.electrode,
        parameters=found.rows,
        losses_V=found.losses,
        losses_at_mA_cm2=0.1 * found.current / posterior.model.area,  # by definition
        score_porous=0.0 if score is None else sum(score.porous),
        score_curve=0.0 if score is None else sum(score.curve),
        score_difference=0.0 if score is None else score.difference,
        score_difference_uncertainty=0.0 if score is None else score.uncertainty,
        chosen="neither is shown better" if score is None else score.chosen,
        effective_sample_size=round(posterior.sample.effective_sample_size, 1),
        figures=(fit_curves(posterior, found.pair, plain), fit_widths(found.rows, KEPT)),
        warnings=(*(() if why is None else (why,)), *data.warnings),
        assumptions=(*_SAID, *data.assumptions),
    ), posterior


def fitted(run: PorousRun, *, seed: int) -> dict[str, Floats] | None:
    """Fields of equally weighted cathodes that fit a run, for what a change would do.

    Parameters
    ----------
    run : PorousRun
    seed : int
        Of the dice.

    Returns
    -------
    dict of str to ndarray, shape (2000,) [SI], or None
        None where the sample is too poor.
    """
    dice = np.random.default_rng(seed)
    posterior = fit_porous(run, dice)
    if posterior.sample.reason is not None:
        return None
    made = posterior.columns(_DRAWN, dice)
    return made | {name: np.full(_DRAWN, v) for name, v in posterior.model.beside.items()}


_SAID = (
    "porous cathode in one dimension; all constant potentials and the anode's are one level, gap, contacts "
    "and the straight part of the anode one resistance",
    "thickness, porosity, oxygen and pore diffusivity at the middle of the recipe; the wetted area as exact",
    "before the readings: the recipe's own bands; what share and diffusivity of the wet grains leave open is "
    "counted with their radius",
)


def _scored(
    run: PorousRun, seed: int, step: Callable[[str, float], None]
) -> tuple[Score | None, str | None]:
    def later(what: str, share: float) -> None:
        step(what, _FIRST + (1.0 - _FIRST) * share)

    try:
        return held_out_score(run, seed=seed, step=later), None
    except CannotTellError as refusal:
        return None, f"the two models were not compared: {refusal.what}"


def _parameters(posterior: PorousPosterior) -> tuple[PriorPosterior, ...]:
    model, rows, weights = posterior.model, posterior.sample.samples, posterior.sample.weights
    made = model.columns(rows)
    ends = model.columns(np.outer([-_OUTER, _OUTER], np.ones(model.size_of_row)))
    found: list[PriorPosterior] = []
    for k, name in enumerate(model.names):
        factor = _DECADE if name == "tafel_slope" else 1.0
        spread = Spread(factor * made[name], weights)
        width = Spread(rows[:, k], weights).standard_deviation
        prior = (factor * float(ends[name][0]), factor * float(ends[name][1]))
        found.append(_row(name, spread, prior, width, _UNITS[name]))
    return tuple(found)


def _row(
    name: str, spread: Spread, prior: tuple[float, float], width: float, unit: str
) -> PriorPosterior:
    _, low, high = spread.middle_and_interval()
    kept = width > KEPT
    meaning = "from this run, given the model and the recipe's bands"
    shown = (
        withheld(unit, str(Reason.PRIOR_KEPT), meaning=meaning)
        if kept
        else estimate(spread, unit, meaning)
    )
    if kept:
        shown = replace(shown, basis=Basis.ASSUMED)
    return PriorPosterior(
        name=name.replace("_", " "), estimate=shown, prior_95=prior, posterior_95=(low, high),
        width_ratio=width, kept_prior=kept,
    )  # fmt: skip


def _outside(posterior: PorousPosterior, pair: Floats) -> tuple[PriorPosterior, ...]:
    """The resistance outside the cathode and the level of the voltage."""
    weights = posterior.sample.weights
    level, outer = Spread(pair[:, 0], weights), Spread(pair[:, 1], weights)
    of_level, of_rest = PorousModel.priors_outside(posterior.model.rest)
    return (
        _row(
            "resistance outside", outer, of_rest[:2], outer.standard_deviation / of_rest[2], "ohm"
        ),
        _row("level", level, of_level[:2], level.standard_deviation / of_level[2], "V"),
    )


def _losses(posterior: PorousPosterior, current: float, dice: Generator) -> dict[str, Estimate]:
    """Where the volts go in the cathode at a current, over some of the fitted cathodes."""
    model = posterior.model
    made = posterior.columns(_SPLITS, dice)
    parts: dict[str, list[float]] = {"ionic": [], "electronic": [], "kinetic": [], "oxygen": []}
    for k in range(_SPLITS):
        fields = {name: float(values[k]) for name, values in made.items()}
        try:
            point = operating_point(replace(model.base, **fields), current / model.area)  # pyright: ignore[reportArgumentType]
        except CannotTellError:
            continue
        for name, values in parts.items():
            values.append(getattr(point.losses, name))
    said = "of the cathode, by the fitted porous model"
    return {
        name: replace(
            estimate(Spread(np.array(v), np.full(len(v), 1.0 / len(v))), "V", said),
            basis=Basis.PREDICTED,
        )
        for name, v in parts.items()
        if v
    }


def _headline(data: RunData, rows: tuple[PriorPosterior, ...], score: Score | None) -> str:
    names = [row.name for row in rows if not row.kept_prior and row.name != "level"]
    name = data.electrode or data.source
    what = f"{name}: this run tells {', '.join(names) or 'nothing beyond the recipe'}"
    if score is None:
        return what[:_LONGEST]
    verdict = {
        "porous": "the porous model foretells it better",
        "curve": "the plain curve foretells it better",
    }.get(score.chosen, "neither model is shown better")
    return f"{what}; {verdict}"[:_LONGEST]


def _withheld(data: RunData, posterior: PorousPosterior) -> PorousFit:
    return PorousFit(
        headline=f"{data.electrode or data.source}: no honest interval from these readings"[:_LONGEST],
        source=data.source, electrode=data.electrode, parameters=(), losses_V={},
        losses_at_mA_cm2=0.0, score_porous=0.0, score_curve=0.0, score_difference=0.0,
        score_difference_uncertainty=0.0, chosen="neither is shown better",
        effective_sample_size=round(posterior.sample.effective_sample_size, 1),
        reason=str(posterior.sample.reason), assumptions=(*_SAID, *data.assumptions),
    )  # fmt: skip
