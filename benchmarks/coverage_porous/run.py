"""How often the intervals of `aerode simulate --fit` hold the truth, and whether the ranks of the truth are even.

    python -m benchmarks coverage_porous [--studies 500] [--truths model|recipe] [--processes 2]

Simulation-based calibration (Talts et al. 2018, arXiv 1804.06788): truths are drawn from what is
assumed before a run, runs are drawn from the truths, each is fitted, and the rank of the truth among
equally weighted draws of its posterior must be even. Printed per quantity: share of the 50 % and
95 % intervals that hold the truth, chi-square of the ranks in ten boxes with its p-value, how often
the run told a value, and how often that printed value's interval holds. Seeded.
"""

from __future__ import annotations

import argparse
import importlib.util
import os
import sys
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from multiprocessing import Pool
from pathlib import Path
from types import ModuleType

for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")  # before numpy: one core means one core

import numpy as np  # noqa: E402
from invented import AREA, Truth, drawn_truth, layer_for, run_of  # noqa: E402
from scipy.stats import chi2  # noqa: E402

from aerode.errors import CannotTellError  # noqa: E402
from aerode.measure.porous.fit_answer import Told, told  # noqa: E402
from aerode.measure.porous.fitting import PorousPosterior, PorousRun, fit_porous  # noqa: E402
from aerode.measure.porous.recipe import model_of, recipe_columns  # noqa: E402
from aerode.physics.cathode import operating_point  # noqa: E402
from aerode.quantities import Basis  # noqa: E402

TESTS = Path(__file__).parents[2] / "tests" / "unit" / "measure" / "porous" / "test_fitting.py"
REST = 2.0
"""Middle of the resistance outside [ohm]."""
DRAWS, BOXES = 99, 10
"""Draws that a truth is ranked among, and boxes of the ranks."""
DECADE = float(np.log(10.0))
PLACES = {"voltage at the largest load": 0, "voltage at the smallest load": -1}
PARTS = ("kinetic", "oxygen", "ionic", "electronic")


@dataclass(slots=True)
class Outcome:
    """One study: ranks of the truth, whether intervals held it, what was told, and broken rules."""

    ranks: dict[str, int] = field(default_factory=dict[str, int])
    half: dict[str, bool] = field(default_factory=dict[str, bool])
    whole: dict[str, bool] = field(default_factory=dict[str, bool])
    printed: dict[str, bool] = field(default_factory=dict[str, bool])
    broken: list[str] = field(default_factory=list[str])
    refused: str = ""


def load(path: Path) -> ModuleType:
    """A module by its path."""
    spec = importlib.util.spec_from_file_location(f"bench_{path.stem}", path)
    if spec is None or spec.loader is None:
        raise SystemExit(f"cannot load {path}")
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def study(job: tuple[str, int]) -> Outcome:
    """One truth, its run, its fit.

    Parameters
    ----------
    job : tuple of str and int
        Kind of the truths, and the seed.
    """
    kind, seed = job
    layer = layer_for(load(TESTS).layer(), wide=kind == "recipe")
    columns = recipe_columns(layer)
    found, dice = Outcome(), np.random.default_rng([seed, 30])
    truth = drawn_truth(layer, model_of(columns), REST, dice, kind=kind)
    data = run_of(truth, dice)
    if data is None:
        found.refused = "no run"
        return found
    try:
        posterior = fit_porous(PorousRun(data=data, columns=columns, rest=REST), dice)
    except CannotTellError:
        found.refused = "too few loads"
        return found
    if posterior.sample.reason is not None:
        found.refused = "no honest interval"
        return found
    answer = told(posterior, dice)
    real = real_values(truth, posterior, answer)
    _rank(found, posterior, answer, real, dice)
    _hold(found, answer, real)
    return found


def real_values(truth: Truth, posterior: PorousPosterior, answer: Told) -> dict[str, float]:
    """What is asked about, as it really is."""
    model = posterior.model
    real = {name.replace("_", " "): float(getattr(truth.cathode, name)) for name in model.names}
    real["tafel slope"] *= DECADE
    real |= {"level": truth.level, "resistance outside": truth.outside, "scatter": truth.scatter}
    for name, k in PLACES.items():
        total = float(model.lines.total[k])
        real[name] = (truth.current(total) or np.nan) * total
    point = operating_point(truth.cathode, answer.current / AREA)
    real["loss of the cathode"] = point.loss
    return real | {f"{part} loss": float(getattr(point.losses, part)) for part in PARTS}


def drawn_values(
    posterior: PorousPosterior, answer: Told, dice: np.random.Generator
) -> dict[str, np.ndarray]:
    """The same quantities on equally weighted draws of the posterior."""
    model, sample = posterior.model, posterior.sample
    rows = sample.resample(DRAWS, dice)
    pair = model.drawn_pair(rows, dice)
    made = {name.replace("_", " "): values for name, values in model.columns(rows).items()}
    made["tafel slope"] = DECADE * made["tafel slope"]
    made |= {"level": pair[:, 0], "resistance outside": pair[:, 1], "scatter": model.scatters(rows)}
    lines, misses = model.lines, model.misses(rows, pair)
    read = model.tab - misses * lines.total / lines.shown
    made |= {name: read[:, k] for name, k in PLACES.items()}
    fields = model.columns(rows)
    points = [
        operating_point(
            replace(model.base, **{name: float(values[k]) for name, values in fields.items()}),
            answer.current / AREA,
        )
        for k in range(DRAWS)
    ]
    made["loss of the cathode"] = np.array([point.loss for point in points])
    for part in PARTS:
        made[f"{part} loss"] = np.array([getattr(point.losses, part) for point in points])
    return made


def _rank(
    found: Outcome, posterior: PorousPosterior, answer: Told, real: dict[str, float],
    dice: np.random.Generator,
) -> None:  # fmt: skip
    for name, values in drawn_values(posterior, answer, dice).items():
        rank = int((values < real[name]).sum())
        found.ranks[name] = rank
        # of the hundred gaps between 99 draws, the middle 50 and the middle 95 or so
        found.half[name] = 25 <= rank < 75
        found.whole[name] = 2.5 <= rank + 0.5 <= 97.5


def _hold(found: Outcome, answer: Told, real: dict[str, float]) -> None:
    """The printed intervals, and the rule that what kept its prior is not printed as measured."""
    for row in answer.rows:
        low, high = row.posterior_95
        if row.kept_prior:
            good = row.estimate.value is None and row.estimate.interval_95 is None
            good = good and row.estimate.basis is Basis.ASSUMED and bool(row.estimate.reason)
            if not good:
                found.broken.append(f"{row.name} kept its prior and is printed")
            continue
        if row.estimate.value is None or row.estimate.interval_95 != row.posterior_95:
            found.broken.append(f"{row.name} was told and is not printed")
        found.printed[row.name] = low <= real[row.name] <= high
    for part, one in answer.losses.items():
        if one.basis is not Basis.PREDICTED:
            found.broken.append(f"{part} loss is not called predicted")
        if one.interval_95 is not None:
            low, high = one.interval_95
            found.printed[f"{part} loss"] = low <= real[f"{part} loss"] <= high


def table(found: list[Outcome]) -> Iterable[str]:
    """The table, a line a quantity."""
    good = [one for one in found if not one.refused]
    yield "| quantity | 50 % holds | 95 % holds | chi-square of ranks (9) | p | told in | told, 95 % holds |"
    yield "|---|---|---|---|---|---|---|"
    for name in good[0].ranks:
        ranks = np.array([one.ranks[name] for one in good if name in one.ranks])
        boxes = np.bincount(ranks * BOXES // (DRAWS + 1), minlength=BOXES)
        size = float(np.square(boxes - ranks.size / BOXES).sum() / (ranks.size / BOXES))
        printed = [one.printed[name] for one in good if name in one.printed]
        yield (
            f"| {name} | {100 * np.mean([one.half[name] for one in good]):.1f} "
            f"| {100 * np.mean([one.whole[name] for one in good]):.1f} | {size:.1f} "
            f"| {chi2.sf(size, BOXES - 1):.2f} | {100 * len(printed) / len(good):.0f} % "
            f"| {f'{100 * np.mean(printed):.1f}' if len(printed) > 0.02 * len(good) else '-'} |"
        )


def main() -> None:
    """Print the table, how many gave no interval, and how often a rule was broken."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--studies", type=int, default=500)
    parser.add_argument("--truths", choices=("model", "recipe"), default="model")
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--seed", type=int, default=0, help="of the first study")
    asked = parser.parse_args()
    jobs = [(asked.truths, asked.seed + k) for k in range(asked.studies)]
    found: list[Outcome] = []
    with Pool(asked.processes) as pool:
        for one in pool.imap(study, jobs, chunksize=5):
            found.append(one)
            if len(found) % 50 == 0:
                print(f"  {len(found)} of {len(jobs)} truths", file=sys.stderr, flush=True)
    why = [one.refused for one in found if one.refused]
    counts = ", ".join(f"{why.count(w)} {w}" for w in sorted(set(why)))
    print(
        f"{len(found) - len(why)} of {len(found)} truths fitted ({asked.truths}); {counts or 'none left out'}"
    )
    for line in table(found):
        print(line)
    broken = [line for one in found for line in one.broken]
    print(
        f"kept its prior and yet printed as measured: {len(broken)}"
        + "".join(f"; {b}" for b in set(broken))
    )


if __name__ == "__main__":
    main()
