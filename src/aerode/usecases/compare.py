"""Compare electrodes at one voltage or current density: an interval, a verdict, and what would overturn it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.errors import InputError
from aerode.measure.comparison.answer import Request, compare_study
from aerode.measure.comparison.claims import claim_note, matching_claim
from aerode.measure.comparison.conditions import check_same
from aerode.measure.comparison.joint import Priors
from aerode.measure.comparison.study import common_voltage
from aerode.measure.comparison.values import Response, TemperatureCoefficient
from aerode.records.places import Claim
from aerode.usecases.compare_study import first_start, study_of

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from aerode.measure.comparison.study import Study
    from aerode.records.comparisons import Comparison
    from aerode.store.bench_file import BenchFile

__all__ = ["compare", "study_of"]

USUAL_MARGIN = 1.10


def compare(
    bench: BenchFile,
    electrodes: Sequence[str] = (),
    *,
    at_voltage: float | None = None,
    at_current_density: float | None = None,
    by: str = "",
    margin: float | None = None,
    claim: str = "",
    same: Collection[str] = (),
    temperature_coefficient: tuple[float, float] | None = None,
    past_spread: tuple[float, float] = (0.0, 0.0),
    control_ageing: float | None = None,
    try_changes: bool = True,
    try_nearest: bool = False,
    seed: int = 1,
) -> Comparison:
    """Electrodes compared at one voltage or current density, corrected, with a verdict and what would overturn it.

    Parameters
    ----------
    bench : BenchFile
        An open bench.
    electrodes : sequence of str
        Names, in the order "first over second"; none for all that were measured.
    at_voltage : float, optional [V]
        Compare current densities at this voltage at the tab.
    at_current_density : float, optional [A/m^2]
        Compare voltages at this current density. With neither, the claim's point is taken, else a
        voltage in the middle of what all were measured over.
    by : str
        A factor: its effect from low to high. "" compares recipes.
    margin : float, optional [1]
        The smallest ratio that matters; the claim's, else 1.10.
    claim : str
        The claim to judge under; "" takes the one claim of the bench that is about this question.
    same : collection of str
        Conditions that were the same for all though not measured ("salinity"), or "rest".
    temperature_coefficient : (float, float), optional [1/K]
        Change of the response per kelvin, and its standard uncertainty.
    past_spread : (float, float) [1, 1]
        Spread between builds from earlier work, and its degrees of freedom.
    control_ageing : float, optional [1]
        Standard deviation of the control's own ageing per run. None takes what the control's record
        says of earlier days, else 0.01.
    try_changes : bool
        Whether to look for what would overturn the verdict.
    try_nearest : bool
        Where not every change is looked for: whether to try each input at the ends of what is
        believable, where something is shown, and to leave out each electrode in turn.
    seed : int [1]
        Of the dice that sample the curves.

    Returns
    -------
    Comparison

    Raises
    ------
    NotFoundError
        If an electrode or the claim is not on the bench.
    InputError
        With fewer than two electrodes, both points given, a factor that does not vary, or a word
        in `same` that is no condition.
    CannotTellError
        If fewer than two of them can be read at that point.
    """
    check_same(same)
    study = study_of(bench, electrodes)
    judged_under = _claim(bench, claim, by, at_voltage, at_current_density)
    response = _response(judged_under, study, at_voltage, at_current_density)
    note = "" if judged_under is None else claim_note(judged_under, first_start(bench, study))
    request = Request(
        response=response,
        by=by or ("" if judged_under is None else _factor(judged_under, claim)),
        margin=margin or (judged_under.margin if judged_under is not None else USUAL_MARGIN),
        looks=None if judged_under is None or note else judged_under.looks,
        claim="" if judged_under is None else judged_under.name,
        on_file=tuple(one.name for one in bench.all(Claim)),
        same=same,
        temperature=None
        if temperature_coefficient is None
        else TemperatureCoefficient(
            value=temperature_coefficient[0], standard_uncertainty=temperature_coefficient[1]
        ),
        priors=_priors(study, control_ageing),
        past_spread=past_spread,
        in_order=bool(electrodes),
        try_changes=try_changes,
        try_nearest=try_nearest,
        seed=seed,
        notes=(note,) if note else (),
    )
    return compare_study(study, request)


def _priors(study: Study, control_ageing: float | None) -> Priors:
    """How far the control may age: as said, else as earlier days have shown it, else as is usual."""
    if control_ageing is not None:
        return Priors(control_ageing=control_ageing)
    shown = [
        max(abs(c.ageing_per_run.value), c.ageing_per_run.standard_uncertainty or 0.0)
        for c in study.controls
        if c.ageing_per_run is not None
    ]
    if not shown or not max(shown) > 0.0:
        return Priors()
    return Priors(control_ageing=max(shown), ageing_measured=True)


def _claim(
    bench: BenchFile,
    name: str,
    by: str,
    at_voltage: float | None,
    at_current_density: float | None,
) -> Claim | None:
    if name:
        return bench.get(Claim, name)
    return matching_claim(
        bench.all(Claim), by=by, at_voltage=at_voltage, at_current_density=at_current_density
    )


def _factor(claim: Claim, named: str) -> str:
    """A claim that was named brings its factor; one that was only found belongs to the factor asked."""
    return claim.factor if named else ""


def _response(
    claim: Claim | None,
    study: Study,
    at_voltage: float | None,
    at_current_density: float | None,
) -> Response:
    if at_voltage is not None and at_current_density is not None:
        raise InputError(
            "a comparison is at one voltage or at one current density, not at both",
            where="at",
            next_step="leave one of them out",
        )
    if at_current_density is not None:
        return Response(current_density=at_current_density)
    if at_voltage is not None:
        return Response(voltage=at_voltage)
    if claim is not None and claim.at is not None:
        if claim.response.startswith("voltage"):
            return Response(current_density=claim.at)
        return Response(voltage=claim.at)
    return Response(voltage=common_voltage(study))
