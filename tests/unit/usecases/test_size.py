"""A battery for a load, from the bench: what comes out, what is asked for, what is refused, what can hurt."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from aerode.errors import AerodeError, CannotTellError, InputError, NotFoundError, RangeError
from aerode.records.electrodes import Cell, Electrode
from aerode.records.instruments import Instrument
from aerode.records.marks import Entry
from aerode.records.places import People, Room
from aerode.records.runs import Reading, Run, RunSort
from aerode.store.bench_file import BenchFile
from aerode.usecases.compare import compare
from aerode.usecases.size import size_battery
from aerode.usecases.size_figure import option_table, size_figure
from aerode.usecases.size_load import SizeQuestion
from aerode.usecases.size_words import chance_words, size_facts
from aerode.virtual.tern_sound import build

BEACON = SizeQuestion(
    recipe="b10 m16 70C", power="18 mW", load_voltage="3 V", on="12 h", days="14", converter="75 %",
    least_input="0.9 V", burst="60 mA", burst_time="100 ms",
)  # fmt: skip


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """The invented bench."""
    made = tmp_path_factory.mktemp("bench") / "demo.aerode"
    with BenchFile.create(made, title="demo") as bench:
        bench.put_all(build(np.random.default_rng(1)).records)
    return made


def _size(place, **changes):
    with BenchFile.open(place, read_only=True) as bench:
        return size_battery(bench, replace(BEACON, **changes))


def test_the_sums_follow_from_the_load_and_the_charge_of_aluminium(place) -> None:
    """18 mW over 75 % for 168 h; Faraday's law, 2.980 Ah/g; the hand sum of 26.7 mA, 4.48 Ah, 1.5 g, 2.0 L."""
    found = _size(place)
    chosen, each = found.chosen, found.each_cell
    assert found.power == pytest.approx(0.024)
    assert chosen.in_series * chosen.cell_voltage >= 0.9
    lost = chosen.current * found.lead / chosen.electrodes
    assert chosen.in_series * (chosen.cell_voltage - lost) * chosen.current == pytest.approx(0.024)
    assert each.charge == pytest.approx(chosen.current * 168 * 3600)
    assert 1e3 * each.used == pytest.approx(each.charge / 3600 / 2.980, rel=1e-3)
    assert each.corroded == pytest.approx(each.used)
    assert 1e3 * each.hydrogen == pytest.approx(1e3 * each.corroded * 2.980 * 0.4564, rel=2e-3)
    assert (chosen.in_series, chosen.cell_voltage) == (2, pytest.approx(0.45 + lost))
    assert 1e3 * chosen.current == pytest.approx(26.7, abs=0.05)
    assert found.burst is not None
    assert 1e3 * found.burst.current == pytest.approx(266.7, abs=0.5)
    assert found.basis.value == "predicted"


def test_without_a_converter_every_cell_carries_the_current_of_the_load(place) -> None:
    """Cells in a row and a load make one loop: Kirchhoff's current law, whatever the row's voltage."""
    found = _size(
        place, power="", current="6 mA", load_voltage="1.2 V", converter="", least_input="", burst="20 mA"
    )  # fmt: skip
    chosen = found.chosen
    assert {round(1e3 * one.current, 9) for one in found.options} == {6.0}
    assert chosen.in_series * chosen.cell_voltage >= 1.2
    assert found.power == pytest.approx(1.2 * 6e-3)
    assert found.burst is not None
    assert 1e3 * found.burst.current == pytest.approx(20.0)
    assert found.burst.capacitance == pytest.approx((20e-3 - 6e-3) * 0.1 / 0.12)


def test_the_level_is_what_a_comparison_reads_there(place) -> None:
    """At the chosen voltage the middle of new builds lies among the fair values of the builds of the recipe."""
    found = _size(place)
    with BenchFile.open(place, read_only=True) as bench:
        read = compare(
            bench, at_voltage=found.chosen.cell_voltage, same=("rest",), try_changes=False
        )
    fair = [p.fair.value for p in read.pieces if p.recipe == found.recipe and p.fair.value]
    assert len(fair) == 2
    assert min(fair) * 0.97 < 0.1 * found.chosen.level < max(fair) * 1.03
    assert found.chosen.exceeded < found.chosen.level


def test_the_fewest_electrodes_win_and_of_equals_the_highest_voltage(place) -> None:
    """Nothing among the options that may be taken is smaller; one is chosen."""
    found = _size(place)
    able = [one for one in found.options if not one.past_the_top]
    fewest = min(one.in_series * one.electrodes for one in able)
    assert found.chosen.in_series * found.chosen.electrodes == fewest
    assert found.chosen.cell_voltage == max(
        one.cell_voltage for one in able if one.in_series * one.electrodes == fewest
    )
    assert [one for one in found.options if one.chosen] == [found.chosen]
    assert all(one.chance >= found.wanted_chance for one in found.options)


DIRECT = {"power": "", "current": "6 mA", "load_voltage": "1.2 V", "converter": "", "least_input": "", "burst": ""}  # fmt: skip


def test_one_battery_has_one_chance_at_what_the_load_needs(place) -> None:
    """Each number of cells stands once, judged at its share of the load's voltage and what its lead takes (Ohm's law)."""
    for found in (_size(place), _size(place, **DIRECT)):
        rows = [one.in_series for one in found.options]
        assert sorted(set(rows)) == sorted(rows)
    lowest = min(one.cell_voltage for one in found.given)
    for one in found.options:
        needed = 1.2 / one.in_series + 6e-3 * found.lead / one.electrodes
        assert one.cell_voltage == pytest.approx(max(needed, lowest))
    assert chance_words(found.chosen.chance) in found.headline


def test_the_leads_of_the_battery_are_counted(place) -> None:
    """As on its pieces, whose readings stand at the tab; ten ohms of your own take I r more of every cell."""
    found = _size(place, **DIRECT)
    with BenchFile.open(place, read_only=True) as bench:
        own = [bench.get(Electrode, name).tab.resistance.value for name in ("T3", "T7")]
    assert found.lead == pytest.approx(sum(own) / 2)
    assert any("mean of those measured" in one.taken for one in found.assumed)
    long = _size(place, **DIRECT, lead="10 ohm").chosen
    assert long.cell_voltage == pytest.approx(1.2 / long.in_series + 0.06 / long.electrodes)
    assert long.chance < found.chosen.chance or long.electrodes > found.chosen.electrodes


def test_leads_that_nobody_measured_are_in_the_readings(place, tmp_path) -> None:
    """At the clips each lead is a part of its cell: nothing is counted twice, and it is said."""
    copy = tmp_path / "copy.aerode"
    copy.write_bytes(place.read_bytes())
    with BenchFile.open(copy) as bench:
        for one in bench.all(Electrode):
            bench.put(replace(one, tab=None))
        found = size_battery(bench, BEACON)
    assert found.lead == 0.0
    assert any("as part of each cell" in one.taken for one in found.assumed)


def test_asking_more_never_takes_fewer_electrodes(place) -> None:
    """A surer battery, a larger load, less that is left: each needs as many or more."""
    plain = _size(place)
    count = plain.chosen.in_series * plain.chosen.electrodes
    for more in ({"chance": "99 %"}, {"power": "40 mW"}, {"left": "30 %"}, {"converter": "50 %"}):
        found = _size(place, **more)
        assert found.chosen.in_series * found.chosen.electrodes >= count, more
    assert _size(place, left="30 %").chosen.electrodes > plain.chosen.electrodes


def test_what_was_not_said_is_named_and_what_was_said_is_taken(place) -> None:
    """The judgements stand in the answer until they are replaced."""
    names = {one.give for one in _size(place).assumed}
    assert {"--chance", "--left", "--used", "--area", "--aluminium-area", "--lead"} == names
    told = _size(
        place, chance="80 %", left="50 %", used="70 %", area="20 cm^2", aluminium_area="60", lead="0.5 ohm"
    )  # fmt: skip
    assert told.assumed == ()
    assert (told.wanted_chance, told.left) == (0.8, 0.5)
    assert told.electrode_area == pytest.approx(20e-4)
    assert told.each_cell.corroded == pytest.approx(told.each_cell.used * (1 / 0.7 - 1))
    assert told.each_cell.per_aluminium_area == pytest.approx(told.each_cell.charge / 60e-4)


def test_corrosion_that_was_measured_takes_the_place_of_half_and_half(place, tmp_path) -> None:
    """Its high end over the whole of the days, by Faraday's law; and the hydrogen caution says that it was measured."""
    copy = tmp_path / "copy.aerode"
    copy.write_bytes(place.read_bytes())
    with BenchFile.open(copy) as bench:
        cell = next(c for c in bench.all(Cell) if c.electrode == "T3")
        measured = Entry(value=0.5, standard_uncertainty=0.1, how="weighed")
        bench.put(replace(cell, corrosion=measured))
        found = size_battery(bench, BEACON)
    plates = found.each_cell.charge / (found.each_cell.per_aluminium_area or 1.0)
    lost = 0.7 * plates * 14 * 86400 / 3600 / 2980.0
    assert found.each_cell.corroded == pytest.approx(lost, rel=1e-3)
    assert any("most that was measured" in one.taken for one in found.assumed)
    assert not any("corrosion was not measured" in line for line in found.warnings)


def test_what_can_hurt_stands_in_the_answer_and_grows_with_the_box(place) -> None:
    """Hydrogen of all cells, chlorine of brine, no fuse; in a closed small box the hydrogen caution is harder."""
    open_air = {c.hazard: c for c in _size(place).cautions}
    assert {"hydrogen", "chlorine"} <= set(open_air)
    boxed = _size(place, box="2 L").cautions
    assert len(boxed) > len(open_air) or any(c.level.value in ("STOP", "FIRST") for c in boxed)


def test_a_large_battery_tells_its_short_circuit_and_its_sludge(place) -> None:
    """What the readings give into a short, all electrodes side by side; the solid of all cells as in the facts."""
    found = _size(
        place,
        power="40 W",
        load_voltage="3 V",
        least_input="3 V",
        area="200 cm^2",
        salt="KOH",
        burst="",
    )
    said = {c.hazard: c for c in found.cautions}
    assert said["short circuit"].level.value == said["spent cells"].level.value == "FIRST"
    whole = found.chosen.in_series * found.each_cell.hydroxide_most
    assert float(said["spent cells"].figure.split()[2]) == pytest.approx(whole, rel=0.02)
    small = {c.hazard for c in _size(place).cautions}
    assert "spent cells" in small
    assert "short circuit" not in small
    low = float(said["short circuit"].figure.split(" to ")[0])
    assert low > found.chosen.current


def _volts_at(place, name: str, current: float) -> float:
    """Voltage of one electrode at its clips at a current [V], straight between two readings, by hand."""
    with BenchFile.open(place, read_only=True) as bench:
        runs = [r for r in bench.all(Run) if r.sort is RunSort.LOADS and (r.electrode == name or r.cell == f"cell {name}")]  # fmt: skip
        ohms = {p.name: p.nominal_resistance for p in bench.all(Instrument)}
    pairs = sorted(
        (r.voltage / (ohms.get(r.load) or r.resistance or 1.0), r.voltage)
        for run in runs for r in run.readings if r.load not in ("open", "") and r.voltage
    )  # fmt: skip
    return float(np.interp(current, [i for i, _ in pairs], [v for _, v in pairs]))


def test_what_a_fresh_row_gives_its_load_is_what_its_pieces_gave(place) -> None:
    """Kirchhoff: as many times the voltage that T3 and T7 had at their clips with that current; less at the end."""
    found = _size(place, **DIRECT).chosen
    cell = np.mean([_volts_at(place, name, 6e-3 / found.electrodes) for name in ("T3", "T7")])
    assert found.load_fresh == pytest.approx(found.in_series * cell, rel=0.03)
    aged = np.mean([_volts_at(place, name, 6e-3 / found.electrodes / 0.6) for name in ("T3", "T7")])
    lead_less = 6e-3 * 0.53 * (1 / 0.6 - 1)  # the current of the lead stays that of the load
    assert found.load_end == pytest.approx(found.in_series * (aged + lead_less), rel=0.03)
    assert found.load_end < found.load_fresh < found.load_fresh_high < 1.1 * found.load_fresh


def test_too_many_volts_stand_in_the_headline_and_before_all_notes(place) -> None:
    """3 fresh cells give 1.9 V to a load of 1.2 V: said at once, with what to do; behind a converter it is no question."""
    found = _size(place, **DIRECT)
    assert f"fresh they give {found.chosen.load_fresh:.2g} V, not 1.2 V" in found.headline
    over = next(c for c in found.cautions if c.hazard == "overvoltage")
    hard = [c.level.value for c in found.cautions[: found.cautions.index(over) + 1]]
    assert "NOTE" not in hard
    other = min(found.options, key=lambda one: one.load_fresh)
    assert f"{other.in_series} cells of {other.electrodes} electrodes start at" in over.do
    fitting = _size(place, **{**DIRECT, "load_voltage": "1.7 V"})
    assert fitting.chosen.load_fresh_high < 1.15 * 1.7
    assert "fresh" not in fitting.headline
    for one in (fitting, _size(place)):
        assert "overvoltage" not in {c.hazard for c in one.cautions}
    assert _size(place).chosen.load_fresh is None


@pytest.mark.parametrize(
    "changes",
    [{"current": "30 mA", "load_voltage": "2 V"}, {}, {"aluminium_area": "10"}],
)
def test_the_hydrogen_caution_tells_no_less_than_the_table(place, changes) -> None:
    """The most of the table over its hours, all cells, is what the caution tells an hour; on for half of a day, no less."""
    found = _size(place, **({**DIRECT, **changes} if "current" in changes else changes))
    each = found.each_cell
    litres = 1e3 * (each.hydrogen_most or each.hydrogen) * found.chosen.in_series
    hours = (found.whole_time if each.hydrogen_most else found.on_time) / 3600.0
    said = next(c for c in found.cautions if c.hazard == "hydrogen").figure.split(" of the")[0]
    number, unit = said.split(" an hour")[0].split()
    told = float(number) * {"L": 1.0, "mL": 1e-3}[unit]
    assert told == pytest.approx(litres / hours, rel=0.02)


def test_the_sludge_is_that_of_the_high_end(place) -> None:
    """Al to Al(OH)3 is 78.00 to 26.98 g/mol: the metal that may corrode beyond what is taken adds its solid."""
    found = _size(place)
    each = found.each_cell
    most = each.hydroxide + (each.corroded_most - each.corroded) * 78.004 / 26.982
    assert each.hydroxide_most == pytest.approx(most, rel=1e-3)
    said = next(c for c in found.cautions if c.hazard == "spent cells").figure
    assert float(said.split()[2]) == pytest.approx(1e3 * most * found.chosen.in_series, rel=0.01)
    assert "up to" in dict(size_facts(found))["Solid made in each cell"]


@pytest.fixture
def run_down(place, tmp_path):
    """A bench on which a cell of the recipe was run down over 33 ohm: from 0.55 V, straight, for so long."""

    def made(hours: float, last: float, *, typed: bool = False):
        copy = tmp_path / f"{hours:g}-{last:g}.aerode"
        copy.write_bytes(place.read_bytes())
        with BenchFile.open(copy) as bench:
            time = np.linspace(0.0, hours * 3600.0, 200)
            volts = 0.55 + (last - 0.55) * time / time[-1]
            rows = [Reading(resistance=33.0, voltage=float(v), at=float(t)) for t, v in zip(time, volts, strict=True)]  # fmt: skip
            bench.put(Run(name="T3 down", electrode="T3", sort=RunSort.RUN_DOWN, note="load 33 ohm", readings=tuple(rows) if typed else ()))  # fmt: skip
            if not typed:
                bench.append("T3 down", {"time": time.tolist(), "voltage": volts.tolist()})
        return copy

    return made


def _fresh(place, voltage: float) -> float:
    """Current of T3 at a voltage [A], straight between the two readings about it, by hand."""
    with BenchFile.open(place, read_only=True) as bench:
        runs = [r for r in bench.all(Run) if r.sort is RunSort.LOADS and (r.electrode == "T3" or r.cell == "cell T3")]  # fmt: skip
        ohms = {p.name: p.nominal_resistance for p in bench.all(Instrument)}
    pairs = sorted(
        (r.voltage, r.voltage / (ohms.get(r.load) or r.resistance or 1.0))
        for run in runs for r in run.readings if r.load not in ("open", "") and r.voltage
    )  # fmt: skip
    low, high = max(p for p in pairs if p[0] <= voltage), min(p for p in pairs if p[0] > voltage)
    return low[1] + (high[1] - low[1]) * (voltage - low[0]) / (high[0] - low[0])


@pytest.mark.parametrize("typed", [False, True])
def test_a_run_down_on_record_replaces_the_judgement_of_what_is_left(
    place, run_down, typed
) -> None:
    """V/R at the end beside the electrode's own curve at that voltage (Ohm's law); named in the answer."""
    found = _size(run_down(200, 0.30, typed=typed))
    end = 0.55 - 0.25 * 168 / 200 * 0.975  # the middle of the last twentieth of 168 h
    assert found.left == pytest.approx(end / 33.0 / _fresh(place, end), rel=0.05)
    assert "T3 down, 168 h on its load" in found.left_from
    told = next(one for one in found.assumed if one.give == "--left")
    assert "from run-down T3 down" in told.taken
    assert any("comes from one cell" in line for line in found.warnings)
    assert found.next_steps[0].startswith("run a second cell")
    said = _size(run_down(200, 0.30, typed=typed), left="50 %")
    assert (said.left, said.left_from) == (0.5, "")


def test_a_short_run_down_only_takes_from_the_judgement(run_down) -> None:
    """An hour of a fresh cell is no promise of a fortnight: the usual 60 % stays, and it is said."""
    found = _size(run_down(1, 0.54))
    assert found.left <= 0.6
    assert any("was shorter than the 168 h" in line for line in found.warnings)


def test_a_run_down_below_what_was_read_tells_nothing(run_down) -> None:
    """Nobody knows what a fresh electrode gives at 0.01 V: the judgement stands, and what to read is said."""
    found = _size(run_down(200, 0.01))
    assert (found.left, found.left_from) == (0.6, "")
    assert any("cannot tell what is left" in line for line in found.warnings)


def test_one_build_read_at_one_temperature_is_said_so(place, tmp_path) -> None:
    """A single reading of a recipe: the spread is a judgement, and its temperature is no span."""
    copy = tmp_path / "copy.aerode"
    copy.write_bytes(place.read_bytes())
    with BenchFile.open(copy) as bench:
        bench.put(replace(bench.get(Electrode, "T7"), recipe="another"))
        found = size_battery(bench, BEACON)
    told = next(line for line in found.warnings if line.startswith("the readings were taken at"))
    assert " to " not in told


def test_another_liquid_than_the_one_read_in_is_said_and_counted(place) -> None:
    """50 mA/cm2 at the high end (assumed, of the caution): Faraday's law, 2.980 Ah/g, 0.4564 L/Ah, 1.505 V."""
    found = _size(place, salt="KOH")
    each = found.each_cell
    assert any("not in potassium hydroxide" in line for line in found.warnings)
    assert not any("published brine cell" in line for line in found.warnings)
    charge = 0.05 * 1e4 * each.charge / (each.per_aluminium_area or 1.0) * 336.0  # Ah
    assert 1e3 * (each.corroded_most or 0.0) == pytest.approx(charge / 2.980, rel=1e-3)
    assert 1e3 * (each.hydrogen_most or 0.0) == pytest.approx(charge * 0.4564, rel=1e-3)
    assert "up to 290 L" in dict(size_facts(found))["Hydrogen of each cell"]
    warm = 2 * (each.heat + charge / 336.0 * 1.505)
    assert any(f"{warm:.1f} W of heat" in line for line in found.warnings)
    same = _size(place)
    assert not any("read in" in line or "of heat" in line for line in same.warnings)


def test_a_liquid_that_is_only_named_on_the_cells_brings_its_cautions(place, tmp_path) -> None:
    """A cell that names lye without a batch on the shelf; of lye and brine the lye counts; unknown is said."""
    copy = tmp_path / "copy.aerode"
    copy.write_bytes(place.read_bytes())
    with BenchFile.open(copy) as bench:
        cells = {c.electrode: c for c in bench.all(Cell)}
        bench.put(replace(cells["T3"], electrolyte="KOH"))
        mixed = size_battery(bench, BEACON)
        bench.put(replace(cells["T3"], electrolyte=""))
        bench.put(replace(cells["T7"], electrolyte=""))
        unknown = size_battery(bench, BEACON)
    assert "lye" in {c.hazard for c in mixed.cautions}
    assert any("potassium hydroxide and in" in w or "and in potassium" in w for w in mixed.warnings)
    assert any("nobody said which liquid" in line for line in unknown.warnings)


def test_what_the_load_meets_from_the_row_is_said(place) -> None:
    """Loaded and open voltage of the row, that nothing charges it; a reading with the leads swapped is no crash."""
    direct = _size(place, power="", current="6 mA", load_voltage="1.2 V", converter="", least_input="", burst="")  # fmt: skip
    fresh = f"{direct.chosen.load_fresh:.3g}"
    assert any(f"gets about {fresh} V fresh" in line for line in direct.warnings)
    assert any("with the load off the row stands at up to" in line for line in direct.warnings)
    assert any("solar panel" in line for line in _size(place).warnings)
    assert " in it," in _size(place, power="1 mW", least_input="0.3 V", load_voltage="0.3 V", burst="").headline  # fmt: skip


def test_an_open_reading_with_the_leads_swapped_is_no_crash(place, tmp_path) -> None:
    """Below zero it counts as nothing."""
    copy = tmp_path / "copy.aerode"
    copy.write_bytes(place.read_bytes())
    with BenchFile.open(copy) as bench:
        for run in bench.all(Run):
            swapped = [
                replace(r, voltage=-abs(r.voltage)) if r.load == "open" and r.voltage else r
                for r in run.readings
            ]
            bench.put(replace(run, readings=tuple(swapped)))
        assert size_battery(bench, BEACON).chosen.in_series >= 1


def test_a_class_is_told_as_a_class(place, tmp_path) -> None:
    """The room that is named brings its people into the cautions."""
    copy = tmp_path / "copy.aerode"
    copy.write_bytes(place.read_bytes())
    with BenchFile.open(copy) as bench:
        bench.put(Room(name="class room", people=(People.CLASS,)))
        lye = {
            c.hazard: c.level
            for c in size_battery(bench, replace(BEACON, room="class room", salt="KOH")).cautions
        }
    assert any(level.value == "STOP" for level in lye.values()), lye


@pytest.mark.parametrize(
    ("changes", "where", "kind"),
    [
        ({"recipe": "no such"}, "recipe", NotFoundError),
        ({"recipe": ""}, "recipe", InputError),
        ({"power": "", "current": ""}, "power", InputError),
        ({"current": "6 mA"}, "power", InputError),
        ({"days": ""}, "days", InputError),
        ({"least_input": ""}, "least_input", InputError),
        ({"converter": "", "least_input": "", "load_voltage": "", "burst": ""}, "load_voltage", InputError),
        ({"burst_time": ""}, "burst_time", InputError),
        ({"on": "30 h"}, "on", RangeError),
        ({"left": "140 %"}, "left", RangeError),
        ({"chance": "100 %"}, "chance", RangeError),
        ({"power": "0 mW"}, "power of the load", RangeError),
        ({"power": "3 kW"}, "power of the load", RangeError),
        ({"days": "9000"}, "days", RangeError),
        ({"left": "0.1 %"}, "left", RangeError),
        ({"box": "-2 L"}, "free volume of the box", RangeError),
        ({"converter": ""}, "converter", InputError),
        ({"power": "900 W"}, "chance", CannotTellError),
    ],
)  # fmt: skip
def test_what_is_missing_or_cannot_be_is_asked_for_by_its_field(
    place, changes, where, kind
) -> None:
    """Each refusal names the field, what is allowed and what to do next."""
    with pytest.raises(kind) as refusal:
        _size(place, **changes)
    assert refusal.value.where == where
    assert refusal.value.allowed or refusal.value.next_step


def test_a_bench_without_readings_says_what_is_lacking(tmp_path) -> None:
    """Nothing to size from: measure one first."""
    with BenchFile.create(tmp_path / "new.aerode", title="new") as bench:
        bench.put(Electrode(name="A1", recipe="A"))
        with pytest.raises(AerodeError, match="read with load steps"):
            size_battery(bench, replace(BEACON, recipe=""))


def test_words_table_and_figure_say_the_same(place) -> None:
    """The numbers of the record stand in the facts, the table and the figure."""
    found = _size(place)
    facts = dict(size_facts(found))
    assert facts["Current through each cell"] == "27 mA, at 0.46 V or more at its tabs"
    assert facts["Capacitor across the load"].startswith("at least 18 mF")
    assert len(option_table(found).rows) == len(found.options)
    figure = size_figure(found)
    dotted = next(s for s in figure.series if "counted on" in s.label)
    asked = next(s for s in figure.series if "chosen" in s.label)
    assert asked.y[0] <= np.interp(asked.x[0], dotted.x, dotted.y) * 1.05
    assert {s.basis.value for s in figure.series} == {"predicted"}
    assert len(found.headline) < 140
