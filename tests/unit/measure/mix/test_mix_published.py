"""Published densities for what nobody measured."""

from __future__ import annotations

import pytest

from aerode.measure.mix.assumed import with_some_uncertainty
from aerode.measure.mix.published import densities_on_file, density_on_file
from aerode.quantities import Basis, Quantity


def test_handbook_density_in_si() -> None:
    """Magnetite 5.17 g/cm³ (handbook of inorganic constants, as on file) comes as 5170 kg/m³."""
    found = density_on_file("magnetite")
    assert found is not None
    assert found.value == pytest.approx(5170.0, abs=60.0)
    assert found.basis is Basis.PUBLISHED
    assert found.source


def test_range_gives_middle_and_spread() -> None:
    """A published range is a rectangle around its middle."""
    found = density_on_file("activated carbon")
    assert found is not None
    assert found.value == pytest.approx(2100.0)
    assert found.standard_uncertainty == pytest.approx(200.0 / 12**0.5)


def test_figure_from_memory_says_so() -> None:
    """What no source was found for is marked."""
    found = density_on_file("biochar")
    assert found is not None
    assert "unverified" in found.source


def test_a_metal_is_found_as_its_mesh() -> None:
    """A mesh card that says stainless steel finds the metal of the mesh."""
    found = density_on_file("stainless steel")
    assert found is not None
    assert found.value == pytest.approx(7950.0, rel=0.01)


def test_unknown_names_are_left_out() -> None:
    """No figure is made up."""
    assert densities_on_file(["moon dust", "", "PVB"]).keys() == {"PVB"}


def test_a_figure_without_uncertainty_gets_one() -> None:
    """±2 % where a source states nothing; a stated one stays."""
    bare = Quantity(value=1000.0, unit="kg/m^3", basis=Basis.PUBLISHED)
    assert with_some_uncertainty(bare).standard_uncertainty == pytest.approx(20.0 / 3**0.5)
    own = Quantity(value=1000.0, unit="kg/m^3", standard_uncertainty=1.0)
    assert with_some_uncertainty(own) is own


@pytest.mark.parametrize(("liquid", "density"), [("ethanol", 789.3), ("water", 998.2)])
def test_liquids_near_room_temperature(liquid: str, density: float) -> None:
    """Handbook densities at 20 degC (as on file; water: 998.20 kg/m³), to half a per cent."""
    found = density_on_file(liquid)
    assert found is not None
    assert found.value == pytest.approx(density, rel=0.005)
