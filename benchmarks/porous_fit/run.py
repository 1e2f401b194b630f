"""How fast the whole porous posterior of one run is, and how many curves of the solver it is worth.

    python benchmarks/porous_fit/run.py

One run of eight loads of an invented porous cathode. Printed: CPU seconds and effective samples of the
posterior on several seeds (goal: 0.5 s, 400), and of three runs that came near the limit of their oxygen
(goal: 1 s); the first as a multiple of the bare solver time for as many
curves; against the plain prior weighted by the likelihood, by effective samples a second; and a million
curves streamed, with the peak of the memory. Opt-in, seeded, never pass or fail.
"""

from __future__ import annotations

import importlib.util
import os
import resource
import sys
import time
from pathlib import Path
from types import ModuleType

for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")  # before numpy: one core means one core

import numpy as np  # noqa: E402

from aerode.measure.porous.bands import Band, Form  # noqa: E402
from aerode.measure.porous.fitting import PorousRun, fit_porous  # noqa: E402
from aerode.measure.porous.recipe import model_of, recipe_columns  # noqa: E402
from aerode.measure.porous.streaming import count_losses, from_bands  # noqa: E402
from aerode.physics.cathode import limiting_current  # noqa: E402
from aerode.quantities import Basis  # noqa: E402

TESTS = Path(__file__).parents[2] / "tests" / "unit" / "measure" / "porous" / "test_fitting.py"
INVENTED = Path(__file__).parents[1] / "coverage_porous"
SEEDS = range(5)
NEAR = (27, 80, 93)
"""Invented runs of `coverage_porous` whose largest reading lies within 6 % of the truth's limit."""
REST = 2.0  # [ohm]
MILLION = 1_000_000


def load(path: Path) -> ModuleType:
    """A module by its path."""
    spec = importlib.util.spec_from_file_location(f"bench_{path.stem}", path)
    if spec is None or spec.loader is None:
        raise SystemExit(f"cannot load {path}")
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def posteriors(cases: ModuleType) -> None:
    """Time and worth of the posterior, beside plain weights of the prior."""
    run = cases.asked(cases.run(0.002))
    fit_porous(run, np.random.default_rng(99))  # warm
    print(
        "| seed | CPU s | effective samples | curves | over the bare curves | over plain weights |"
    )
    print("|---|---|---|---|---|---|")
    for seed in SEEDS:
        begin = time.process_time()
        found = fit_porous(run, np.random.default_rng(seed))
        spent = time.process_time() - begin
        model, sample = found.model, found.sample
        near = sample.samples[np.abs(sample.samples).max(axis=1) < 3.0]
        begin = time.process_time()
        model.losses(near, model.seen)
        bare = (time.process_time() - begin) * sample.evaluations / near.shape[0]
        rows = np.random.default_rng(seed + 100).standard_normal((3000, model.size_of_row))
        begin = time.process_time()
        logs = model(rows) + 0.5 * (rows**2).sum(axis=1)
        plain = time.process_time() - begin
        weights = np.exp(logs - logs.max())
        worth = float(weights.sum() ** 2 / (weights**2).sum())
        ratio = (sample.effective_sample_size / spent) / (worth / plain)
        print(
            f"| {seed} | {spent:.2f} | {sample.effective_sample_size:.0f} | {sample.evaluations} | "
            f"{spent / bare:.1f}× | {ratio:.1f}× |"
        )


def near_limits(cases: ModuleType) -> None:
    """Time and worth where a run came near the limit of its oxygen."""
    sys.path.insert(0, str(INVENTED))
    invented = load(INVENTED / "invented.py")
    layer = invented.layer_for(cases.layer(), wide=False)
    columns = recipe_columns(layer)
    print("near a limit:")
    print("| run | largest reading over limit | CPU s | effective samples | curves | interval |")
    print("|---|---|---|---|---|---|")
    for number in NEAR:
        dice = np.random.default_rng([number, 30])
        truth = invented.drawn_truth(layer, model_of(columns), REST, dice, kind="model")
        run = PorousRun(data=invented.run_of(truth, dice), columns=columns, rest=REST)
        begin = time.process_time()
        found = fit_porous(run, dice)
        spent = time.process_time() - begin
        share = found.model.seen[-1] / (limiting_current(truth.cathode) * invented.AREA)
        sample = found.sample
        print(
            f"| {number} | {share:.2f} | {spent:.2f} | {sample.effective_sample_size:.0f} "
            f"| {sample.evaluations} | {'honest' if sample.reason is None else 'none, and said so'} |"
        )


def million(cases: ModuleType) -> None:
    """A million curves of eight currents, streamed."""
    bands = {
        "film_transfer": Band(low=10.0, high=1e4, form=Form.EVEN_IN_LOG, unit="1/s",
                              basis=Basis.ASSUMED, source="benchmark"),
        "electrons": Band(low=2.0, high=4.0, form=Form.EVEN, unit="", basis=Basis.ASSUMED,
                          source="benchmark"),
    }  # fmt: skip
    currents = np.geomspace(1.0, 100.0, 8)
    for draws in (10_000, MILLION):
        begin = time.process_time()
        counts = count_losses(cases.TRUTH, from_bands(bands), currents, draws=draws, seed=1)
        spent = time.process_time() - begin
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
        print(f"{counts.draws:,} curves: {spent:.1f} CPU s, {1e6 * spent / draws:.1f} µs each, "
              f"peak of the memory so far {peak:.0f} MB")  # fmt: skip


def main() -> None:
    """Print all three."""
    cases = load(TESTS)
    posteriors(cases)
    near_limits(cases)
    million(cases)


if __name__ == "__main__":
    main()
