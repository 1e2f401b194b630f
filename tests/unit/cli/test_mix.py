"""`aerode mix` as typed and as printed."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from aerode.cli.mix import command
from aerode.errors import AerodeError
from aerode.records.adapter import read
from aerode.records.doses import MixAnswer
from aerode.records.electrodes import Electrode, Layer
from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, Price, Solution
from aerode.store.bench_file import BenchFile

GRAM = 1e-3
NEW = [
    "--new", "T5", "--want", "biochar A=rest", "--want", "magnetite=8 %",
    "--want", "PVB solution=15 %", "--solids", "18 %",
]  # fmt: skip
DOSE = ["T5", "--area", "9 cm^2", "--loading", "25 mg/cm^2", "--electrodes", "8", "--spare", "15%"]


@pytest.fixture
def bench(tmp_path: Path) -> str:
    """A bench with a char, a catalyst and a binder whose solids only the label knows."""
    place = tmp_path / "shed.aerode"
    with BenchFile.create(place, title="Net shed") as store:
        store.put_all(
            [
                PowderLot(
                    name="biochar A",
                    substance="biochar",
                    function=Function.ACTIVE_CARBON,
                    price=Price(amount=2.0, per_mass=1.0),
                ),
                PowderLot(
                    name="magnetite",
                    substance="magnetite",
                    function=Function.CATALYST,
                    assay=Entry(value=0.96, published="label"),
                    water_soluble=Entry(value=0.031, standard_uncertainty=0.003),
                ),
                Solution(
                    name="PVB solution",
                    polymer="PVB",
                    liquid=(Share(of="ethanol", fraction=1.0),),
                    label_solids=Entry(value=0.15),
                    plasticiser=Entry(value=0.26, published="sheet"),
                    price=Price(amount=4.0, per_mass=0.5),
                ),
            ]
        )
    return str(place)


def _run(bench: str, *words: str) -> Result:
    return CliRunner().invoke(command, [*words, "--bench", bench], prog_name="aerode mix")


@pytest.fixture
def stored(bench: str) -> str:
    """The same bench with the mix T5 on it."""
    assert _run(bench, *NEW).exit_code == 0
    return bench


def test_first_line_says_what_it_dries_to(stored: str) -> None:
    """At most 100 characters, with the shares and the solids."""
    first = _run(stored, "T5").output.splitlines()[0]
    assert first.startswith("T5 dries to 77.0 % biochar A, 11.1 % PVB, 8.0 % magnetite")
    assert len(first) <= 100


def test_every_line_fits_a_terminal(stored: str) -> None:
    """80 columns from the second line on, with and without the sheet and the notes; no colour."""
    for words in (["T5"], DOSE, [*DOSE, "--notes", "--scale", "0.1 g"]):
        result = _run(stored, *words)
        assert result.exit_code == 0
        assert "\x1b" not in result.output
        assert max(len(line) for line in result.output.splitlines()[1:]) <= 80


def test_without_a_dose_it_is_about_a_dozen_lines(stored: str) -> None:
    """The answer comes first, then what can hurt, then the detail."""
    shown = _run(stored, "T5").output.splitlines()

    assert len(shown) <= 16
    assert shown[1].startswith(("STOP", "FIRST", "NOTE"))


def test_dose_sheet_stands_as_a_table(stored: str) -> None:
    """Amounts to the step of the scale, the masterbatch, the larger pot, what is missing."""
    text = _run(stored, *DOSE).output
    table = text.split("Dose sheet:")[1]
    assert "8 of 9 cm^2 at 25 mg/cm^2, 15 % spare" in table
    row = next(line for line in table.splitlines() if line.strip().startswith("magnetite"))
    assert row.split()[:2] == ["magnetite", "–"]
    assert "0.17 g in masterbatch" in row
    assert "Masterbatch:" in table
    assert "closed jar, shaken gently and opened after the dust has settled" in " ".join(
        table.split()
    )
    assert "electrodes at once" in table
    assert "cost unknown for magnetite (no price entered)" in " ".join(text.split())
    assert "not on the shelf" in table


def test_a_finer_scale_needs_no_masterbatch(stored: str) -> None:
    """0.001 g steps: three decimals and nothing too small."""
    text = _run(stored, *DOSE, "--scale", "0.001 g").output
    assert "Masterbatch" not in text
    assert "0.167" in text


def test_notes_list_what_was_taken(stored: str) -> None:
    """Counted without --notes, listed with it."""
    short, long = _run(stored, "T5").output, _run(stored, "T5", "--notes").output
    assert "things were not measured; --notes" in short
    assert "dry three" not in short
    assert "dry three dishes" in " ".join(long.split())


def test_json_is_the_record(stored: str) -> None:
    """`schema` first, and it reads back."""
    result = _run(stored, *DOSE, "--json")
    plain = json.loads(result.output)
    assert next(iter(plain)) == "schema"
    found = read(MixAnswer, plain)
    assert found.dose is not None
    assert found.dose.electrodes == 8


def test_new_mix_of_portions(bench: str) -> None:
    """Stored and answered in one go."""
    words = ["--new", "M1", "--portion", "biochar A=6 g", "--portion", "PVB solution=9 g"]
    assert _run(bench, *words).output.startswith("M1 dries to")
    assert _run(bench, "M1").output.startswith("M1 dries to")


def test_a_measured_film_is_shown_beside_the_estimate(stored: str) -> None:
    """The electrode's own porosity, called measured."""
    with BenchFile.open(stored) as store:
        store.put(
            Electrode(
                name="E1",
                layers=(Layer(mix="T5", dry_mass=Entry(value=0.25 * GRAM)),),
                wetted_area=Entry(value=9e-4, standard_uncertainty=1e-5),
                thickness=(0.5e-3, 0.5e-3),
            )
        )
    text = " ".join(_run(stored, "T5").output.split())
    assert "E1: " in text
    assert "% measured." in text


def test_purity_of_a_powder(stored: str) -> None:
    """Assay and water-soluble part in grams of this pot: 96 % and 3.1 % of 0.165 g."""
    text = " ".join(_run(stored, *DOSE, "--notes").output.split())
    assert "Purity: magnetite: 0.15" in text
    assert "washes out" in text


@pytest.mark.parametrize(
    "words",
    [
        [],
        ["T5", "--new", "T6"],
        ["T5", "--portion", "biochar A=6 g"],
        ["T5", "--note", "x"],
        ["T5", "--electrodes", "0"],
        ["T5", "--no-such-option"],
    ],
)
def test_wrong_usage(stored: str, words: list[str]) -> None:
    """Exit code 2, nothing stored."""
    assert _run(stored, *words).exit_code == 2


@pytest.mark.parametrize(
    "words",
    [
        ["T55"],
        ["--new", "T5", "--want", "biochar A=1"],
        ["--new", "T6", "--want", "biochr A=100 %"],
        ["--new", "T6"],
        ["T5", "--area", "9 cm^2"],
    ],
)
def test_refusals_are_of_the_family(stored: str, words: list[str]) -> None:
    """What cannot be done is an error of the program's own, with a way on."""
    result = _run(stored, *words)
    assert isinstance(result.exception, AerodeError)
    assert result.exception.next_step


def test_help_has_examples() -> None:
    """`--help` shows how to ask and how to store."""
    text = CliRunner().invoke(command, ["--help"], prog_name="aerode mix").output
    assert 'aerode mix T5 --area "9 cm^2"' in text
    assert "aerode mix --new" in text


def test_a_volume_without_density_says_which_density_and_how(bench: str) -> None:
    """The field to enter, how to find it, and what the liquid alone weighs; the shelf may stand in front."""
    for name in ("PVB solution", "solution PVB solution", "solution:PVB solution"):
        result = _run(
            bench, "--new", "M1", "--portion", "biochar A=6 g", "--portion", f"{name}=30 mL"
        )
        assert result.exit_code == 1
        said = str(result.exception)
        assert 'density = "0.85 g/cm^3" with the solution' in said
        assert "weigh 10 mL of it once" in said
        assert "ethanol alone has 0.79" in said
    powder = _run(bench, "--new", "M1", "--portion", "biochar A=6 mL")
    assert "does not tell its mass" in str(powder.exception)


def test_an_amount_and_a_share_say_what_follows(bench: str) -> None:
    """8.5 g of dry char beside 15 %: the amount of the binder is printed as one that follows."""
    result = _run(
        bench, "--new", "M1", "--portion", "magnetite=8.5 g", "--want", "PVB solution=15 %"
    )
    assert result.exit_code == 0
    assert "Goes in:" in result.output
    assert "(from its share)" in result.output
    refused = _run(
        bench, "--new", "M2", "--portion", "magnetite=8.5 g", "--want", "PVB solution=rest"
    )
    assert isinstance(refused.exception, AerodeError)
    assert "stays open" in str(refused.exception)
