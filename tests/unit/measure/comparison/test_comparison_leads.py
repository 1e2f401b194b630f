"""Tab and lead that nobody measured: the same treatment as in the fit of one run, and told."""

from __future__ import annotations

import importlib.util
import math
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from aerode.measure.comparison.answer import Request, compare_study
from aerode.measure.comparison.study import Study, measure_study
from aerode.measure.comparison.values import Response
from aerode.measure.fitted import fitted
from aerode.measure.readings import read_run
from aerode.records.electrodes import Cell, Sensing


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
AT = Response(voltage=0.45)


def _untold(study: Study, *names: str) -> Study:
    """The same readings, with the tab resistance of these pieces never measured."""

    def bare(pieces):
        return tuple(replace(e, tab=None) if not names or e.name in names else e for e in pieces)

    return replace(study, electrodes=bare(study.electrodes), controls=bare(study.controls))


def _densities(study: Study) -> dict[str, float]:
    return {m.entrant.electrode.name: float(m.log_value) for m in measure_study(study, AT).measured}


def test_where_no_lead_was_measured_nothing_is_taken_off() -> None:
    """The value compared is the one that the fit of the run alone gives at that voltage, at the clips."""
    study = _untold(bench.two_recipes())
    values = measure_study(study, AT)
    assert {m.entrant.electrode.name for m in values.measured} >= {e.name for e in study.electrodes}
    for one in values.measured:
        data = read_run(
            one.entrant.run, study.instruments, electrode=one.entrant.electrode, cell=one.entrant.cell
        )  # fmt: skip
        mean, _ = fitted(data, 1).log_current_at_voltage(0.45)
        assert one.area is not None
        alone = mean - float(math.log(one.area.value))
        assert one.log_value == pytest.approx(alone, abs=3e-3)
        assert one.steps["lead"] == 1.0
    leads = [entry for entry in values.inputs if entry.sort == "lead"]
    assert [e.uncertainty for e in leads] == pytest.approx([0.4 / 12**0.5] * len(leads))
    assert len(leads) >= len(study.electrodes)


def test_that_leads_may_differ_widens_the_interval() -> None:
    """Ratios stay nearly where they were (a lead in series levels them a little); the interval of pieces is wider than with tabs measured."""
    told, untold = bench.two_recipes(), _untold(bench.two_recipes())
    known, open_ = (
        compare_study(s, Request(response=AT, looks=1, margin=1.2)) for s in (told, untold)
    )
    a, b = (
        {(c.a, c.b): c for c in found.contrasts if str(c.level) == "pieces"}
        for found in (known, open_)
    )
    for pair, one in a.items():
        assert b[pair].ratio == pytest.approx(one.ratio, rel=0.05)
        assert one.interval_95 is not None
        assert b[pair].interval_95 is not None
        assert (
            b[pair].interval_95[1] / b[pair].interval_95[0]
            > one.interval_95[1] / one.interval_95[0]
        )
    said = " ".join(open_.assumptions)
    assert "not measured: it counts as part of the cell" in said
    (line,) = [c for c in open_.conditions if c.condition == "tab and lead"]
    assert "nothing is taken off" in line.detail


def test_one_that_was_not_measured_among_others_is_brought_to_the_tab_too() -> None:
    """0.3 ohm is taken for it, said among the assumptions and the conditions, and its value rises as at a tab."""
    whole = bench.two_recipes()
    name = whole.electrodes[0].name
    mixed = _untold(whole, name)
    at_tab, at_clips = _densities(mixed)[name], _densities(_untold(whole))[name]
    assert at_tab > at_clips + 0.005
    found = compare_study(mixed, Request(response=AT, looks=1, margin=1.2))
    assert any(line.endswith("not measured: 0.3 ohm taken") for line in found.assumptions)
    (line,) = [c for c in found.conditions if c.condition == "tab and lead"]
    assert line.detail.startswith(f"not measured on {name}; 0.3 ohm taken")


def test_with_a_sense_wire_the_lead_stays_in_series_with_the_load() -> None:
    """It carries the load's current there, so that leaving it out would be wrong: 0.3 ohm is taken."""
    whole = _untold(bench.two_recipes())
    cells = {
        f"cell {e.name}": Cell(name=f"cell {e.name}", electrode=e.name, sensing=Sensing.SENSE_WIRE)
        for e in (*whole.electrodes, *whole.controls)
    }
    found = measure_study(replace(whole, cells=cells), AT)
    assert {m.fit.data.lead_resistance for m in found.measured} == {0.3}
