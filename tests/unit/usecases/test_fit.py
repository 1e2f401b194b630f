"""Fitting a bare table or a run of the bench: the doors around `aerode.measure.fitting`."""

from __future__ import annotations

from pathlib import Path

import pytest

from aerode.errors import AerodeError, CannotTellError, InputError, NotFoundError, TableError
from aerode.records.electrodes import Cell, Electrode, Sensing
from aerode.records.instruments import Instrument, MeterRange, Sort
from aerode.records.marks import Entry
from aerode.records.runs import Reading, Run, RunSort, Settling
from aerode.store.bench_file import BenchFile
from aerode.usecases.fit import FitQuestion, fit_bench_run, fit_table

LADDER = (
    (470, 0.649), (220, 0.597), (100, 0.540), (47, 0.467), (22, 0.381), (10, 0.270), (4.7, 0.168),
)  # fmt: skip
TABLE = "resistance_ohm,voltage_V\n" + "".join(f"{r},{v:.3f}\n" for r, v in LADDER)
CURRENTS = "current_mA,voltage_V\n" + "".join(f"{1e3 * v / r:.3f},{v:.3f}\n" for r, v in LADDER)


def test_resistors_and_currents_tell_the_same() -> None:
    """The same readings as loads and as currents: slopes that agree within their uncertainty."""
    question = FitQuestion(area="4 cm^2", resistor_tolerance="1 %")
    loads = fit_table(TABLE, question, name="a").parameters["peak_power_mW"]
    currents = fit_table(CURRENTS, question, name="b").parameters["peak_power_mW"]
    assert loads.value == pytest.approx(currents.value, rel=0.05)


def test_a_semicolon_comma_table_with_open_circuit(tmp_path: Path) -> None:
    """A European table: the open row is left out, with its line."""
    path = tmp_path / "lauf.csv"
    rows = "".join(f"{r};{v:.3f}\n".replace(".", ",") for r, v in LADDER)
    path.write_text("R (ohm);U (V)\noffen;0,81\nopen;0,81\n" + rows, encoding="utf-8")
    answer = fit_table(path, FitQuestion())
    assert answer.source == "lauf.csv"
    assert sum(p.used for p in answer.points) == len(LADDER)
    assert any("decimal mark is a comma" in a for a in answer.assumptions)


def test_current_densities_need_the_area() -> None:
    """With it they are currents; without it the refusal names what is missing."""
    rows = "".join(f"{1e3 * v / r / 4:.4f},{v:.3f}\n" for r, v in LADDER)
    table = "j (mA/cm2),voltage_V\n" + rows
    answer = fit_table(table, FitQuestion(area="4 cm^2 +- 1 %"), name="j")
    assert answer.parameters["peak_power_density_mW_cm2"].identifiable
    with pytest.raises(TableError, match="area"):
        fit_table(table, FitQuestion(), name="j")


@pytest.mark.parametrize(
    ("table", "kind", "word"),
    [
        ("", TableError, "nothing in it"),
        ("resistance_ohm,voltage_V\n15,0.4\n", CannotTellError, "at least 3"),
        ("resistance_ohm,voltage_V\n0.7,1000\n0.6,470\n0.5,220\n", TableError, "swapped"),
        ("resistance_ohm,voltage_V\n1000,716\n470,663\n100,552\n", TableError, "wrong unit"),
        ("voltage_V\n0.5\n0.4\n0.3\n", TableError, "resistance"),
        ("resistance_ohm,voltage_V\n100,-0.5\n47,-0.4\n22,-0.3\n", AerodeError, "negative"),
    ],
)
def test_what_cannot_be_fitted_is_refused_with_help(
    table: str, kind: type[AerodeError], word: str
) -> None:
    """Empty, one reading, swapped columns, millivolts as volts, no load, swapped leads."""
    with pytest.raises(kind) as refusal:
        fit_table(table, FitQuestion(), name="table")
    assert word in str(refusal.value)
    assert "Next:" in str(refusal.value)


@pytest.mark.parametrize(
    ("question", "word"),
    [
        (FitQuestion(at=("0.45 V",)), "compare"),
        (FitQuestion(at=("-3 mA",)), "above zero"),
        (FitQuestion(resistor_tolerance="5"), "%"),
        (FitQuestion(meter="good"), "0.5 % + 2 counts"),
        (FitQuestion(area="4 cm"), "area"),
        (FitQuestion(lead="400 ohm"), "believable"),
    ],
)
def test_options_that_make_no_sense_say_what_would(question: FitQuestion, word: str) -> None:
    """Each refusal names what is taken instead."""
    with pytest.raises(InputError) as refusal:
        fit_table(TABLE, question, name="table")
    assert word in str(refusal.value)


def test_the_options_reach_the_fit() -> None:
    """Meter, tolerance, lead, seed and asked currents each change the answer."""
    plain = fit_table(TABLE, FitQuestion(), name="a")
    for question in (
        FitQuestion(meter="3 % + 5 counts of 1 mV"),
        FitQuestion(resistor_tolerance="0.1 %"),
        FitQuestion(lead="0.5 ohm +- 0.1"),
        FitQuestion(seed=2),
    ):
        assert fit_table(TABLE, question, name="a").parameters != plain.parameters
    asked = fit_table(TABLE, FitQuestion(at=("5 mA", "8 mA")), name="a")
    assert [v.current.value for v in asked.voltage_at] == pytest.approx([5.0, 8.0])


@pytest.mark.parametrize(
    ("question", "where"),
    [
        (FitQuestion(area="9.5"), "area"),
        (FitQuestion(lead="0.4"), "--lead"),
        (FitQuestion(at=("10",)), "--at"),
        (FitQuestion(resistor_tolerance="1"), "--resistor-tolerance"),
    ],
)
def test_a_number_without_its_unit_is_refused(question: FitQuestion, where: str) -> None:
    """9.5 may be cm² or in²: every option says so alike, and how it is written."""
    with pytest.raises(InputError) as refused:
        fit_table(TABLE, question, name="a")
    assert refused.value.where == where
    assert "as in" in refused.value.allowed or "mA" in refused.value.allowed


def test_a_person_can_say_what_a_column_is() -> None:
    """Headings that mean nothing, and a unit that stands nowhere."""
    rows = "".join(f"{r},{1e3 * v:.0f}\n" for r, v in LADDER)
    question = FitQuestion(
        columns=("resistance=what", "voltage=2"), units=("voltage=mV", "resistance=ohm")
    )
    answer = fit_table("what,seen\n" + rows, question, name="a")
    assert answer.points[0].voltage == pytest.approx(0.649)
    with pytest.raises(InputError, match="--column"):
        fit_table(TABLE, FitQuestion(columns=("voltage",)), name="a")


@pytest.fixture
def bench(tmp_path: Path) -> BenchFile:
    """A bench with a meter, resistors, one electrode with two runs, one with one, one with none."""
    meter = MeterRange(name="2 V", full_scale=2.0, count=1e-3, of_reading=0.005, counts=2)
    readings = tuple(
        Reading(load=f"{r:g} ohm", voltage=v, settling=Settling.SETTLED) for r, v in LADDER
    )
    common = {"meter": "yellow", "voltage_range": "2 V", "readings": readings, "cell": "cell T5"}
    store = BenchFile.create(tmp_path / "bench.aerode", title="shed")  # fmt: skip
    store.put_all(
        [
            Instrument(name="yellow", sort=Sort.MULTIMETER, ranges=(meter,)),
            *(
                Instrument(name=f"{r:g} ohm", sort=Sort.RESISTOR, nominal_resistance=r, tolerance=0.01)
                for r, _ in LADDER
            ),
            Electrode(name="T5", wetted_area=Entry(value=9.6e-4, standard_uncertainty=1e-5)),
            Electrode(name="T6"),
            Electrode(name="T7"),
            Cell(name="cell T5", electrode="T5", sensing=Sensing.CLIPS, lead_resistance=Entry(value=0.5, standard_uncertainty=0.05)),
            Run(name="T5 a", electrode="T5", **common),
            Run(name="T6 a", electrode="T6", **common),
            Run(name="T6 b", electrode="T6", **common),
            Run(name="T7 short", electrode="T7", sort=RunSort.SHORT_CIRCUIT),
        ]
    )  # fmt: skip
    return store


def test_a_run_brings_its_own_meter_area_and_leads(bench: BenchFile) -> None:
    """Nothing is assumed that the bench knows."""
    answer = fit_bench_run(bench, "T5 a", FitQuestion())
    assert answer.electrode == "T5"
    assert answer.wetted_area_cm2.value == pytest.approx(9.6)
    assert not any("meter" in a or "tolerance" in a or "lead" in a for a in answer.assumptions)
    first = answer.points[-1]
    assert (first.corrected_voltage or 0) > (first.voltage or 0)


def test_the_question_goes_before_the_bench(bench: BenchFile) -> None:
    """Another area and another meter."""
    plain = fit_bench_run(bench, "T5 a", FitQuestion())
    asked = fit_bench_run(
        bench, "T5 a", FitQuestion(area="4.8 cm^2", meter="3 % + 9 counts of 1 mV")
    )
    key = "peak_power_density_mW_cm2"
    assert (asked.parameters[key].value or 0) == pytest.approx(
        2 * (plain.parameters[key].value or 0), rel=0.1
    )
    assert (asked.parameters[key].standard_uncertainty or 0) > (
        plain.parameters[key].standard_uncertainty or 0
    )


def test_an_electrode_with_one_run_can_be_named(bench: BenchFile) -> None:
    """T5 has one run of load steps, T6 two, T7 none; T8 is unknown."""
    assert fit_bench_run(bench, "T5", FitQuestion()).source == "T5 a"
    with pytest.raises(InputError, match="T6 a, T6 b"):
        fit_bench_run(bench, "T6", FitQuestion())
    with pytest.raises(NotFoundError, match="no run of load steps"):
        fit_bench_run(bench, "T7", FitQuestion())
    with pytest.raises(NotFoundError):
        fit_bench_run(bench, "T8", FitQuestion())
