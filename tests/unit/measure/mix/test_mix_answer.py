"""The answer as a whole."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from aerode import units
from aerode.errors import InputError
from aerode.measure.mix.answer import answer
from aerode.measure.mix.composition import compose
from aerode.measure.mix.dosing import DoseRequest
from aerode.measure.mix.lots import Shelf
from aerode.measure.mix.weighing import Scale
from aerode.records.adapter import read, write_whole
from aerode.records.doses import MixAnswer
from aerode.records.marks import Entry, Share
from aerode.records.materials import MeshCard, Price
from aerode.records.mixes import Ingredient, Mix, Portion

GRAM = 1e-3
WANTED = (
    Share(of="biochar A", fraction=0.53),
    Share(of="lamp black", fraction=0.20),
    Share(of="magnetite", fraction=0.08),
    Share(of="PVB solution", fraction=0.15),
    Share(of="wax emulsion", fraction=0.04),
)
PORTIONS = (
    Portion(of="biochar A", mass=Entry(value=6 * GRAM)),
    Portion(of="magnetite", mass=Entry(value=1 * GRAM)),
    Portion(of="PVB solution", shelf=Ingredient.SOLUTION, mass=Entry(value=9 * GRAM)),
)
MESH = MeshCard(name="fly screen", material="steel", price=Price(amount=20.0, per_area=1.0))


def _request(scale: Scale) -> DoseRequest:
    return DoseRequest(area=9e-4, loading=0.25, scale=scale, electrodes=8, spare=0.15)


def test_weighed_mix(shelf: Shelf, scale: Scale) -> None:
    """Portions give the composition; without a request there is no sheet and no cost."""
    found = answer(Mix(name="M1", portions=PORTIONS), shelf, scale)
    assert found.headline.startswith("M1 dries to 72.5 % biochar A, 12.9 % magnetite, 10.7 % PVB")
    assert found.dose is None
    assert found.cost_per_electrode.value is None
    assert sum(part.mass_fraction.value or 0 for part in found.dry) == pytest.approx(1.0)


def test_wanted_mix_on_paper_has_no_weighing_error(shelf: Shelf, scale: Scale) -> None:
    """Nothing was weighed yet: the char's share is off by its moisture and the solids alone."""
    found = answer(Mix(name="T5", wanted=WANTED), shelf, scale)
    shares = {part.of: 0.0 for part in found.dry}
    for part in found.dry:
        shares[part.of] += part.mass_fraction.value or 0
    assert shares == pytest.approx({s.of: s.fraction for s in WANTED}, rel=1e-9)
    on_fine_scale = answer(Mix(name="T5", wanted=WANTED), shelf, replace(scale, resolution=1e-9))
    assert on_fine_scale.dry[0].mass_fraction.standard_uncertainty == pytest.approx(
        found.dry[0].mass_fraction.standard_uncertainty, rel=0.02
    )


def test_wanted_mix_with_a_sheet_is_as_it_will_be_weighed(shelf: Shelf, scale: Scale) -> None:
    """With doses the composition carries rounding and weighing."""
    paper = answer(Mix(name="T5", wanted=WANTED), shelf, scale)
    dosed = answer(Mix(name="T5", wanted=WANTED), shelf, scale, request=_request(scale), mesh=MESH)
    assert dosed.dose is not None
    assert dosed.dry_mass_g.value == pytest.approx(2.07, abs=0.03)
    assert (dosed.dry[1].mass_fraction.standard_uncertainty or 0) > (
        paper.dry[1].mass_fraction.standard_uncertainty or 0
    )
    assert dosed.cost_per_electrode.value is not None


def test_cautions_and_assumptions_are_passed_on(shelf: Shelf, scale: Scale) -> None:
    """What the caller brings stands in the answer; the lots' own notes follow."""
    found = answer(
        Mix(name="M1", portions=PORTIONS), shelf, scale,
        cautions=("STOP: no flame near ethanol",), assumptions=("scale: assumed",),
    )  # fmt: skip
    assert found.cautions == ("STOP: no flame near ethanol",)
    assert found.assumptions[0] == "scale: assumed"
    assert any("density of PVB not measured" in note for note in found.assumptions)


def test_answer_survives_the_door(shelf: Shelf, scale: Scale) -> None:
    """Written out and read back it is the same record."""
    found = answer(Mix(name="T5", wanted=WANTED), shelf, scale, request=_request(scale))
    assert read(MixAnswer, write_whole(found)) == found


@pytest.mark.parametrize("name", ["T", "a very long name for a mix " * 3])
def test_headline_fits_a_line(shelf: Shelf, scale: Scale, name: str) -> None:
    """Never above 100 characters, whatever the names."""
    found = answer(Mix(name=name[:80], wanted=WANTED), shelf, scale)
    assert len(found.headline) <= 100
    assert "dries to" in found.headline


def test_headline_names_all_of_a_few_and_always_what_binds(shelf: Shelf, scale: Scale) -> None:
    """The binder is often the one thing varied: it is told, however long the names and small its share."""
    long = "carbon from the charcoal burner of the summer before last"
    named = replace(shelf, powders={**shelf.powders, long: replace(shelf.powders["biochar A"], name=long)})  # fmt: skip
    few = (Share(of=long, fraction=0.65), Share(of="lamp black", fraction=0.25), Share(of="PVB solution", fraction=0.1))  # fmt: skip
    told = answer(Mix(name="A", wanted=few), named, scale).headline
    assert len(told) > 100
    assert " more" not in told
    assert f"65.0 % {long}, 25.0 % lamp black" in told
    many = answer(Mix(name="a mix of some use", wanted=WANTED), shelf, scale)  # fmt: skip
    assert re.search(r"% PVB and \d more", many.headline)
    assert len(many.headline) <= 100


def test_doubtful_share_is_warned_of(shelf: Shelf, scale: Scale) -> None:
    """A share known to worse than a tenth of itself is said."""
    lot = replace(
        shelf.solutions["wax emulsion"], solids=Entry(value=0.3, standard_uncertainty=0.05)
    )
    wide = replace(shelf, solutions={**shelf.solutions, "wax emulsion": lot})
    found = answer(Mix(name="T5", wanted=WANTED), wide, scale)
    (said,) = [w for w in found.warnings if "beeswax" in w]
    share = next(one.mass_fraction for one in found.dry if one.of == "wax emulsion")
    assert share.value is not None
    assert share.standard_uncertainty is not None
    table = units.write(100 * share.value, "%", 100 * share.standard_uncertainty)
    assert f"beeswax {table}" in said  # one figure has one error, here and in the table


def test_small_dose_without_a_masterbatch_is_warned_of(shelf: Shelf, scale: Scale) -> None:
    """Everything too little: the way out is to make more at once."""
    request = DoseRequest(area=1e-4, loading=0.1, scale=scale, electrodes=1)
    found = answer(Mix(name="T5", wanted=WANTED), shelf, scale, request=request)
    assert any("electrodes at once" in w for w in found.warnings)


def test_empty_mix_is_refused(shelf: Shelf, scale: Scale) -> None:
    """Nothing in it and nothing wanted."""
    with pytest.raises(InputError, match="holds nothing"):
        answer(Mix(name="empty"), shelf, scale)


def test_closer_packing_is_said(shelf: Shelf, scale: Scale) -> None:
    """Grains of two sizes: the bound stands among the assumptions."""
    found = answer(Mix(name="T5", wanted=WANTED), shelf, scale)
    assert any("filled the gaps" in note for note in found.assumptions)


def test_what_was_weighed_is_held_against_what_was_wanted(shelf: Shelf, scale: Scale) -> None:
    """Binder by the label: 2.3 points short of the 15 % wanted, beyond doubt; as wanted: silence."""
    wanted = (Share(of="biochar A", fraction=0.85), Share(of="PVB solution", fraction=0.15))
    portions = (
        Portion(of="biochar A", mass=Entry(value=8.5 / 0.93 * GRAM)),
        Portion(of="PVB solution", shelf=Ingredient.SOLUTION, mass=Entry(value=10 * GRAM)),
    )
    found = answer(Mix(name="M", wanted=wanted, portions=portions), shelf, scale)
    assert any("PVB with plasticiser -2.3 points" in line for line in found.warnings)
    right = replace(portions[1], mass=Entry(value=1.5 / 0.124 * GRAM))
    found = answer(Mix(name="M", wanted=wanted, portions=(portions[0], right)), shelf, scale)
    assert not any("weighed is not" in line for line in found.warnings)


def test_share_of_a_lot_is_surer_than_its_parts(shelf: Shelf, scale: Scale) -> None:
    """Polymer and plasticiser of one solution err against each other; their sum does not."""
    film = compose(PORTIONS, shelf, scale)
    whole = film.share_uncertainty("PVB solution")
    assert whole < film.uncertainty("fraction", "PVB solution|plasticiser")
    assert film.share_uncertainty("magnetite") == pytest.approx(
        film.uncertainty("fraction", "magnetite|catalyst")
    )
    assert film.share_uncertainty("not in it") == 0.0
