"""What a load should read: one odd reading that was kept does not spoil what comes after it."""

from __future__ import annotations

import pytest

from aerode.measure.expecting import expect, fits_better, unlikely

LOADS = (100.0, 47.0, 22.0, 10.0, 6.8)


def _cell(ohms: float) -> float:
    """A voltage behind a resistance, Ohm's law: 1.0 V and 5 ohm."""
    return ohms / (ohms + 5.0)


def test_a_kept_odd_reading_weighs_little() -> None:
    """0.17 V at 4.7 ohm of a cell that gives 0.48 V there: at 3.3 ohm its 0.40 V is expected, and not asked about."""
    taken = [(ohms, _cell(ohms)) for ohms in LOADS] + [(4.7, 0.17)]
    seen = expect(3.3, taken, resting=1.0)

    assert seen.voltage == pytest.approx(_cell(3.3), abs=0.01)
    assert seen.low < 0.17
    assert not unlikely(_cell(3.3), seen, typed=True)


def test_what_confirms_an_odd_reading_is_believed() -> None:
    """The cell did break down: two low readings after another, and the third is foretold low too."""
    taken = [(ohms, _cell(ohms)) for ohms in LOADS] + [(4.7, 0.17), (3.3, 0.13)]
    seen = expect(2.2, taken, resting=1.0)

    assert seen.low <= 0.10 <= seen.high
    assert not unlikely(0.10, seen, typed=True)


def test_a_fair_run_is_foretold_as_before() -> None:
    """No odd reading: the band is that of two loads, 0.06 V to either side (the module's own judgement)."""
    seen = expect(4.7, [(ohms, _cell(ohms)) for ohms in LOADS], resting=1.0)

    assert (seen.voltage, seen.high - seen.low) == pytest.approx((_cell(4.7), 0.12), abs=1e-6)


def test_the_resistor_that_was_on_is_found() -> None:
    """What 6.8 ohm gives, noted at 22 ohm: 6.8 ohm is named first, 100 ohm never; what fits its own load names none."""
    taken = [(ohms, _cell(ohms)) for ohms in (100.0, 47.0)]
    named = expect(22.0, taken, resting=1.0)
    others = {f"{r:g}": expect(r, taken, resting=1.0) for r in (100.0, 47.0, 10.0, 6.8, 4.7)}

    found = fits_better(_cell(6.8), named, others)
    assert found[0] == "6.8"
    assert "100" not in found
    assert fits_better(_cell(22.0), named, others) == ()
