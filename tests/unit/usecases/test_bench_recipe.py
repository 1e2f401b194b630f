"""A recipe card goes out and is dosed on another bench, for its own scale, stock and area."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from aerode.cli.console import run
from aerode.errors import AerodeError, InputError, NotFoundError, StoreError
from aerode.records.electrodes import Electrode
from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, Solution, SolventLot
from aerode.records.mixes import Mix
from aerode.records.places import Bench, Room
from aerode.records.recipes import CardMix, CardPart, CardStep, RecipeCard
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_card_text import card_of, card_text, read_card
from aerode.usecases.bench_recipe import recipe_card, write_card
from aerode.usecases.bench_recipe_doses import dose_card
from aerode.usecases.mix import MixQuestion
from aerode.virtual.tern_sound import draw

ASKED = MixQuestion(area="12 cm^2", loading="40 mg/cm^2", electrodes=5, spare="0 %")


@pytest.fixture(scope="module")
def maker(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The invented bench."""
    path = tmp_path_factory.mktemp("maker") / "shed.aerode"
    with BenchFile.create(path, title="Net shed", who="Ida") as bench:
        bench.put_all([one for one in draw(1).records if not isinstance(one, Bench)])
    return path


@pytest.fixture
def reader(tmp_path: Path) -> Path:
    """Another bench with lots of other names, moisture and solids, and little of one of them."""
    path = tmp_path / "mine.aerode"
    with BenchFile.create(path, title="Garage") as bench:
        bench.put_all(
            [
                PowderLot(name="char 2", substance="biochar", function=Function.ACTIVE_CARBON, moisture=Entry(value=0.2)),
                PowderLot(name="black", substance="Carbon black", function=Function.CONDUCTOR, moisture=Entry(value=0.0), stock=Entry(value=1e-4)),
                PowderLot(name="rust", substance="magnetite", function=Function.CATALYST, moisture=Entry(value=0.0)),
                Solution(name="PVB 12", polymer="polyvinyl butyral", solids=Entry(value=0.12),
                         plasticiser=Entry(value=0.1), plasticiser_substance="3G8", liquid=(Share(of="ethanol", fraction=1.0),)),
                Solution(name="wax", polymer="beeswax", function=Function.WET_PROOFER, solids=Entry(value=0.25), dispersed=True),
                SolventLot(name="bottle", substance="ethanol"),
                Room(name="garage", volume=Entry(value=30.0)),
            ]
        )  # fmt: skip
    return path


@pytest.fixture(scope="module")
def card(maker: Path) -> RecipeCard:
    """The card of one electrode."""
    with BenchFile.open(maker, read_only=True) as bench:
        return recipe_card(bench, "T5")


def test_what_is_on_it(maker: Path, card: RecipeCard) -> None:
    """Dry shares that make a whole, every step in order, tolerances, cautions with what to do."""
    assert sum(part.share.value for part in card.mixes[0].dry) == pytest.approx(1.0)
    assert [step.do for step in card.steps] == ["coat", "press", "seal", "tab", "measure"]
    assert all(part.share.standard_uncertainty for part in card.mixes[0].dry)
    assert card.cautions
    assert all(caution.do for caution in card.cautions)
    assert "no substitute for the safety data sheet" in card.standing_text
    with BenchFile.open(maker, read_only=True) as bench:
        electrode = bench.get(Electrode, "T5")
        assert card.state == bench.state(Electrode, "T5").digest
    coat, press = card.steps[0], card.steps[1]
    assert coat.loading is not None
    assert press.temperature is not None
    assert electrode.press[0].plate_temperature is not None
    assert press.temperature.value == electrode.press[0].plate_temperature.value


def test_nothing_private_is_on_it(maker: Path, card: RecipeCard) -> None:
    """Neither who wrote it, nor what it cost, nor where and when it was made, nor how it measured."""
    text = card_text(card)

    for word in ("Ida", "EUR", "net shed", "2026", "price", "voltage"):
        assert word not in text
    with BenchFile.open(maker, read_only=True) as bench:
        assert 'by = "The shed"' in card_text(recipe_card(bench, "T5", by="The shed"))


def test_there_and_back(card: RecipeCard) -> None:
    """The text of what was read is the text again, and no share moved by more than its last digit."""
    again = card_of(card_text(card).encode(), "card")

    assert card_text(again) == card_text(card)
    for mine, theirs in zip(again.mixes[0].dry, card.mixes[0].dry, strict=True):
        assert mine.share.value == pytest.approx(theirs.share.value, abs=6e-4)
        assert mine.substance == theirs.substance


WORDS = st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc", "Zs", "Zl", "Zp"]), min_size=1, max_size=9)  # fmt: skip


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(1, 100), min_size=1, max_size=5), WORDS, WORDS, st.floats(1e-4, 10.0))
def test_any_words_and_numbers(parts: list[int], name: str, note: str, loading: float) -> None:
    """Quotation marks, backslashes and letters of all kinds; numbers to three digits or better."""
    whole = sum(parts)
    card = RecipeCard(
        name=name, of="mix", note=note,
        mixes=(CardMix(name=name, dry=tuple(
            CardPart(material=f"{note}{n}", substance=name, function="conductor",
                     share=Entry(value=part / whole, standard_uncertainty=1e-5))
            for n, part in enumerate(parts))),),
        steps=(CardStep(do="coat", mix=name, loading=Entry(value=loading)),),
    )  # fmt: skip
    again = card_of(card_text(card).encode(), "card")

    assert (again.name, again.note, again.steps[0].mix) == (name, note, name)
    assert again.steps[0].loading is not None
    assert again.steps[0].loading.value == pytest.approx(loading, rel=6e-3)
    for mine, theirs in zip(again.mixes[0].dry, card.mixes[0].dry, strict=True):
        assert mine.share.value == pytest.approx(theirs.share.value, abs=1e-5)


def test_dosed_on_another_bench(card: RecipeCard, reader: Path) -> None:
    """By hand: dry grams of each part, over what of the reader's own lot is dry."""
    with BenchFile.open(reader) as bench:
        answer = dose_card(bench, card, ASKED, name="their T5")
        again = dose_card(bench, card, ASKED, name="their T5")
        assert (
            bench.get(Mix, "their T5").note == f"from the recipe card T5, state {card.state[:12]}"
        )

    assert again.mixes == answer.mixes
    dry = 5 * 12 * 0.040  # electrodes × cm² × g/cm²
    share = {part.substance: part.share.value for part in card.mixes[0].dry}
    by_hand = {
        "char 2": dry * share["biochar"] / (1 - 0.2),
        "black": dry * share["carbon black"],
        "rust": dry * share["magnetite"],
        "PVB 12": dry * share["polyvinyl butyral"] / 0.12,
        "wax": dry * share["beeswax"] / 0.25,
    }
    dose = answer.mixes[0].dose
    assert dose is not None
    weighed = {line.of: line.exact_g for line in dose.lines}
    for lot, grams in by_hand.items():
        assert weighed[lot] == pytest.approx(grams, rel=2e-3), lot
    assert any("black" in line for line in dose.stock_short)
    assert answer.mixes[0].cautions
    differs = {match.taken: match.differs for match in answer.matches}
    assert differs["PVB 12"].startswith("plasticiser 10 %, there 26 %")
    assert differs["rust"] == ""


def test_what_the_card_says_holds_where_nothing_is_said(card: RecipeCard, reader: Path) -> None:
    """Area, loading and solids fraction of the maker."""
    with BenchFile.open(reader) as bench:
        dose = dose_card(bench, card, MixQuestion(scale="0.001 g")).mixes[0].dose
    assert dose is not None
    assert card.area is not None
    assert dose.area_cm2 == pytest.approx(card.area.value * 1e4, rel=1e-5)
    assert dose.loading_mg_cm2 == pytest.approx(card.steps[0].loading.value * 100, rel=1e-5)  # type: ignore[union-attr]
    bare = replace(card, area=None)
    with BenchFile.open(reader) as bench, pytest.raises(InputError, match="says no area"):
        dose_card(bench, bare, MixQuestion())


def test_thinner_than_the_card(card: RecipeCard, reader: Path) -> None:
    """Solutions too thin for the solids fraction of the card: dosed as thick as they let it be, and said."""
    with BenchFile.open(reader) as bench:
        pvb = bench.get(Solution, "PVB 12")
        bench.put(replace(pvb, solids=Entry(value=0.05)))
        answer = dose_card(bench, card, ASKED)
        assert "solids as on the card cannot be had" in answer.notes[0]
        assert answer.mixes[0].dose is not None
        assert answer.mixes[0].dose.solids_fraction < 0.28
        with pytest.raises(InputError, match="solids fraction"):
            dose_card(bench, card, replace(ASKED, solids="31 %"))


def test_what_the_shelf_does_not_decide(card: RecipeCard, reader: Path) -> None:
    """All parts that lack or are two are named at once; a word ends it, and the difference is said."""
    with BenchFile.open(reader) as bench:
        bench.withdraw(PowderLot, "rust")
        bench.put(PowderLot(name="char 3", substance="biochar", function=Function.ACTIVE_CARBON))
        bench.put(
            PowderLot(name="manganese", substance="manganese dioxide", function=Function.CATALYST)
        )
        with pytest.raises(NotFoundError, match=r"magnetite .*none") as refusal:
            dose_card(bench, card, ASKED)
        assert "more than one fits: 'char 2', 'char 3'" in refusal.value.what
        with pytest.raises(NotFoundError, match="no lot of this bench"):
            dose_card(bench, card, ASKED, use={"magnetite": "mangan"})
        with pytest.raises(NotFoundError, match="no part of the card"):
            dose_card(bench, card, ASKED, use={"magnetit": "manganese"})
        assert bench.names(Mix) == []
        use = {"magnetite": "manganese", "bamboo biochar": "char 3"}
        answer = dose_card(bench, card, ASKED, use=use)
    assert "manganese dioxide in the place of magnetite" in {m.differs for m in answer.matches}


def test_a_name_that_is_taken(card: RecipeCard, reader: Path) -> None:
    """Another mix of that name stays as it is."""
    with BenchFile.open(reader) as bench:
        bench.put(Mix(name=card.mixes[0].name, note="mine"))
        with pytest.raises(InputError, match="already"):
            dose_card(bench, card, ASKED)
        assert bench.get(Mix, card.mixes[0].name).note == "mine"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (b"\xff\xfe", "not TOML"),
        (b"x = [" + b"[" * 5000, "not TOML"),
        (b'schema = "other/1"', "no recipe card"),
        (b'schema = "aerode.recipe-card/1"\nname = "x"\nof = "mix"\ncolour = "red"', "no field 'colour'"),
        (b'schema = "aerode.recipe-card/1"\nof = "mix"', "cannot be taken"),
        (b"#" * 1_000_001, "too long"),
    ],
)  # fmt: skip
def test_what_is_no_card(text: bytes, words: str) -> None:
    """A text from somebody else is refused with a reason."""
    with pytest.raises(AerodeError, match=words):
        card_of(text, "card")


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("52.95 ± 0.65 %", "152 %", "more than the whole"),
        ("52.95 ± 0.65 %", "-3 %", "less than nothing"),
        ("52.95 ± 0.65 %", "5 V", "share"),
        ("52.95 ± 0.65 %", "42 %", "add up to"),
        ('do = "press"', 'do = "press"\nforce = "much"', "force"),
    ],
)
def test_odd_values(card: RecipeCard, old: str, new: str, words: str) -> None:
    """Shares that are none, units that do not fit."""
    text = card_text(card)
    assert old in text
    with pytest.raises(AerodeError, match=words):
        card_of(text.replace(old, new).encode(), "card")


def test_written_to_a_new_file(maker: Path, tmp_path: Path) -> None:
    """Nothing is written over; what a reader would miss is said; a missing name lists what is there."""
    with BenchFile.open(maker) as bench:
        answer = write_card(bench, "T5", tmp_path / "card.toml")
        assert read_card(tmp_path / "card.toml").name == "T5"
        assert answer.not_on_it == ()
        with pytest.raises(StoreError, match="there already"):
            write_card(bench, "T5", tmp_path / "card.toml")
        with pytest.raises(NotFoundError, match="no electrode and no mix"):
            write_card(bench, "T99", tmp_path / "x.toml")


def test_as_typed(
    maker: Path, reader: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Written, then dosed: cautions stand before the weights."""
    card = str(tmp_path / "card.toml")
    assert run(["bench", "recipe", "T5", "--out", card, "-b", str(maker)]) == 0
    assert capsys.readouterr().out.startswith("Wrote the card of electrode T5")
    assert run(["bench", "recipe", card, "--area", "12 cm^2", "-b", str(reader)]) == 0
    said = capsys.readouterr().out
    assert said.index("FIRST flammable liquid") < said.index("weigh, on the scale")
    assert "Mind: PVB 12 for glass-film PVB: plasticiser 10 %" in said
    assert all(len(line) <= 80 for line in said.splitlines()[1:])
    assert run(["bench", "recipe", card, "--use", "x", "-b", str(reader)]) == 2
