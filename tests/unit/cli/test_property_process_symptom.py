"""`aerode property`, `aerode process` and `aerode symptom` as typed and as printed."""

from __future__ import annotations

import json
import re
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from aerode.cli.process import command as process
from aerode.cli.property import command as property_command
from aerode.cli.symptom import command as symptom
from aerode.errors import AerodeError, NotFoundError
from aerode.records import KINDS
from aerode.records.electrodes import Electrode
from aerode.records.marks import Entry, Share
from aerode.records.materials import Solution
from aerode.records.mixes import Ingredient, Mix, Portion
from aerode.records.symptoms import Symptom
from aerode.store.bench_file import BenchFile

ASKED: list[tuple[click.Command, list[str]]] = [
    (property_command, ["conductivity", "--of", "NaCl", "--mass-fraction", "3.5%", "--temperature", "15 degC"]),
    (property_command, ["conductivity", "--of", "NaCl", "--molality", "1", "--temperature", "60 degC", "--unit", "mS/cm"]),
    (property_command, ["flash_point", "--of", "toluene"]),
    (property_command, ["flash_point", "--of", "beeswax"]),
    (property_command, ["solubility", "--of", "PVB", "--in", "ethanol=0.8", "--in", "water=0.2"]),
    (property_command, ["emf", "--of", "KOH", "--molarity", "4"]),
    (property_command, ["oxygen_solubility", "--of", "NaCl", "--mass-fraction", "3.5%", "--pressure", "90 kPa"]),
    (property_command, ["exposure_limit", "--of", "toluene", "--where", "body=NIOSH REL"]),
    (property_command, ["hansen_parameters", "--of", "toluene"]),
    (process, ["drying", "--solvent", "ethanol", "--wet", "1.4 g", "--solids", "18%", "--area", "36 cm^2"]),
    (process, ["drying", "--solvent", "ethanol=0.8", "--solvent", "water=0.2", "--liquid", "1 g", "--area", "36 cm^2", "--grain", "2 um", "--coat", "porous"]),
    (process, ["dryness", "--weighed", "12.43 g, 12.42 g, 15 min", "--coating", "2.1 g"]),
    (process, ["dryness", "--weighed", "12.60 g, 12.50 g, 12.45 g, 15 min", "--coating", "2.1 g"]),
    (process, ["pressing", "--torque", "40 in-lb", "--screw", "M8", "--area", "36 cm^2", "--plate", "185 F", "--polymer", "PVB"]),
    (process, ["pressing", "--weights", "20 kg", "--area", "36 cm^2"]),
    (process, ["wetting", "--covering", "paraffin wax", "--share", "40%", "--pore", "5 um", "--head", "12 cm"]),
    (process, ["wetting", "--covering", "polystyrene"]),
    (process, ["electrolyte", "--salt", "KOH", "--volume", "500mL", "--molarity", "4", "--assay", "85%"]),
    (process, ["electrolyte", "--salt", "NaCl", "--was", "480 g", "--now", "441 g", "--mass-fraction", "3.5%"]),
    (process, ["strength", "--salt", "sea water", "--reading", "50 mS/cm"]),
    (symptom, ["white gel"]),
    (symptom, ["the", "liquid", "goes", "black"]),
]  # fmt: skip


def _run(command: click.Command, words: list[str]) -> Result:
    return CliRunner().invoke(command, words)


@pytest.mark.parametrize(("command", "words"), ASKED, ids=[" ".join(w)[:40] for _, w in ASKED])
def test_verdict_first_then_about_a_dozen_lines(command: click.Command, words: list[str]) -> None:
    """At most 100 characters, then at most 13 lines of 80 columns, no colour codes, never "safe"."""
    result = _run(command, words)
    first, *rest = result.output.splitlines()

    assert result.exit_code == 0, result.output
    assert 0 < len(first) <= 100
    assert len(rest) <= 13
    assert all(len(line) <= 80 for line in rest)
    assert "\x1b" not in result.output
    assert not re.search(r"\bsafe\b", result.output.lower())
    assert "e+0" not in result.output


@pytest.mark.parametrize(("command", "words"), ASKED, ids=[" ".join(w)[:40] for _, w in ASKED])
def test_scripts_get_the_record(command: click.Command, words: list[str]) -> None:
    """The first key is the schema, and the headline is the first line of the other form."""
    answer = json.loads(_run(command, [*words, "--json"]).output)

    assert next(iter(answer)) == "schema"
    assert answer["schema"] in {"aerode.property/1", "aerode.process/1", "aerode.symptom/1"}
    assert answer["headline"] == _run(command, words).output.splitlines()[0]


def test_a_script_finds_the_six_things_of_a_property() -> None:
    """value, unit (SI), standard_uncertainty, source, range, status."""
    answer = json.loads(_run(property_command, [*ASKED[0][1], "--json"]).output)

    assert answer["unit"] == "S/m"
    assert answer["value"] == pytest.approx(4.53, rel=0.01)
    assert answer["standard_uncertainty"] > 0
    assert answer["source"]
    assert answer["range"][0]["variable"] == "temperature"
    assert answer["status"] == "verified"


def test_lists_for_people() -> None:
    """What can be asked, what is on file for a substance, what serves."""
    everything = _run(property_command, []).output
    lye = _run(property_command, ["--of", "KOH"]).output
    flash = _run(property_command, ["flash_point"]).output
    conductors = _run(property_command, ["--for", "conductor"]).output
    copper = _run(property_command, ["--for", "collector", "--of", "copper"]).output

    assert "conductivity" in everything
    assert "CAS 1310-58-3" in lye
    assert "toluene" in flash
    assert "carbon black" in conductors
    assert "Home test" in copper
    assert "In lye" in copper
    for text in (everything, lye, flash, conductors, copper):
        assert max(map(len, text.splitlines())) <= 100


def test_wrong_usage_is_told_as_such() -> None:
    """--for with a quantity; --showed without an electrode: exit 2."""
    assert _run(property_command, ["density", "--for", "conductor"]).exit_code == 2
    assert _run(symptom, ["white gel", "--showed", "x"]).exit_code == 2


def test_refusals_go_up() -> None:
    """An AerodeError is not swallowed: the console prints it and exits 1."""
    for command, words in (
        (property_command, ["coductivity", "--of", "NaCl"]),
        (process, ["drying"]),
        (symptom, ["purple elephants"]),
    ):
        assert isinstance(_run(command, words).exception, AerodeError)


def test_notes_list_what_was_taken() -> None:
    """Counted without --notes; with it each with source, status and the option that replaces it."""
    words = ["drying", "--solvent", "ethanol", "--liquid", "1 g", "--area", "36 cm^2"]
    short, long = _run(process, words).output, _run(process, [*words, "--notes"]).output

    assert "not given, taken as --notes lists" in short
    assert "from_memory, unverified" in " ".join(long.split())
    assert "--air-speed replaces it" in " ".join(long.split())
    assert "Read as" in long


def test_a_symptom_is_kept_from_the_command_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """--showed and --cause store it; --on alone shows it beside the row."""
    monkeypatch.setitem(KINDS, "symptom", Symptom)
    place = str(tmp_path / "shed.aerode")
    with BenchFile.create(place, title="Net shed") as store:
        store.put(Electrode(name="T1"))
    words = ["wet air face", "--on", "T1", "--bench", place]

    kept = _run(symptom, [*words, "--showed", "tissue gained 0.3 g", "--cause", "1"])
    again = _run(symptom, words)

    assert kept.exit_code == 0, kept.output
    assert kept.output.startswith("T1: leak: wet air face: liquid weeps through the layer, kept")
    assert "Before:" in again.output


def test_the_pointer_to_the_other_cautions_is_a_whole_command(tmp_path: Path) -> None:
    """A mix of the bench has its own command; a bare solvent's cautions all stand behind --notes."""
    words = [
        "drying",
        "--solvent",
        "ethanol",
        "--wet",
        "1.4 g",
        "--solids",
        "18%",
        "--area",
        "36 cm^2",
    ]
    short = " ".join(_run(process, words).output.split())
    count = int(re.search(r"(\d+) more: the same command with --notes", short)[1])  # type: ignore[index]
    whole = _run(process, [*words, "--notes"]).output
    levels = re.findall(r"^(?:STOP|FIRST|NOTE): ", whole, re.MULTILINE)
    assert len(levels) == count + 1

    place = str(tmp_path / "b.aerode")
    with BenchFile.create(place, title="b") as store:
        store.put_all(
            [
                Solution(name="glue", polymer="PVB", liquid=(Share(of="ethanol", fraction=1.0),),
                         solids=Entry(value=0.1)),
                Mix(name="M 1", portions=(Portion(of="glue", shelf=Ingredient.SOLUTION, mass=Entry(value=0.02)),)),
            ]
        )  # fmt: skip
    asked = ["drying", "--mix", "M 1", "--wet", "20 g", "--area", "360 cm^2", "--bench", place]
    text = " ".join(_run(process, asked).output.split())
    assert 'more: aerode cautions "M 1" --area "360 cm^2"' in text


BARE: list[tuple[click.Command, list[str]]] = [
    (process, ["electrolyte", "--salt", "NaCl", "--volume", "500", "--mass-fraction", "3.5%"]),
    (process, ["drying", "--solvent", "ethanol", "--wet", "1.4", "--solids", "18%", "--area", "36 cm^2"]),
    (process, ["drying", "--solvent", "ethanol", "--wet", "1.4 g", "--solids", "18%", "--area", "36"]),
    (process, ["drying", "--solvent", "ethanol", "--loading", "25", "--solids", "18%", "--area", "36 cm^2"]),
    (process, ["drying", "--solvent", "ethanol", "--liquid", "1 g", "--area", "36 cm^2", "--temperature", "25"]),
    (process, ["dryness", "--weighed", "12.43, 12.42, 15", "--coating", "2.1 g"]),
    (process, ["pressing", "--weights", "20", "--area", "36 cm^2"]),
    (process, ["pressing", "--torque", "40", "--screw", "M8", "--area", "36 cm^2"]),
    (process, ["strength", "--salt", "NaCl", "--reading", "52"]),
    (process, ["wetting", "--covering", "paraffin wax", "--share", "40%", "--pore", "5"]),
    (property_command, ["vapour_pressure", "--of", "ethanol", "--temperature", "25"]),
    (property_command, ["oxygen_solubility", "--of", "NaCl", "--mass-fraction", "3.5%", "--pressure", "90"]),
]  # fmt: skip


@pytest.mark.parametrize(("command", "words"), BARE, ids=[" ".join(w)[:60] for _, w in BARE])
def test_a_number_with_a_dimension_needs_its_unit(command: click.Command, words: list[str]) -> None:
    """The same rule for every option whose help names no unit of its own."""
    refusal = _run(command, words).exception
    assert isinstance(refusal, AerodeError)
    assert "has no unit" in refusal.what
    assert "as in" in refusal.allowed


def test_units_that_the_help_names_may_be_left_out() -> None:
    """Molarity, molality and grams per 100 mL say their unit themselves; a share is a share."""
    for words in (
        ["--molarity", "4"],
        ["--molality", "1"],
        ["--per-100ml", "3.5"],
        ["--mass-fraction", "0.035"],
    ):
        asked = ["electrolyte", "--salt", "NaCl", "--volume", "500 mL", *words]
        assert _run(process, asked).exit_code == 0, words


def test_a_pressing_of_a_piece_knows_its_area(tmp_path: Path) -> None:
    """What was typed for the piece is not typed again; without a layer that names its mix heat is warned of."""
    place = str(tmp_path / "b.aerode")
    with BenchFile.create(place, title="b") as store:
        store.put(Electrode(name="W1", wetted_area=Entry(value=36e-4)))
    press = ["pressing", "--weights", "20 kg", "-b", place]
    told = json.loads(_run(process, [*press, "--piece", "W1", "--json"]).output)
    same = json.loads(_run(process, [*press, "--area", "36 cm^2", "--json"]).output)
    assert told["load"] == same["load"]
    assert any("not every layer of W1 names its mix" in one for one in told["warnings"])
    assert isinstance(_run(process, [*press, "--piece", "W9"]).exception, NotFoundError)
