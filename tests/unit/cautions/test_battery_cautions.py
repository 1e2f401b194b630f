"""A battery: the current of a dead short, and what is left in its spent cells; the lines stand beside each."""

from __future__ import annotations

import pytest

from aerode.cautions.engine import assess
from aerode.cautions.situation import CellPlan, Situation, Span


def _found(key: str, **told):
    cell = CellPlan(name="B", **told)
    return next((c for c in assess(Situation(cells=(cell,))) if c.key == f"{key}.B"), None)


def _short(low: float, high: float, **told):
    return _found("electrical.short", salt="NaCl", short_circuit=Span(low=low, high=high), **told)


@pytest.mark.parametrize(
    ("low", "high", "level", "finding"),
    [
        (2.0, 7.9, "NOTE", "below"),
        (2.0, 8.1, "FIRST", "cannot tell"),
        (40.0, 60.0, "FIRST", "above"),
    ],
)  # fmt: skip
def test_eight_amperes_is_the_line_of_a_limited_source(low, high, level, finding) -> None:
    """IEC 60950-1, table 2B (secondary): at most 8 A up to 20 V; the words come before the fuse."""
    found = _short(low, high)
    assert (found.level.value, found.finding.value) == (level, finding)
    assert "iec_60950_1" in found.source[0]
    assert found.limit.startswith("8 A")
    assert "Rings and watch off" in found.do


def test_below_an_ampere_or_not_worked_out_nothing_is_said() -> None:
    """A cell of a few square centimetres warms no wire: a judgement."""
    assert _short(0.1, 0.99) is None
    assert _found("electrical.short", salt="NaCl") is None


@pytest.mark.parametrize(
    ("cells", "current", "level"), [(2, 400.0, "STOP"), (2, 300.0, "FIRST"), (1, 2000.0, "FIRST")]
)
def test_hazardous_energy_is_a_stop_from_two_volts(cells, current, level) -> None:
    """240 VA at 2 V or more (IEC 60950-1): a straight source gives U0 I/4 at most, 2.6 V x 400 A / 4 = 260 W."""
    volts = Span(low=1.3, high=1.3)
    found = _short(current, current, in_series=cells, open_circuit_voltage=volts)
    assert found.level.value == level
    assert "240 W at 2 V" in found.limit
    fused = _short(current, current, in_series=cells, open_circuit_voltage=volts, fused=True)
    assert fused.level.value != "STOP"


@pytest.mark.parametrize(("high", "said"), [(3.4, False), (3.5, True)])
def test_a_load_that_gets_too_much_is_warned_of_first(high, said) -> None:
    """15 % over what it is made for: a judgement; what to build instead stands in what to do."""
    gets = Span(low=3.3, high=high)
    found = _found("electrical.overvoltage", load_voltage=3.0, load_gets=gets, gentler="3 cells of 2 electrodes start at 3.1 V")  # fmt: skip
    assert (found is not None) is said
    if found is not None:
        assert found.level.value == "FIRST"
        assert "3 cells of 2 electrodes start at 3.1 V, or a regulator" in found.do
    assert _found("electrical.overvoltage", load_voltage=3.0) is None


@pytest.mark.parametrize(
    ("salt", "level", "words"),
    [
        ("KOH", "FIRST", ("aluminate", "pH 12.5", "loose lid", "no water or acid")),
        ("NaCl", "NOTE", ("in brine", "Not the drain", "not onto soil", "loose lid")),
        ("", "FIRST", ("nobody named", "Goggles")),
    ],
)
def test_spent_cells_say_where_their_sludge_may_not_go(salt, level, words) -> None:
    """40 CFR 403.5: no solid that chokes a sewer; 40 CFR 261.22: pH 12.5; the rest is common practice."""
    found = _found("waste.spent", salt=salt, hydroxide=0.25, in_series=4)
    assert found.level.value == level
    assert "1 kg of solid" in found.headline
    said = " ".join((found.headline, found.do, found.limit))
    assert all(word in said for word in words), said
    assert any("cfr_40_403" in one for one in found.source)
    assert _found("waste.spent", salt=salt) is None
