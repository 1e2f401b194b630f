"""How often the printed 95 % intervals of `aerode fit` hold the truth, by stratum.

    python benchmarks/coverage_fit/run.py --studies 2000 --processes 2 > table.md

Each study draws a run with hidden truth (`invented.py`), asks the public `fit` for its whole answer
and holds every printed interval against the quantity that its label names. Seeded: equal seeds give
equal tables. Per stratum the share of intervals that hold the truth; goals 93 to 97 %.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from multiprocessing import Pool

import numpy as np
from invented import AREA, SCATTER, Stratum, Truth, strata

from aerode.measure.fitting import AskedCurrent, fit
from aerode.records.fits import Fit
from aerode.records.results import Estimate

__all__ = ["COLUMNS", "Outcome", "outcome", "table"]

AREA_ERROR = 0.01
PLACES = (0.05, 0.4, 0.9)
"""Asked current densities as shares of the largest one of the ladder."""
COLUMNS = ("b", "R_app", "labelled R", "V low", "V mid", "V high", "peak")
RESOLVABLE, UNRESOLVABLE = 0.06, 0.40
"""Smallest standard deviation of ln i_L that the readings allow at all (Fisher information at the
truth): below the first it is identifiable, above the second it is not; between, either is fair."""


@dataclass(slots=True)
class Outcome:
    """What one study showed: which intervals held the truth, and what was said of the limit."""

    held: dict[str, bool] = field(default_factory=dict[str, bool])
    limit_told: bool = False
    limit_held: bool | None = None
    bound_held: bool | None = None
    refused: bool = False


def _holds(estimate: Estimate, truth: float) -> bool | None:
    """Whether a printed interval holds the truth; None where nothing was printed."""
    if estimate.value is None or estimate.interval_95 is None:
        return None
    return estimate.interval_95[0] <= truth <= estimate.interval_95[1]


def outcome(stratum: Stratum, truth: Truth, seed: int) -> Outcome:
    """One study.

    Parameters
    ----------
    stratum : Stratum
    truth : Truth
        Of the stratum; handed in because it is the same for all studies.
    seed : int
        Of the run; the fit gets one of its own.
    """
    dice = np.random.default_rng([seed, 20])
    data = stratum.run(truth, dice)
    true_area = AREA * (1.0 + AREA_ERROR * float(dice.standard_normal()))
    top = float(truth.current(np.array([min(stratum.loads)]))[0])
    asked = tuple(AskedCurrent(share * top / AREA, per_area=True) for share in PLACES)
    answer = fit(data, at=asked, seed=seed)
    found = Outcome()
    if answer.parameters["scatter_V"].unit and not answer.voltage_at:
        found.refused = True
        return found
    _hold_parameters(found, answer, truth, true_area)
    for name, share, told in zip(
        ("V low", "V mid", "V high"), PLACES, answer.voltage_at, strict=True
    ):
        current = share * top / AREA * true_area
        _note(found, name, _holds(told.voltage, float(truth.voltage(np.array(current)))))
    limit = answer.parameters["limiting_current_mA"]
    found.limit_told = limit.value is not None
    found.limit_held = _holds(limit, 1e3 * truth.limiting_current)
    if limit.lower_bound is not None:
        found.bound_held = limit.lower_bound <= 1e3 * truth.limiting_current
    return found


def _hold_parameters(found: Outcome, answer: Fit, truth: Truth, area: float) -> None:
    p = answer.parameters
    apparent = truth.resistance + truth.slope / truth.limiting_current
    _note(found, "b", _holds(p["tafel_slope_V_decade"], truth.slope * np.log(10.0)))
    labelled = p["area_specific_resistance_ohm_cm2"]
    named = apparent if labelled.meaning.startswith("R + b/i_L") else truth.resistance
    _note(found, "labelled R", _holds(labelled, named * area * 1e4))
    if labelled.meaning.startswith("R + b/i_L"):
        _note(found, "R_app", _holds(labelled, apparent * area * 1e4))
    _note(found, "peak", _holds(p["peak_power_mW"], 1e3 * truth.largest_power()))


def _note(found: Outcome, name: str, held: bool | None) -> None:
    if held is not None:
        found.held[name] = held


def limit_information(stratum: Stratum, truth: Truth) -> float:
    """Smallest standard deviation of ln i_L that the readings allow, from their Fisher information."""
    loads = np.array(stratum.loads)
    step = 1e-5

    def read(p: np.ndarray, factor: np.ndarray | float = 1.0) -> np.ndarray:
        cell = Truth(float(p[0]), float(np.exp(p[1])), float(p[2]), float(np.exp(p[3])))
        return cell.current(loads * factor) * loads * factor

    here = np.array(
        [truth.intercept, np.log(truth.slope), truth.resistance, np.log(truth.limiting_current)]
    )
    slopes = np.column_stack(
        [(read(here + step * e) - read(here - step * e)) / (2 * step) for e in np.eye(4)]
    )
    volts = read(here)
    parts = np.array([(read(here, 1.0 + step * e) - volts) / step for e in np.eye(loads.size)])
    shared = parts.sum(axis=0, keepdims=True) if stratum.box else parts
    covariance = np.eye(loads.size) * (stratum.scatter**2 + 1e-6 / 12.0)
    covariance += stratum.limit**2 / 3.0 * shared.T @ shared
    covariance += stratum.gain_limit**2 / 3.0 * np.outer(volts, volts)
    return float(np.sqrt(np.linalg.inv(slopes.T @ np.linalg.solve(covariance, slopes))[3, 3]))


def _one(job: tuple[Stratum, Truth, int]) -> Outcome:
    return outcome(*job)


def table(
    chosen: Iterable[Stratum], studies: int, processes: int, first_seed: int = 0
) -> Iterable[str]:
    """The table, a line a stratum as they are done."""
    yield "| stratum | " + " | ".join(COLUMNS) + " | i_L told | i_L held | bound held | flag |"
    yield "|---|" + "---|" * (len(COLUMNS) + 4)
    with Pool(processes) as pool:
        for stratum in chosen:
            truth = stratum.truth()
            jobs = [(stratum, truth, first_seed + k) for k in range(studies)]
            yield _line(stratum, truth, pool.map(_one, jobs, chunksize=20))


def _line(stratum: Stratum, truth: Truth, found: list[Outcome]) -> str:
    cells = [_share([o.held[c] for o in found if c in o.held], len(found)) for c in COLUMNS]
    told = [o.limit_told for o in found]
    held = [o.limit_held for o in found if o.limit_held is not None]
    bounds = [o.bound_held for o in found if o.bound_held is not None]
    size = limit_information(stratum, truth)
    if size <= RESOLVABLE:
        flag = f"wrongly false {100 * (1 - np.mean(told)):.1f} %"
    elif size >= UNRESOLVABLE:
        flag = f"wrongly true {100 * np.mean(told):.1f} %"
    else:
        flag = "either is fair"
    cells += [
        f"{100 * np.mean(told):.1f}",
        _share(held, len(found)),
        _share(bounds, len(found)),
        flag,
    ]
    refused = sum(o.refused for o in found)
    name = stratum.name + (f" ({refused} without an answer)" if refused else "")
    return f"| {name} | " + " | ".join(cells) + " |"


def _share(held: list[bool], studies: int) -> str:
    if len(held) < 0.02 * studies:
        return "-"
    printed = "" if len(held) == studies else f" ({100 * len(held) / studies:.0f})"
    return f"{100 * np.mean(held):.1f}{printed}"


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--studies", type=int, default=2000)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--only", default="", help="strata whose name holds this")
    parser.add_argument("--scatter", type=float, default=SCATTER, help="of single readings [V]")
    parser.add_argument("--rectangular", action="store_true",
                        help="shared errors even within their limits, not normal")  # fmt: skip
    chosen = parser.parse_args()
    wanted = [
        replace(s, scatter=chosen.scatter, rectangular=chosen.rectangular)
        for s in strata()
        if chosen.only in s.name
    ]
    for line in table(wanted, chosen.studies, chosen.processes):
        print(line, flush=True)


if __name__ == "__main__":
    main()
