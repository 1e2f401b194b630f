"""`aerode simulate` from numbers, as typed and as printed."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from aerode.cli import main
from aerode.cli.simulate import command
from aerode.errors import InputError, RecordError
from aerode.records.adapter import read
from aerode.records.simulations import CathodeSimulation, CellSimulation, DischargeSimulation

# The reference case of tests/published/test_cathode_reference_case.py: its source stands there.
REFERENCE = """
thickness_m = 4e-4
ionic_conductivity_S_m = 2.0
electronic_conductivity_S_m = 50.0
gas_diffusivity_m2_s = 2e-6
oxygen_air_mol_m3 = 8.56
air_film_m = 0.0
henry_liquid_per_gas = 0.0265
agglomerate_radius_m = 2e-6
agglomerate_diffusivity_m2_s = 5e-10
agglomerate_fraction = 0.4
film_transfer_1_s = 50.0
exchange_current_A_m3 = 50.0
reference_oxygen_mol_m3 = 0.22684
tafel_slope_V_per_e = 0.05138558
electrons = 4.0
"""
PRINTED = {0.10: 0.0139985, 0.20: 0.0978494, 0.40: 4.42009, 0.50: 22.2154}  # V → mA/cm²
ANODE = """
[anode]
rest_potential_V = -0.75
resistance_ohm_m2 = 2e-4
corrosion_at_rest_A_m2 = 0.5
corrosion_per_current = 0.05
"""
CURVE = """
[cathode]
open_circuit_V = 0.05
tafel_slope_V_per_e = 0.045
mixed_current_A_m2 = 0.2
resistance_ohm_m2 = 5e-4
limit_A_m2 = 120
"""
CELL = f"""
gap_m = 4e-3
conductivity_S_m = 4.6
{{}}
{CURVE}
{ANODE}
"""
DAYS = CELL.format(
    "cathode_area_m2 = 2.1e-3\nelectrolyte = 'brine'\nelectrons = 4.0\nduration_s = 86400\n"
) + (
    "[contents]\naluminium_mol = 0.111\nwater_mol = 5.46\nchloride_mol = 0.06\n"
    "[load]\ncurrent_A = 0.02\n"
    "[ends]\ncutoff_voltage_V = 0.3\nleast_water_share = 0.3\ngreatest_solids_share = 0.6\n"
)


def typed(*arguments: str, stdin: str | None = None) -> Result:
    """Run the verb; what it refuses comes out as the error it raises."""
    return CliRunner().invoke(command, list(arguments), input=stdin, catch_exceptions=False)


def answered(*arguments: str, stdin: str) -> dict[str, object]:
    """The JSON of an answer."""
    return json.loads(typed(*arguments, "-", "--json", stdin=stdin).output)


def test_the_keys_of_a_cathode() -> None:
    """The reference case by overpotential: the promised keys, to a tenth of a per cent."""
    found = answered("cathode", stdin=f"{REFERENCE}overpotential_V = [0.1, 0.2, 0.4, 0.5]")

    assert next(iter(found)) == "schema"
    milliamperes = [0.1 * float(i) for i in found["current_density_A_m2"]]  # type: ignore[attr-defined]
    assert milliamperes == pytest.approx(list(PRINTED.values()), rel=1e-3)
    parts = found["loss_V"]
    assert isinstance(parts, dict)
    millivolts = [1e3 * parts[name][-1] for name in ("ionic", "electronic", "kinetic", "oxygen")]
    assert millivolts == pytest.approx([13.515, 0.639, 478.934, 7.850], abs=5e-3)
    assert found["profile"] == []
    assert read(CathodeSimulation, found).basis == "predicted"


def test_currents_losses_and_overpotentials_are_one_curve() -> None:
    """What is asked by current comes back by overpotential and by loss."""
    by_current = answered("cathode", stdin=f"{REFERENCE}current_density_A_m2 = [50.0]")
    for key in ("overpotential_V", "cathode_loss_V"):
        again = answered("cathode", stdin=f"{REFERENCE}{key} = {by_current[key]}")
        assert again["current_density_A_m2"] == pytest.approx([50.0], rel=1e-6)


def test_a_gap_has_its_reason() -> None:
    """Beyond the limiting current a reason stands, and nulls instead of numbers."""
    found = answered("cathode", "--profile", stdin=f"{REFERENCE}current_density_A_m2 = [10.0, 9e4]")

    assert found["overpotential_V"][1] is None  # type: ignore[index]
    assert str(found["reasons"][1]).startswith("beyond the limiting current")  # type: ignore[index]
    assert len(found["profile"]) == 1  # type: ignore[arg-type]
    assert found["profile"][0]["depth_m"][-1] == pytest.approx(4e-4)  # type: ignore[index]


def test_every_fault_at_once_with_range_and_unit() -> None:
    """Missing, misspelt, impossible and unreadable keys are named together."""
    wrong = (
        REFERENCE.replace("thickness_m", "thicknes")
        .replace("electrons = 4.0", "electrons = 5")
        .replace("air_film_m = 0.0", "air_film_m = 'x'")
        .replace("film_transfer_1_s = 50.0", "film_transfer_1_s = [9, 3]")
    )
    with pytest.raises(RecordError) as refused:
        typed("cathode", "-", stdin=wrong)
    faults = {fault.field: fault for fault in refused.value.faults}

    assert set(faults) == {
        "current_density_A_m2", "thickness_m", "thicknes", "air_film_m", "electrons",
        "film_transfer_1_s",
    }  # fmt: skip
    assert "did you mean thickness_m" in faults["thicknes"].what
    assert faults["thickness_m"].allowed == "more than 0, at most 0.1 m"
    assert faults["electrons"].allowed == "at least 1, at most 4"
    assert "1/s" in faults["film_transfer_1_s"].allowed


def test_two_numbers_are_a_band() -> None:
    """A band of an input gives a band of the loss, wider where it matters, the same for a seed."""
    text = REFERENCE.replace("film_transfer_1_s = 50.0", "film_transfer_1_s = [10, 250]")
    text += "current_density_A_m2 = [1.0, 200.0]"
    found = answered("cathode", "--draws", "400", "--seed", "7", stdin=text)
    again = answered("cathode", "--draws", "400", "--seed", "7", "--workers", "2", stdin=text)
    low, high = found["bands"]  # type: ignore[misc]

    assert found["bands"] == again["bands"]
    assert high["high_V"] - high["low_V"] > 10 * (low["high_V"] - low["low_V"])
    assert low["carried"] == 1.0
    assert high["low_V"] < high["median_V"] < high["high_V"]


def test_what_is_no_table_is_refused() -> None:
    """A slip of the syntax names its line; an unknown word is wrong usage."""
    with pytest.raises(InputError, match="line 1"):
        typed("cathode", "-", stdin="thickness_m == 3")
    assert typed("kathode", "-").exit_code == 2
    assert typed("cathode").exit_code == 2
    with pytest.raises(InputError, match="cannot be read"):
        typed("cathode", "not there.toml")


def test_the_cell() -> None:
    """Voltage at the open circuit is the difference of the two, and falls; a gap beyond the limit."""
    found = answered("cell", stdin=CELL.format("current_density_A_m2 = [0, 10, 500]"))

    voltage = found["voltage_V"]
    assert isinstance(voltage, list)
    assert voltage[0] == pytest.approx(0.8)
    assert voltage[1] < voltage[0]
    assert voltage[2] is None
    assert found["greatest_power_W_m2"] > 0  # type: ignore[operator]
    assert read(CellSimulation, found).reasons[2] is not None
    by_load = answered("cell", stdin=CELL.format(f"load_ohm_m2 = {voltage[1] / 10.0}"))
    assert by_load["current_density_A_m2"] == pytest.approx([10.0], rel=1e-9)
    by_voltage = answered("cell", stdin=CELL.format(f"voltage_V = [{voltage[1]}, 5.0]"))
    assert by_voltage["current_density_A_m2"][0] == pytest.approx(10.0, rel=1e-9)  # type: ignore[index]
    assert by_voltage["reasons"][1] is not None  # type: ignore[index]


def test_a_cell_with_a_porous_cathode_or_readings() -> None:
    """The cathode of a cell may be porous, or a list of readings."""
    porous = (
        "[cathode]\nequilibrium_V = 0.4\nopen_circuit_V = 0.05\ngreatest_A_m2 = 200\n" + REFERENCE
    )
    readings = "[cathode]\ncurrent_density_A_m2 = [0, 10, 100]\npotential_V = [0.05, -0.1, -0.3]\n"
    for cathode in (porous, readings):
        text = CELL.format("current_density_A_m2 = [0, 10]").replace(CURVE, cathode)
        assert answered("cell", stdin=text)["voltage_V"][0] == pytest.approx(0.8, abs=1e-6)  # type: ignore[index]


def test_faults_of_a_cell() -> None:
    """The law of corrosion has no default, and faults of its tables carry the table's name."""
    text = CELL.format("").replace("corrosion_per_current = 0.05", "")
    with pytest.raises(RecordError) as refused:
        typed("cell", "-", stdin=text.replace("limit_A_m2", "limt_A_m2"))
    fields = {fault.field for fault in refused.value.faults}

    assert fields == {"anode.corrosion_per_current", "cathode.limt_A_m2", "current_density_A_m2"}


def test_the_discharge() -> None:
    """A day at 20 mA is 0.48 Ah, closes its balances and names its end."""
    found = answered("discharge", stdin=DAYS)

    assert found["charge_C"][-1] == pytest.approx(0.02 * 86400)  # type: ignore[index]
    assert found["worst_balance"] < 1e-9  # type: ignore[operator]
    assert found["end"] == "the time asked for is over"
    assert read(DischargeSimulation, found).assumptions


def test_faults_of_a_discharge() -> None:
    """Every fault of every table at once."""
    wrong = DAYS.replace("aluminium_mol", "alu_mol").replace("cutoff_voltage_V", "cutoff")
    wrong = wrong.replace("'brine'", "'beer'").replace("current_A = 0.02", "")
    with pytest.raises(RecordError) as refused:
        typed("discharge", "-", stdin=wrong)
    fields = {fault.field for fault in refused.value.faults}

    assert {"contents.aluminium_mol", "contents.alu_mol", "ends.cutoff", "electrolyte"} <= fields


def test_people_read_a_verdict_and_a_screen(tmp_path: Path) -> None:
    """The verdict first, at most a dozen lines of 80 columns, figures as files."""
    for what, text in (
        (
            "cathode",
            f"{REFERENCE}current_density_A_m2 = [1, 3, 10, 30, 100, 200, 300, 400, 500, 9e4]",
        ),
        ("cell", CELL.format("current_density_A_m2 = [0, 1, 2, 5, 10, 20, 50, 100, 110, 500]")),
        ("discharge", DAYS),
    ):
        printed = typed(what, "-", "--figures", str(tmp_path), stdin=text).output.splitlines()
        assert printed[0].startswith("Predicted: ")
        assert len(printed[0]) <= 100
        assert len(printed) <= 14
        assert max(len(line) for line in printed[1:] if str(tmp_path) not in line) <= 80
    drawn = {path.stem for path in tmp_path.glob("*.svg")}
    assert {"cathode-curve", "cathode-losses", "cathode-depth", "cell-curve"} <= drawn
    assert {"discharge-voltage", "discharge-contents"} <= drawn


def test_the_schemas_are_there(capsys: pytest.CaptureFixture[str]) -> None:
    """`aerode schema` knows the three answers."""
    for name in ("simulate-cathode", "simulate-cell", "simulate-discharge"):
        with pytest.raises(SystemExit):
            main(["schema", name])
        assert "properties" in json.loads(capsys.readouterr().out)


def test_the_example_of_the_page_runs() -> None:
    """What docs/explanation/porous-cathode.md shows is taken as it stands, with its bands."""
    page = Path(__file__).parents[3] / "docs" / "explanation" / "porous-cathode.md"
    example = page.read_text("utf-8").split("```toml\n")[1].split("```")[0]
    found = answered("cathode", "--draws", "200", stdin=example)

    assert found["draws"] == 200
    assert all(reason is None for reason in found["reasons"])  # type: ignore[attr-defined]
