"""A run is fitted once: the same answer, object for object; another reading or other dice, another fit."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from aerode.errors import CannotTellError
from aerode.measure import fitted as keeping
from aerode.measure.curve_posterior import fit_run
from aerode.measure.fitted import fitted
from aerode.measure.readings import read_run
from aerode.records.runs import Reading, Run

VOLTS = {220.0: 0.597, 100.0: 0.540, 47.0: 0.467, 22.0: 0.381, 10.0: 0.270}


def _run(**changed: float) -> Run:
    volts = {**VOLTS, **{float(k.removeprefix("r")): v for k, v in changed.items()}}
    return Run(name="A", readings=tuple(Reading(resistance=r, voltage=v) for r, v in volts.items()))


def test_the_same_fit_and_the_same_numbers() -> None:
    """What is kept is what a fresh fit gives, to the bit; a voltage that differs by a digit is another run."""
    data = read_run(_run(), {}, resistor_tolerance=0.01)
    first, again = fitted(data, 3), fitted(read_run(_run(), {}, resistor_tolerance=0.01), 3)
    fresh = fit_run(data, np.random.default_rng(3))

    assert again is first
    assert np.array_equal(first.weights, fresh.weights)
    assert np.array_equal(first.scatter, fresh.scatter)
    assert fitted(data, 4) is not first
    assert fitted(read_run(_run(r100=0.5401), {}, resistor_tolerance=0.01), 3) is not first
    assert fitted(replace(data, lead_resistance=data.lead_resistance + 1e-9), 3) is not first


def test_what_cannot_be_fitted_is_refused_each_time() -> None:
    """A refusal is not kept as an answer."""
    few = read_run(Run(name="A", readings=_run().readings[:2]), {}, resistor_tolerance=0.01)
    for _ in range(2):
        with pytest.raises(CannotTellError):
            fitted(few, 1)


def test_only_so_many_are_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    """The one asked for longest ago gives way."""
    monkeypatch.setattr(keeping, "_MOST", 2)
    data = read_run(_run(), {}, resistor_tolerance=0.01)
    kept = [fitted(data, seed) for seed in (11, 12)]
    fitted(data, 11)
    fitted(data, 13)

    assert fitted(data, 11) is kept[0]
    assert fitted(data, 12) is not kept[1]
