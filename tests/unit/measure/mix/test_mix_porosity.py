"""Porosity of an electrode that exists."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from aerode.measure.mix.composition import Composition, compose
from aerode.measure.mix.lots import Shelf
from aerode.measure.mix.porosity import film_of
from aerode.measure.mix.weighing import Scale
from aerode.quantities import Basis, Quantity
from aerode.records.electrodes import Coat, Electrode, Layer, Weighing
from aerode.records.marks import Entry
from aerode.records.materials import MeshCard
from aerode.records.mixes import Ingredient, Portion

GRAM = 1e-3
STEEL = Quantity(value=7950.0, unit="kg/m^3", standard_uncertainty=30.0, basis=Basis.PUBLISHED)
MESH = MeshCard(name="fly screen", material="stainless steel", mass_per_area=Entry(value=0.4))
T6 = Electrode(
    name="T6",
    mesh="fly screen",
    mass=Entry(value=0.70 * GRAM, standard_uncertainty=0.002 * GRAM),
    mesh_mass=Entry(value=0.40 * GRAM, standard_uncertainty=0.002 * GRAM),
    wetted_area=Entry(value=10e-4, standard_uncertainty=0.1e-4, how="photo"),
    thickness=(0.62e-3, 0.66e-3, 0.71e-3, 0.78e-3, 0.81e-3),
)


@pytest.fixture
def mix(shelf: Shelf, scale: Scale) -> Composition:
    """Char and wax."""
    return compose(
        (
            Portion(of="biochar A", mass=Entry(value=8 / 0.93 * GRAM)),
            Portion(of="wax emulsion", shelf=Ingredient.SOLUTION, mass=Entry(value=2 / 0.3 * GRAM)),
        ),
        shelf,
        scale,
    )


def test_porosity_by_hand(mix: Composition, scale: Scale) -> None:
    """0.30 g on 10 cm² in 0.716 mm, less a mesh of 0.4 kg/m² steel."""
    film = film_of(T6, mix, scale, mesh=MESH, mesh_density=STEEL)
    assert film.loading_mg_cm2.value == pytest.approx(30.0)
    solid = 0.3 * (0.8 / 1650.0 + 0.2 / 960.0)
    room = 0.716e-3 - 0.4 / 7950.0
    assert film.porosity.value == pytest.approx(1 - solid / room, rel=1e-9)
    assert film.porosity.basis is Basis.MEASURED


def test_uncertainty_holds_thickness_mass_area_and_density(mix: Composition, scale: Scale) -> None:
    """The parts, squared and added, by hand."""
    film = film_of(T6, mix, scale, mesh=MESH, mesh_density=STEEL)
    readings = [0.62, 0.66, 0.71, 0.78, 0.81]
    middle = sum(readings) / 5
    chance = math.sqrt(sum((r - middle) ** 2 for r in readings) / 4 / 5) * 1e-3
    u_t = math.hypot(chance, 5e-5 / math.sqrt(3))
    room = 0.716e-3 - 0.4 / 7950.0
    u_mass = math.hypot(0.002, 0.002) / 0.30
    specific = mix.uncertainty("specific volume") / mix.value("specific volume")
    solid = math.sqrt(u_mass**2 + 0.01**2 + specific**2)
    by_hand = (1 - (film.porosity.value or 0)) * math.hypot(u_t / room, solid)
    assert film.porosity.standard_uncertainty == pytest.approx(by_hand, rel=1e-9)


def test_mesh_from_its_weighed_piece(mix: Composition, scale: Scale) -> None:
    """No card, but the bare mesh was weighed: the same answer."""
    with_card = film_of(T6, mix, scale, mesh=MESH, mesh_density=STEEL)
    without = film_of(T6, mix, scale, mesh_density=STEEL)
    assert without.porosity.value == pytest.approx(with_card.porosity.value)


@pytest.mark.parametrize(
    ("layers", "milligrams"),
    [
        ((Layer(dry_mass=Entry(value=0.30 * GRAM)),), 30.0),
        ((Layer(coats=(Coat(dry_mass=0.1 * GRAM), Coat(dry_mass=0.15 * GRAM))),), 25.0),
    ],
)
def test_film_mass_from_layers_or_coats(
    mix: Composition, scale: Scale, layers: tuple[Layer, ...], milligrams: float
) -> None:
    """Where the piece was not weighed as a whole, layers or coats tell the film."""
    piece = replace(T6, mass=None, layers=layers)
    film = film_of(piece, mix, scale, mesh=MESH, mesh_density=STEEL)
    assert film.loading_mg_cm2.value == pytest.approx(milligrams)
    assert (film.loading_mg_cm2.standard_uncertainty or 0) > 0


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ({"mass": None}, "mass of the dry coat"),
        ({"wetted_area": None}, "wetted area"),
        ({"thickness": ()}, "five places"),
        ({"thickness": (0.02e-3,)}, "do not fit"),
        ({"thickness": (0.12e-3,)}, "do not fit"),
        ({"thickness": (50e-3,)}, "do not fit"),
        ({"mesh_mass": Entry(value=0.9 * GRAM)}, "mass of the dry coat"),
    ],
)
def test_what_is_missing_is_said(
    mix: Composition, scale: Scale, change: dict[str, object], match: str
) -> None:
    """No number without what it needs, and no number that no film has."""
    piece = replace(T6, **change)  # type: ignore[arg-type]
    film = film_of(piece, mix, scale, mesh=MESH, mesh_density=STEEL)
    assert film.porosity.value is None
    assert match in (film.porosity.reason or "")


def test_mesh_of_unknown_metal(mix: Composition, scale: Scale) -> None:
    """Without the metal's density the mesh's volume cannot be taken off."""
    film = film_of(T6, mix, scale, mesh=MESH)
    assert film.porosity.value is None
    assert "weigh a bare piece" in (film.porosity.reason or "")


def test_film_without_a_mesh(mix: Composition, scale: Scale) -> None:
    """A free film needs no metal."""
    layer = Layer(dry_mass=Entry(value=0.30 * GRAM, standard_uncertainty=0.003 * GRAM))
    piece = replace(T6, mesh="", mesh_mass=None, mass=None, layers=(layer,))
    film = film_of(piece, mix, scale)
    solid = 0.3 * (0.8 / 1650.0 + 0.2 / 960.0)
    assert film.porosity.value == pytest.approx(1 - solid / 0.716e-3, rel=1e-9)


def test_mix_without_densities(shelf: Shelf, scale: Scale) -> None:
    """The loading stands, the porosity names the substances."""
    bare = replace(shelf, densities={})
    mix = compose((Portion(of="biochar A", mass=Entry(value=GRAM)),), bare, scale)
    film = film_of(T6, mix, scale, mesh=MESH, mesh_density=STEEL)
    assert film.loading_mg_cm2.value == pytest.approx(30.0)
    assert "biochar" in (film.porosity.reason or "")


@pytest.mark.parametrize(
    ("mesh", "said"), [(0.70, "not above that of its mesh"), (0.90, "less than its own bare mesh (0.9 g)")]
)  # fmt: skip
def test_two_weights_that_leave_no_film_are_not_called_unmeasured(
    mix: Composition, scale: Scale, mesh: float, said: str
) -> None:
    """Both weights stand: the reason names them, and not a film mass that nobody took."""
    film = film_of(replace(T6, mesh_mass=Entry(value=mesh * GRAM)), mix, scale)

    assert film.loading_mg_cm2.value is None
    assert said in (film.loading_mg_cm2.reason or "")


def test_weights_that_cannot_all_be_true_give_no_loading(mix: Composition, scale: Scale) -> None:
    """0.76 g of piece on a mesh of 5.1 g, or 0.61 g dry of 0.60 g wet: neither measured nor reckoned."""
    wet = (Layer(coats=(Coat(wet_mass=0.60 * GRAM),)),)
    for mesh, said in (
        (5.1, "less than its own bare mesh (5.1 g)"),
        (0.15, "only 0.6 g was put on wet"),
    ):
        bare = replace(
            T6, layers=wet, mesh_mass=Entry(value=mesh * GRAM), mass=Entry(value=0.76 * GRAM)
        )
        weighed = (
            replace(bare, mass=None, weighings=(Weighing(mass=0.76 * GRAM),))
            if mesh > 1.0
            else bare
        )
        film = film_of(weighed, mix, scale, mesh=MESH, mesh_density=STEEL)
        assert film.loading_mg_cm2.value is None
        assert said in (film.loading_mg_cm2.reason or "")
        assert film.porosity.value is None
    fine = replace(
        T6, layers=wet, mesh_mass=Entry(value=0.51 * GRAM), mass=Entry(value=0.76 * GRAM)
    )
    assert film_of(fine, mix, scale).loading_mg_cm2.value is not None
