"""The caution verb as a person meets it: short where little is to fear, folded once read, hard on a class."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from aerode.cli.cautions import command
from aerode.errors import StoppedError
from aerode.records.cautions import STANDING_TEXT
from aerode.records.electrodes import Cell, Electrode, Layer
from aerode.records.marks import Entry, Share
from aerode.records.materials import Electrolyte, Function, PowderLot, Solution, SolventLot
from aerode.records.mixes import Ingredient, Mix, Portion
from aerode.records.places import Airing, People, Room
from aerode.store.bench_file import BenchFile
from aerode.usecases.cautions import CautionQuestion, refuse_unacknowledged

HARMLESS = {
    "wax paint in water": ("wax paint", "--room", "garage"),
    "5 mL of ethanol slurry outdoors": ("ethanol slurry", "--room", "yard", "--area", "50 cm^2"),
    "dry polystyrene layer at 110 degC": (
        "P1", "--room", "garage", "--plate", "110 °C", "--weighed", "5.00 g, 5.00 g, 15 min",
        "--coating", "2 g", "--area", "10 cm^2",
    ),
    "one brine cell": ("cell A", "--room", "garage"),
    "two brine cells in series": ("cell B", "--room", "garage", "--series", "2"),
    "2 mL of 2-propanol to wipe with": ("wipe", "--room", "workshop", "--area", "100 cm^2"),
}  # fmt: skip
"""The harmless set-ups of `tests/unit/cautions/setups.py`, as records and options."""


def grams(value: float) -> Entry:
    """A mass."""
    return Entry(value=value * 1e-3)


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A bench with rooms, shelf, mixes and cells; made once and only read."""
    hour = 3600.0
    records = [
        Room(name="garage", volume=Entry(value=40.0), airing=Airing.WINDOW),
        Room(name="yard", airing=Airing.OPEN_AIR),
        Room(name="workshop", volume=Entry(value=50.0), air_changes=Entry(value=2 / hour)),
        Room(name="school", volume=Entry(value=200.0), air_changes=Entry(value=4 / hour),
             people=(People.CLASS,)),
        PowderLot(name="biochar", substance="biochar", function=Function.ACTIVE_CARBON),
        PowderLot(name="lamp black", substance="carbon black", function=Function.CONDUCTOR),
        PowderLot(name="paste", substance="EMD", function=Function.CATALYST, recovered=True),
        PowderLot(name="tape", substance="PTFE", function=Function.WET_PROOFER),
        Solution(name="emulsion", polymer="beeswax", liquid=(Share(of="water", fraction=1.0),),
                 solids=Entry(value=0.3), dispersed=True),
        Solution(name="film", polymer="PVB", liquid=(Share(of="ethanol", fraction=1.0),),
                 solids=Entry(value=0.2)),
        Solution(name="cup", polymer="polystyrene", liquid=(Share(of="ethyl acetate", fraction=1.0),),
                 solids=Entry(value=0.2)),
        Solution(name="cement", polymer="polystyrene", liquid=(Share(of="toluene", fraction=1.0),),
                 solids=Entry(value=0.2)),
        SolventLot(name="IPA", substance="2-propanol"),
        Mix(name="wax paint", portions=(
            Portion(of="biochar", mass=grams(20)), Portion(of="lamp black", mass=grams(4)),
            Portion(of="emulsion", shelf=Ingredient.SOLUTION, mass=grams(50)),
        )),
        Mix(name="ethanol slurry", portions=(
            Portion(of="biochar", mass=grams(6)),
            Portion(of="film", shelf=Ingredient.SOLUTION, mass=grams(4.9)),
        )),
        Mix(name="cup mix", portions=(Portion(of="cup", shelf=Ingredient.SOLUTION, mass=grams(10)),)),
        Mix(name="wipe", portions=(Portion(of="IPA", shelf=Ingredient.SOLVENT, volume=Entry(value=2e-6)),)),
        Mix(name="glue", portions=(Portion(of="cement", shelf=Ingredient.SOLUTION, mass=grams(5)),)),
        Mix(name="paste mix", portions=(Portion(of="paste", mass=grams(5)),)),
        Mix(name="fluor", portions=(Portion(of="tape", mass=grams(1)),)),
        Electrode(name="P1", layers=(Layer(mix="cup mix"),)),
        Electrode(name="F1", layers=(Layer(mix="fluor"),)),
        Electrolyte(name="brine", salt="sodium chloride", mass_fraction=Entry(value=0.035)),
        Electrolyte(name="lye", salt="potassium hydroxide", mass_fraction=Entry(value=0.19)),
        Cell(name="cell A", electrode="P1", electrolyte="brine", aluminium_area=Entry(value=2e-3)),
        Cell(name="cell B", electrode="P1", electrolyte="brine", aluminium_area=Entry(value=4.2e-3)),
        Cell(name="cell L", electrode="P1", electrolyte="lye", aluminium_area=Entry(value=2e-3)),
    ]  # fmt: skip
    path = tmp_path_factory.mktemp("cautions") / "b.aerode"
    with BenchFile.create(path, title="test") as made:
        made.put_all(records)
    return path


@pytest.fixture
def own(place: Path, tmp_path: Path) -> Path:
    """A copy to write into."""
    copy = tmp_path / "own.aerode"
    copy.write_bytes(place.read_bytes())
    return copy


def said(path: Path, *words: str) -> list[str]:
    """The lines that the verb prints."""
    found = CliRunner().invoke(command, [*words, "--bench", str(path)])
    assert found.exit_code == 0, found.output
    return found.output.splitlines()


def entries(text: list[str]) -> list[str]:
    """The cautions of an answer, each as one text; the verdict and the standing text are not in it."""
    joined = re.sub(r"\s+", " ", " ".join(text[1:]))
    body = joined.removesuffix(STANDING_TEXT).strip()
    return [
        part for part in re.split(r"(?<!\S)(?=(?:STOP|FIRST|NOTE) [a-z])", body) if part.strip()
    ]


@pytest.mark.parametrize("name", HARMLESS)
def test_a_harmless_one_has_no_stop_and_three_entries_at_most(place: Path, name: str) -> None:
    """Nothing refused, three cautions or fewer, each with what would change it and its source."""
    text = said(place, *HARMLESS[name])
    found = entries(text)
    assert 1 <= len(found) <= 3, text
    for one in found:
        assert not one.startswith("STOP")
        assert "Changes with:" in one
        assert re.search(r"\[[a-z0-9_, ]+\]\s*$", one), one


@pytest.mark.parametrize("name", HARMLESS)
def test_once_read_a_harmless_one_is_three_lines_at_most(own: Path, name: str) -> None:
    """From the second day on each caution is one line of the terminal, its source kept."""
    words = HARMLESS[name]
    first = said(own, *words, "--read")
    text = said(own, *words)
    assert text == first
    standing = next(i for i, line in enumerate(text) if line.startswith(STANDING_TEXT[:30]))
    body = text[1:standing]
    assert 1 <= len(body) <= 3
    for line in body:
        assert len(line) <= 80
        assert re.search(r"\[[a-z0-9_]+\]$", line), line


def test_a_stop_never_folds_and_never_goes(own: Path) -> None:
    """Read, acknowledged, asked again: the STOP stands in full each time, with its reason."""
    words = ("cell A", "--room", "garage", "--capped")
    before = [e for e in entries(said(own, *words)) if e.startswith("STOP")]
    said(own, *words, "--read")
    assert next(e for e in entries(said(own, *words)) if e.startswith("STOP")) == before[0]
    key = "hydrogen.capped.cell A"
    with BenchFile.open(own, read_only=True) as bench, pytest.raises(StoppedError):
        refuse_unacknowledged(bench, "cell A", _capped())
    said(own, *words, "--acknowledge", key, "--reason", "vented lid, photo 12")
    (after,) = [e for e in entries(said(own, *words)) if e.startswith("STOP")]
    assert "Acknowledged: vented lid, photo 12." in after
    whole = before[0].split(" No bench sheet")[0]
    assert after.replace("Acknowledged: vented lid, photo 12. ", "").strip() == whole.strip()
    with BenchFile.open(own, read_only=True) as bench:
        assert refuse_unacknowledged(bench, "cell A", _capped()).waiting == ()


def _capped() -> CautionQuestion:
    return CautionQuestion(room="garage", capped=True)


@pytest.mark.parametrize(
    ("words", "refused"),
    [
        (("cell L",), "lye"),
        (("glue",), "toluene"),
        (("F1", "--plate", "200 °C"), "hot PTFE"),
        (("paste mix",), "unwashed paste"),
    ],
)
def test_a_class_is_refused_the_worst(place: Path, words: tuple[str, ...], refused: str) -> None:
    """Lye, aromatic solvents, fluoropolymer heat, unwashed paste: by the room or by the switch."""
    for more in (("--room", "school"), ("--room", "yard", "--class")):
        text = said(place, *words, *more)
        assert any(
            e.startswith(f"STOP class: not for a class: {refused}") for e in entries(text)
        ), text
    grown = said(place, *words, "--room", "yard")
    assert not any("not for a class" in line for line in grown)


@pytest.mark.parametrize("item", ["wax paint", "cell A"])
def test_a_class_may_do_the_rest(place: Path, item: str) -> None:
    """Brine and water in a class: no STOP."""
    assert not any(e.startswith("STOP") for e in entries(said(place, item, "--room", "school")))


def test_every_entry_of_the_record_names_its_source_and_what_would_change_it(place: Path) -> None:
    """The same for scripts: level, hazard, figure, limit, basis, source, what to do, what is missing."""
    found = json.loads("\n".join(said(place, "glue", "--room", "garage", "--json")))
    assert next(iter(found)) == "schema"
    for caution in found["cautions"]:
        assert {"level", "hazard", "figure", "limit", "basis", "source", "do", "missing"} <= set(
            caution
        )
        assert caution["source"]
        assert caution["would_change"]
        assert caution["do"]
