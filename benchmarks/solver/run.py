"""Speed and accuracy of the cathode solver against a general boundary-value solver.

    python -m benchmarks solver [--part hard] [--quick] [--seed 11]

Opt-in, seeded, one process, the two sides interleaved curve by curve, CPU time of the process, the
best of a few repeats on our side and a single (warm) run on the other. Only ratios travel well; run
it on a quiet machine. The parts, which `--part` picks (repeat it):

* `single`: `solve_bvp` (scipy) in its leanest form with the analytic Jacobian, started from the last solution,
  or better, from a secant through the last two, at the tolerance whose median error is below 2e-7 V;
  against the shipped route, `polarization`, with its own error estimate and everything Python does;
* `batches`: the same by `polarization_batch`, one thread and two, beside the floor of its arithmetic
  (`floor.py`); runs `single` first, for the ratio;
* `sensitivities`: a curve with eight exact derivatives against a plain one;
* `hard`: one current per cathode, everything included, against `solve_bvp` by continuation, which is
  given the skin alone where the rest of a drowned layer is dead; a few of those it also gets whole.
"""

from __future__ import annotations

import argparse
import importlib.util
import os
import sys
import time
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any

for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")  # before numpy: one core means one core

import numpy as np  # noqa: E402

from aerode.physics.cathode import (  # noqa: E402
    CathodeParameters,
    limiting_current,
    polarization,
    polarization_batch,
    sensitivities,
)

HERE = Path(__file__).parent
PARTS = ("single", "batches", "sensitivities", "hard")
COUNTED = 64  # curves whose Newton steps are counted for the floor
TESTS = HERE.parents[1] / "tests" / "unit" / "physics" / "cathode"
POINTS = 25
EIGHT = (
    "ionic_conductivity",
    "electronic_conductivity",
    "gas_diffusivity",
    "agglomerate_radius",
    "film_transfer",
    "exchange_current",
    "tafel_slope",
    "thickness",
)


def load(path: Path) -> ModuleType:
    """A module by its path."""
    spec = importlib.util.spec_from_file_location(f"bench_{path.stem}", path)
    if spec is None or spec.loader is None:
        raise SystemExit(f"cannot load {path}")
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def best(task: Callable[[], object], repeats: int, times: int) -> float:
    """Seconds of CPU for one run, the best of several."""
    lowest = float("inf")
    for _ in range(repeats):
        begin = time.process_time()
        for _ in range(times):
            task()
        lowest = min(lowest, (time.process_time() - begin) / times)
    return lowest


def currents_of(cathode: CathodeParameters) -> np.ndarray:
    """Twenty-five currents from 0.01 to 50 mA/cm², or to 0.9 of the limit."""
    return np.geomspace(0.1, min(500.0, 0.9 * limiting_current(cathode)), POINTS)


def single_curves(
    cases: ModuleType, baseline: ModuleType, seed: int, count: int
) -> dict[str, float]:
    """Single curves through the shipped route; returns seconds of the general solver per curve."""
    rng = np.random.default_rng(seed)
    ways = [(warm, tol) for warm in ("last solution", "secant") for tol in (1e-3, 1e-4, 1e-5)]
    ours, error = [], []
    seconds: dict[tuple[str, float], list[float]] = {way: [] for way in ways}
    misses: dict[tuple[str, float], list[float]] = {way: [] for way in ways}
    failures = dict.fromkeys(ways, 0)
    for _ in range(count):
        cathode = cases.ordinary_case(rng)
        currents = currents_of(cathode)
        exact = polarization(cathode, currents, tolerance=1e-11).complete()
        general = baseline.WarmBoundaryValue(cathode)
        with np.errstate(all="ignore"):
            for way in ways:
                begin = time.process_time()
                losses = general.curve(currents, way[1], secant=way[0] == "secant")
                seconds[way].append(time.process_time() - begin)
                failures[way] += int(np.isnan(losses).any())
                misses[way].append(float(np.nanmax(np.abs(losses - exact))))
        ours.append(best(lambda c=cathode, i=currents: polarization(c, i), 3, 10))
        error.append(float(np.abs(polarization(cathode, currents).complete() - exact).max()))
    mine = float(np.mean(ours))
    print(f"single curves, {count} ordinary cathodes, {POINTS} points, seed {seed}")
    print(f"  polarization: {mine * 1e6:8.1f} µs a curve, largest error {max(error):.1e} V")
    for way in ways:
        other = float(np.mean(seconds[way]))
        print(
            f"  solve_bvp from {way[0]:13}, tol {way[1]:g}: {other * 1e3:6.1f} ms, error median"
            f" {np.median(misses[way]):.1e}, largest {max(misses[way]):.1e} V,"
            f" not finished {failures[way]}, ratio {other / mine:6.0f}"
        )
    equal: dict[str, float] = {}
    for warm in ("last solution", "secant"):
        fits = [w for w in ways if w[0] == warm and np.median(misses[w]) <= 2e-7]
        equal[warm] = float(np.mean(seconds[fits[0] if fits else (warm, 1e-5)]))
        print(f"  at equal accuracy, from {warm}: ratio {equal[warm] / mine:.0f} (goal 400)")
    return equal


def batches(
    cases: ModuleType, floor: ModuleType, seed: int, count: int, general: dict[str, float]
) -> None:
    """Batches of variants, one and two threads, beside the floor of their arithmetic."""
    rng = np.random.default_rng(seed)
    made = [cases.ordinary_case(rng) for _ in range(count)]
    names = [n for n in CathodeParameters.__dataclass_fields__ if n in made[0].__slots__]
    numeric = [n for n in names if isinstance(getattr(made[0], n), float)]
    changes = {n: [getattr(cathode, n) for cathode in made] for n in numeric}
    currents = np.array([currents_of(cathode) for cathode in made])

    def run(workers: int = 1, tolerance: float = 1e-7) -> np.ndarray:
        return polarization_batch(
            made[0], changes, currents, tolerance=tolerance, workers=workers
        ).loss

    exact = run(tolerance=1e-11)
    print(f"batches of {count} curves (arrays in, arrays out, error estimate included)")
    for tolerance in (1e-7, 1e-6):
        each = best(lambda tol=tolerance: run(tolerance=tol), 5, 3) / count
        error = float(np.abs(run(tolerance=tolerance) - exact).max())
        ratios = ", ".join(f"{t / each:.0f} (from {warm})" for warm, t in general.items())
        print(
            f"  tolerance {tolerance:g}: {each * 1e6:6.1f} µs a curve, largest error {error:.1e} V,"
            f" ratio {ratios} (goal 1500)"
        )
        if tolerance == 1e-7:
            some = min(COUNTED, count)
            bound(floor.measured(made[:some], list(currents[:some])), each)
    wall, spent = [float("inf"), float("inf")], [float("inf"), float("inf")]
    for _ in range(7):
        for workers in (1, 2):
            begin, busy = time.perf_counter(), time.process_time()
            run(workers)
            wall[workers - 1] = min(wall[workers - 1], time.perf_counter() - begin)
            spent[workers - 1] = min(spent[workers - 1], time.process_time() - busy)
    print(f"  two threads against one, wall time: {wall[0] / wall[1]:.2f} times as fast")
    print(
        f"  two threads against one, CPU time: {spent[1] / spent[0]:.2f} (1 means that nothing is lost "
        f"between them); others wait for {os.getloadavg()[0]:.1f} cores here"
    )


def bound(least: Any, each: float) -> None:
    """The floor of the arithmetic beside what a curve takes."""
    print(
        f"    {least.steps:.2f} Newton steps a point, {least.nodes:.1f} nodes a step; floor of a curve:"
        f" {least.functions * 1e6:.1f} µs exp and log, {least.elimination * 1e6:.1f} µs elimination"
    )
    print(
        f"    {each / least.total:.1f} times the floor (goal: within 2.5 times);"
        f" {each / (least.total + least.filling):.1f} times with the {least.filling * 1e6:.1f} µs of"
        " products that fill the systems"
    )


def derivatives(cases: ModuleType, seed: int, count: int) -> None:
    """Eight sensitivities against a plain curve, the translated part alone and all of it."""
    from aerode.physics.cathode import compiled
    from aerode.physics.cathode.packed import pack

    rng = np.random.default_rng(seed)
    inner, outer = [], []
    for _ in range(count):
        cathode = cases.ordinary_case(rng)
        currents = currents_of(cathode)
        packed = pack(cathode)
        plain, full = float("inf"), float("inf")
        plain_all, full_all = float("inf"), float("inf")
        for _ in range(5):
            plain = min(
                plain, best(lambda p=packed, i=currents: compiled.values(p, i, 1e-7), 1, 20)
            )
            full = min(full, best(lambda p=packed, i=currents: compiled.slopes(p, i, 1e-7), 1, 20))
            plain_all = min(
                plain_all, best(lambda c=cathode, i=currents: polarization(c, i), 1, 20)
            )
            full_all = min(
                full_all, best(lambda c=cathode, i=currents: sensitivities(c, i, EIGHT), 1, 20)
            )
        inner.append(full / plain)
        outer.append(full_all / plain_all)
    print(f"eight exact sensitivities over a plain curve, {count} cathodes")
    print(f"  translated solver: {np.mean(inner):.2f} times (goal 1.6, limit 2)")
    print(f"  everything:        {np.mean(outer):.2f} times (limit 2)")


def main() -> None:
    """Run all parts, or those that were picked, and print them."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="a minute instead of ten")
    parser.add_argument("--seed", type=int, default=11)
    parser.add_argument("--part", choices=PARTS, action="append", help="only this; repeat for more")
    options = parser.parse_args()
    parts, quick = set(options.part or PARTS), options.quick
    cases, oracles = load(TESTS / "cases.py"), load(TESTS / "oracles.py")
    baseline, floor = load(HERE / "baseline.py"), load(HERE / "floor.py")
    warm = cases.ordinary_case(np.random.default_rng(0))
    polarization(warm, [1.0])
    polarization_batch(warm, {"electrons": [4.0]}, [1.0])
    sensitivities(warm, [1.0], EIGHT)
    if parts & {"single", "batches"}:
        general = single_curves(cases, baseline, options.seed, 6 if quick else 40)
    if "batches" in parts:
        batches(cases, floor, options.seed, 128 if quick else 1024, general)
    if "sensitivities" in parts:
        derivatives(cases, options.seed, 4 if quick else 20)
    if "hard" in parts:
        load(HERE / "hard_set.py").hard(cases, oracles, 20 if quick else 800)


if __name__ == "__main__":
    main()
