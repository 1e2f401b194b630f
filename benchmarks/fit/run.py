"""How much faster the whole posterior of a 12-point run is than 200 bootstrap refits, in one process.

    python benchmarks/fit/run.py

Both use the same forward model. The bootstrap is as kind to itself as it can be: plain least squares
from scipy, four parameters, warm start at the optimum, residuals drawn again. It is also known to
understate the uncertainty of the resistance and of the limiting current, so it is a measure of
speed only. Interleaved, median of five rounds after one to warm up; printed, never pass or fail.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from aerode.measure.area import Area
from aerode.measure.curve import Curve, current_through
from aerode.measure.curve_posterior import fit_run
from aerode.measure.fitting import fit
from aerode.measure.readings import RunData, read_run
from aerode.records.runs import Reading, Run, Settling

LOADS = np.array([2200.0, 1000.0, 470.0, 220.0, 100.0, 47.0, 22.0, 10.0, 4.7, 2.2, 1.5, 1.0])
TRUTHS = {
    "near its limit": Curve.of(0.316, 0.055, 3.75, 0.0605),
    "three quarters": Curve.of(0.316, 0.055, 3.75, 0.105),
    "far from it": Curve.of(0.316, 0.055, 3.75, 0.40),
}
REFITS, ROUNDS = 200, 5


def run_of(curve: Curve) -> RunData:
    """Twelve readings to 1 mV with 2 mV of scatter."""
    volts = current_through(curve, LOADS)[0] * LOADS
    volts = volts + 0.002 * np.random.default_rng(1).standard_normal(LOADS.size)
    readings = tuple(
        Reading(resistance=float(r), voltage=round(float(v), 3), settling=Settling.SETTLED)
        for r, v in zip(LOADS, volts, strict=True)
    )
    run = Run(name="twelve", readings=readings)
    return read_run(run, {}, area=Area(4e-4, 0.01), resistor_tolerance=0.01)


def bootstrap(data: RunData) -> None:
    """200 refits of redrawn residuals."""
    dice = np.random.default_rng(2)

    def volts(p: NDArray[np.float64]) -> NDArray[np.float64]:
        curve = Curve.of(p[0], np.exp(p[1]), p[2], np.exp(p[3]))
        return current_through(curve, data.load)[0] * data.load

    top = float(data.tab_points()[1].max())
    start = np.array([0.316, np.log(0.05), 3.0, np.log(1.5 * top)])
    lower, upper = [-1.0, np.log(0.005), 0.0, np.log(top)], [2.0, np.log(0.3), 50.0, np.log(4.0)]
    best = least_squares(lambda p: volts(p) - data.voltage, start, bounds=(lower, upper)).x
    middle, off = volts(best), data.voltage - volts(best)
    for _ in range(REFITS):
        drawn = middle + dice.choice(off, off.size)
        least_squares(lambda p, drawn=drawn: volts(p) - drawn, best, bounds=(lower, upper))


def seconds(job: Callable[[], object]) -> float:
    """Wall time of one call."""
    begin = time.perf_counter()
    job()
    return time.perf_counter() - begin


def main() -> None:
    """Print the table."""
    print("| run | curves | whole answer | 200 refits | refits over curves |")
    print("|---|---|---|---|---|")
    for name, truth in TRUTHS.items():
        data = run_of(truth)
        jobs = (
            lambda data=data: fit_run(data, np.random.default_rng(3)),
            lambda data=data: fit(data, seed=3),
            lambda data=data: bootstrap(data),
        )
        for job in jobs[:2]:
            job()
        times = np.median([[seconds(job) for job in jobs] for _ in range(ROUNDS)], axis=0)
        curves, whole, refits = 1e3 * times
        print(
            f"| {name} | {curves:.0f} ms | {whole:.0f} ms | {refits:.0f} ms | {refits / curves:.0f}× |"
        )


if __name__ == "__main__":
    main()
