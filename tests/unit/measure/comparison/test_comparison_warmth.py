"""Runs that were not equally warm: named as what could overturn the verdict, or said not to."""

from __future__ import annotations

import importlib.util
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from aerode.measure.comparison.answer import Request, compare_study
from aerode.measure.comparison.values import Response, TemperatureCoefficient
from aerode.measure.telling import next_act, warmth_first
from aerode.records.comparisons import Comparison, Verdict
from aerode.records.marks import Condition, Known
from aerode.records.runs import Run


def _small_bench():
    path = Path(__file__).with_name("small_bench.py")
    spec = importlib.util.spec_from_file_location("small_bench", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["small_bench"] = module
    spec.loader.exec_module(module)
    return module


bench = _small_bench()


def _warm(run: Run, hotter: float, *, by_reading: bool) -> Run:
    kelvin = 293.15 + (hotter if (run.electrode or "").startswith("A") else 0.0)
    if by_reading:
        return replace(run, readings=tuple(replace(r, temperature=kelvin) for r in run.readings))
    return replace(run, temperature=Condition(known=Known.MEASURED, value=kelvin))


def _ask(hotter: float, *, by_reading: bool = False, **more: object) -> Comparison:
    plain = bench.two_recipes()
    runs = tuple(_warm(r, hotter, by_reading=by_reading) for r in plain.runs)
    asked = Request(response=Response(voltage=0.45), looks=1, **{"try_changes": False, **more})  # pyright: ignore[reportArgumentType]
    return compare_study(replace(plain, runs=runs), asked)


@pytest.mark.parametrize("by_reading", [False, True])
def test_a_difference_of_ten_kelvin_is_named_as_what_could_overturn_it(by_reading: bool) -> None:
    """Noted for the run or with its readings; the share per kelvin, taken out, just turns the verdict."""
    found = _ask(10.0, by_reading=by_reading)
    doubt = found.temperature_doubt

    assert found.verdict is Verdict.SHOWN
    assert doubt is not None
    assert doubt.believable
    assert doubt.per_kelvin is not None
    assert "20 to 30 °C" in warmth_first(found)
    assert "could overturn" in warmth_first(found)
    for share, verdict in ((1.02, Verdict.NOT_SHOWN), (0.98, Verdict.SHOWN)):
        band = TemperatureCoefficient(value=share * doubt.per_kelvin, standard_uncertainty=1e-6)
        corrected = _ask(10.0, by_reading=by_reading, temperature=band)
        assert corrected.verdict is verdict
        assert corrected.temperature_doubt is None


def test_it_is_the_next_act_where_the_verdict_hangs_on_it() -> None:
    """One act with its reason, which is also the first of the steps."""
    found = _ask(10.0)

    assert found.next_act is not None
    assert "at one temperature" in found.next_act.do
    assert "10 K apart" in found.next_act.why
    assert found.next_steps[0] == next_act(found)


def test_a_small_difference_is_said_to_do_nothing() -> None:
    """At 1 K nothing is said; at 4 K the needed change is named as more than is believable."""
    assert _ask(1.0).temperature_doubt is None
    far = _ask(4.0).temperature_doubt

    assert far is not None
    assert not far.believable
    assert "more than the 4 %" in far.words


def test_the_temperature_stands_among_what_was_tried() -> None:
    """The list of inputs holds the change per kelvin, also where only the readings have temperatures."""
    found = _ask(10.0, by_reading=True, try_changes=True)

    (line,) = [one for one in found.overturn if one.input.startswith("temperature")]
    assert line.to_verdict is Verdict.NOT_SHOWN
    assert (line.in_uncertainties or 9.0) < 2.0
