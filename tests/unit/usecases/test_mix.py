"""A mix put on a bench and asked about, as typed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from aerode.errors import (
    AerodeError,
    InputError,
    NotFoundError,
    RangeError,
    RecordError,
    StoppedError,
    UnitError,
)
from aerode.quantities import Basis
from aerode.records.electrodes import Coat, Electrode, Layer
from aerode.records.instruments import Instrument, Sort
from aerode.records.marks import Entry, Share
from aerode.records.materials import (
    Dish,
    Function,
    MeshCard,
    PowderLot,
    Price,
    Solution,
    SolventLot,
)
from aerode.records.mixes import Batch, Ingredient, Mix
from aerode.records.places import Bench, Room
from aerode.store.bench_file import BenchFile
from aerode.usecases.mix import (
    MixQuestion,
    mix_with_cautions,
    new_mix,
    read_portion,
    read_wanted,
    shelf_of,
    what_it_dries_to,
)

GRAM = 1e-3
DOSE = MixQuestion(area="9 cm^2", loading="25 mg/cm^2", electrodes=8)


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """A shed with char, magnetite, binder, a bottle and a mesh."""
    dishes = tuple(Dish(empty=2 * GRAM, wet=12 * GRAM, dried=d * GRAM) for d in (3.21, 3.26, 3.25))
    things = (
        PowderLot(
            name="biochar A", substance="biochar", function=Function.ACTIVE_CARBON,
            moisture=Entry(value=0.07, standard_uncertainty=0.02),
            price=Price(amount=2.0, per_mass=1.0),
        ),
        PowderLot(
            name="magnetite", substance="magnetite", function=Function.CATALYST,
            moisture=Entry(value=0.004, standard_uncertainty=0.002),
            price=Price(amount=9.0, per_mass=0.25),
        ),
        Solution(
            name="PVB solution", polymer="PVB", liquid=(Share(of="ethanol", fraction=1.0),),
            dishes=dishes, label_solids=Entry(value=0.15), density=Entry(value=830.0),
            price=Price(amount=4.0, per_mass=0.5),
        ),
        SolventLot(name="ethanol", substance="ethanol", price=Price(amount=6.0, per_volume=1e-3)),
        MeshCard(
            name="fly screen", material="stainless steel", mass_per_area=Entry(value=0.4),
            price=Price(amount=12.0, per_area=1.0),
        ),
    )  # fmt: skip
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as store:
        store.put_all(things)
        yield store


def _mix(bench: BenchFile, name: str = "M1") -> None:
    new_mix(bench, name, portions=["biochar A=6 g", "magnetite=1,0 g", "PVB solution=12 g"])


def test_new_mix_is_stored_as_typed(bench: BenchFile) -> None:
    """Masses in SI, the typed text kept, the shelf found."""
    new_mix(bench, "M1", portions=["biochar A=6,0 g ± 0,05 g", "PVB solution=10 mL"], note="first")
    mix = bench.get(Mix, "M1")
    char, binder = mix.portions
    assert char.mass is not None
    assert binder.volume is not None
    assert (char.mass.value, char.mass.text) == (pytest.approx(6 * GRAM), "6,0 g ± 0,05 g")
    assert char.mass.standard_uncertainty == pytest.approx(0.05 * GRAM)
    assert binder.volume.value == pytest.approx(10e-6)
    assert binder.shelf is Ingredient.SOLUTION
    assert mix.note == "first"


def test_wanted_shares_with_a_rest(bench: BenchFile) -> None:
    """The rest takes the balance."""
    new_mix(bench, "T5", wanted=["biochar A=rest", "magnetite=8", "PVB solution=0.15"], solids="18")
    mix = bench.get(Mix, "T5")
    assert {s.of: s.fraction for s in mix.wanted} == pytest.approx(
        {"biochar A": 0.77, "magnetite": 0.08, "PVB solution": 0.15}
    )
    assert mix.solids_fraction is not None
    assert mix.solids_fraction.value == pytest.approx(0.18)


def test_a_mix_that_grew_out_of_another(bench: BenchFile) -> None:
    """`after` names its parent, which must be there."""
    _mix(bench)
    new_mix(bench, "M2", portions=["biochar A=6 g"], after="M1")
    assert bench.get(Mix, "M2").after == "M1"
    with pytest.raises(NotFoundError):
        new_mix(bench, "M3", portions=["biochar A=6 g"], after="M9")


@pytest.mark.parametrize(
    ("arguments", "error", "match"),
    [
        ({}, InputError, "holds nothing"),
        ({"portions": ["biochar A"]}, InputError, "not a name and an amount"),
        ({"portions": ["=3 g"]}, InputError, "not a name and an amount"),
        ({"portions": ["biochar A=3 V"]}, UnitError, "cannot be taken"),
        ({"portions": ["biochar A=much"]}, UnitError, "number"),
        ({"portions": ["biochar A=0 g"]}, RangeError, "is 0"),
        ({"portions": ["biochar A=3 mL"]}, InputError, "by volume"),
        ({"portions": ["biocar A=3 g"]}, NotFoundError, "'biochar A'"),
        ({"wanted": ["biochar A=70 %", "magnetite=10 %"]}, InputError, "80 %, not to 100 %"),
        ({"wanted": ["biochar A=rest", "magnetite=rest"]}, InputError, "two shares are the rest"),
        ({"wanted": ["biochar A=rest", "magnetite=60%", "PVB solution=60%"]}, InputError, "120 %"),
        ({"wanted": ["ethanol=100 %"]}, InputError, "leaves nothing dry"),
        ({"wanted": ["biochar A=250 %"]}, RangeError, "believable"),
        ({"portions": ["biochar A=6 g"], "solids": "150 %"}, RangeError, "believable"),
    ],
)
def test_refusals_store_nothing(
    bench: BenchFile, arguments: dict[str, list[str]], error: type[AerodeError], match: str
) -> None:
    """Each slip is named, and the bench stays as it was."""
    with pytest.raises(error, match=match):
        new_mix(bench, "M1", **arguments)  # type: ignore[arg-type]
    assert bench.all(Mix) == []


def test_a_name_is_taken_once(bench: BenchFile) -> None:
    """A second mix of that name is refused, and one too long for a label too."""
    _mix(bench)
    with pytest.raises(InputError, match="there already"):
        _mix(bench)
    with pytest.raises(RecordError):
        _mix(bench, "x" * 81)


def test_a_refused_question_stores_nothing(bench: BenchFile) -> None:
    """A new mix and a bad question with it: neither is kept."""
    with pytest.raises(InputError):
        new_mix(bench, "M1", portions=["biochar A=6 g"], question=MixQuestion(area="9 cm^2"))
    assert bench.all(Mix) == []


def test_a_name_on_two_shelves_can_be_said(bench: BenchFile) -> None:
    """solvent:NAME tells the bottle from the powder."""
    bench.put(SolventLot(name="magnetite", substance="water"))
    shelf = shelf_of(bench)
    with pytest.raises(InputError, match="more than once"):
        read_portion("magnetite=3 g", shelf)
    assert read_portion("solvent:magnetite=3 g", shelf).shelf is Ingredient.SOLVENT
    assert read_wanted(["powder:magnetite=100 %"], shelf) == {"magnetite": 1.0}


def test_dosed_answer(bench: BenchFile) -> None:
    """Area and loading give a sheet and a cost with every part known."""
    _mix(bench)
    found = what_it_dries_to(bench, "M1", DOSE)
    assert found.dose is not None
    assert found.dose.dry_mass_g == pytest.approx(9 * 8 * 0.025 * 1.1, rel=0.01)
    assert {line.part for line in found.cost} == {"powder", "solution", "mesh"}
    assert found.cost_per_electrode.unit == "EUR"
    assert (found.cost_per_electrode.value or 0) > 12.0 * 9e-4


def test_mix_that_is_not_there(bench: BenchFile) -> None:
    """The near name is given."""
    _mix(bench)
    with pytest.raises(NotFoundError) as refusal:
        what_it_dries_to(bench, "M11", MixQuestion())
    assert "M1" in refusal.value.allowed


@pytest.mark.parametrize(
    ("question", "match"),
    [
        (MixQuestion(area="9 cm^2"), "together"),
        (MixQuestion(loading="25 mg/cm^2"), "together"),
        (MixQuestion(solids="18 %"), "something to dose"),
        (MixQuestion(area="9 cm^2", loading="25 mg/cm^2", spare="900 %"), "believable"),
        (MixQuestion(area="9 cm^2", loading="25 mg/cm^2", solids="90 %"), "bring it down"),
        (MixQuestion(area="9 V", loading="25 mg/cm^2"), "cannot be taken"),
        (MixQuestion(scale="shop scale"), "no scale"),
        (MixQuestion(mesh="brass"), "brass"),
    ],
)
def test_questions_that_cannot_be_answered(
    bench: BenchFile, question: MixQuestion, match: str
) -> None:
    """Each is refused by what is wrong with it."""
    _mix(bench)
    with pytest.raises(AerodeError, match=match):
        what_it_dries_to(bench, "M1", question)


def test_a_bare_share_is_per_cent(bench: BenchFile) -> None:
    """18 of a share can only be per cent."""
    _mix(bench)
    asked = MixQuestion(area="9 cm^2", loading="25 mg/cm^2", electrodes=8, solids="18", spare="10")
    found = what_it_dries_to(bench, "M1", asked)
    assert found.dose is not None
    assert found.dose.solids_fraction == pytest.approx(0.18, abs=0.002)


@pytest.mark.parametrize(
    ("area", "loading", "scale"),
    [("9", "25 mg/cm^2", ""), ("9 cm^2", "25", ""), ("9 cm^2", "25 mg/cm^2", "0.01")],
)
def test_a_number_without_its_unit_is_refused(
    bench: BenchFile, area: str, loading: str, scale: str
) -> None:
    """9 may be cm² or in², 25 mg/cm² or g/m²: the refusal shows how it is written."""
    _mix(bench)
    with pytest.raises((UnitError, NotFoundError)) as refused:
        what_it_dries_to(bench, "M1", MixQuestion(area=area, loading=loading, scale=scale))
    assert "as in" in refused.value.allowed


def test_which_scale_is_taken(bench: BenchFile) -> None:
    """None: a kitchen scale, said; one: that; several: the coarsest, unless named; the bench's own."""
    _mix(bench)

    def taken(said: str = "") -> str:
        question = MixQuestion(area="9 cm^2", loading="25 mg/cm^2", scale=said)
        dose = what_it_dries_to(bench, "M1", question).dose
        assert dose is not None
        return dose.scale

    assert "steps of 0.01 g" in taken()
    assert any("none on the bench" in a for a in what_it_dries_to(bench, "M1", DOSE).assumptions)
    bench.put(Instrument(name="fine", sort=Sort.SCALE, resolution=1e-6, limit_of_error=2e-6))
    assert taken().startswith("fine")
    bench.put(Instrument(name="kitchen", sort=Sort.SCALE, resolution=1e-4))
    assert taken().startswith("kitchen")
    assert taken("fine").startswith("fine")
    assert "steps of 0.1 g" in taken("0.1 g")
    bench.put(Bench(title="Net shed", scale="fine"))
    assert taken().startswith("fine")


def test_electrodes_of_the_mix_show_their_porosity(bench: BenchFile) -> None:
    """Only pieces made of this mix alone, with the mesh's metal from the published figures."""
    _mix(bench)
    whole = Electrode(
        name="E1", mesh="fly screen", layers=(Layer(mix="M1", dry_mass=Entry(value=0.25 * GRAM)),),
        wetted_area=Entry(value=9e-4, standard_uncertainty=1e-5), thickness=(0.55e-3, 0.60e-3),
    )  # fmt: skip
    other = Electrode(name="E2", layers=(Layer(mix="M1"), Layer(mix="M7")))
    bench.put_all([whole, other])
    found = what_it_dries_to(bench, "M1", MixQuestion())
    assert [film.electrode for film in found.films] == ["E1"]
    porosity = found.films[0].porosity
    assert porosity.value is not None
    assert 0.6 < porosity.value < 0.8
    assert porosity.basis is Basis.MEASURED
    assert found.porosity.basis is not Basis.MEASURED


def test_mesh_is_taken_where_there_is_only_one(bench: BenchFile) -> None:
    """With two, it must be named."""
    _mix(bench)
    assert what_it_dries_to(bench, "M1", DOSE).cost_per_electrode.value is not None
    bench.put(MeshCard(name="brass", material="brass"))
    assert what_it_dries_to(bench, "M1", DOSE).cost_per_electrode.value is None
    named = MixQuestion(area="9 cm^2", loading="25 mg/cm^2", mesh="fly screen")
    assert what_it_dries_to(bench, "M1", named).cost_per_electrode.value is not None


def test_a_batch_as_it_was_weighed(bench: BenchFile) -> None:
    """A batch answers by its own portions, held against what its mix wants."""
    new_mix(bench, "T5", wanted=["biochar A=rest", "PVB solution=15 %"])
    shelf = shelf_of(bench)
    portions = tuple(read_portion(t, shelf) for t in ("biochar A=9 g", "PVB solution=5 g"))
    bench.put(Batch(name="pot 1", mix="T5", portions=portions))
    found = what_it_dries_to(bench, "pot 1", MixQuestion())
    assert found.headline.startswith("pot 1 dries to 93.")
    assert found.weighed
    assert any("weighed is not what was wanted" in line for line in found.warnings)


def test_a_mix_and_an_electrode_of_one_name_do_not_get_in_each_others_way(bench: BenchFile) -> None:
    """The cautions of the mix are those of the mix, whatever else bears its name."""
    new_mix(bench, "T5", portions=("biochar A=12 g", "PVB solution=30 g"))
    alone, _ = mix_with_cautions(bench, "T5", MixQuestion())

    bench.put(Electrode(name="T5"))

    assert alone.cautions
    assert mix_with_cautions(bench, "T5", MixQuestion())[0].cautions == alone.cautions


def test_a_larger_dose_is_judged_as_what_will_be_weighed(bench: BenchFile) -> None:
    """A mix that was tried with a spoonful is judged by the kilograms that are asked for."""
    new_mix(bench, "T5", portions=("biochar A=12 g", "PVB solution=30 g"))
    bench.put(Room(name="shed", volume=Entry(value=30.0)))
    small, _ = mix_with_cautions(bench, "T5", DOSE)

    try:
        large = mix_with_cautions(bench, "T5", replace(DOSE, electrodes=2000, sure=True))[
            0
        ].cautions
    except StoppedError:  # harder than the small one, which was printed
        large = ("STOP",)

    assert large != small.cautions


def test_coats_weighed_wet_give_a_predicted_loading(bench: BenchFile) -> None:
    """0.9 g and 0.5 g wet at the solids of the mix over 9 cm²: told as predicted, not as measured."""
    _mix(bench)
    solids = what_it_dries_to(bench, "M1", MixQuestion()).solids_fraction
    assert solids.value is not None
    coats = (Coat(wet_mass=0.9 * GRAM), Coat(wet_mass=0.5 * GRAM))
    area = Entry(value=9e-4, standard_uncertainty=1e-5)
    bench.put(Electrode(name="wet", layers=(Layer(mix="M1", coats=coats),), wetted_area=area))
    half = (Coat(wet_mass=0.9 * GRAM), Coat(note="not weighed"))
    bench.put(Electrode(name="half", layers=(Layer(mix="M1", coats=half),), wetted_area=area))
    films = {one.electrode: one.loading_mg_cm2 for one in what_it_dries_to(bench, "M1", MixQuestion()).films}  # fmt: skip

    wanted = 1400.0 * solids.value / 9.0
    assert films["wet"].value == pytest.approx(wanted, rel=1e-9)
    assert films["wet"].basis is Basis.PREDICTED
    assert films["wet"].standard_uncertainty is not None
    assert films["wet"].standard_uncertainty > wanted / 90.0
    assert "weighed wet" in films["wet"].meaning
    assert films["half"].value is None
    assert "mass of the dry coat" in (films["half"].reason or "")


def test_a_pot_without_amounts_of_a_mix_of_amounts_shows_those_of_the_mix(bench: BenchFile) -> None:
    """Neither refused nor called weighed: the composition is that of its mix."""
    _mix(bench)
    bench.put(Batch(name="M1 pot", mix="M1"))
    own, pot = (what_it_dries_to(bench, name, MixQuestion()) for name in ("M1", "M1 pot"))

    assert pot.dry == own.dry
    assert own.weighed
    assert not pot.weighed
