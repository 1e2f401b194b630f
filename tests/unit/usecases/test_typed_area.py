"""A wetted area as it is typed: square centimetres, or the sides of a rectangle."""

from __future__ import annotations

import pytest

from aerode.errors import UnitError
from aerode.records.electrodes import Electrode
from aerode.records.materials import Solution
from aerode.usecases.bench_fields import plain_record
from aerode.usecases.typed_area import area_entry


@pytest.mark.parametrize(
    ("typed", "square_metres", "how"),
    [
        ("30 x 32 mm (ruler)", 30e-3 * 32e-3, "ruler"),
        ("3 cm x 3 cm", 9e-4, ""),
        ("3 × 3 cm", 9e-4, ""),
        ("1 in by 2 cm", 2.54e-2 * 2e-2, ""),  # an inch is 25.4 mm by definition
        ("9.5 cm^2 (photo)", 9.5e-4, "photo"),
    ],
)
def test_a_rectangle_is_multiplied_out(typed: str, square_metres: float, how: str) -> None:
    """Length times width, in the unit that stands there; what was typed is kept."""
    found = area_entry(typed)

    assert found.value == pytest.approx(square_metres)
    assert found.how == how
    assert found.text == typed.split(" (")[0]


@pytest.mark.parametrize("typed", ["3 x 3", "9", "3 x 3 g"])
def test_sides_without_a_unit_of_length_are_refused(typed: str) -> None:
    """Nothing is guessed: 3 x 3 may be centimetres or inches."""
    with pytest.raises(UnitError):
        area_entry(typed)


def test_the_form_of_an_electrode_takes_the_sides_too() -> None:
    """The same words do in every form that asks for a wetted area."""
    plain, faults = plain_record(Electrode, {"name": "T6", "wetted_area": "30 x 32 mm (ruler)"})

    assert faults == []
    assert plain["wetted_area"]["value"] == pytest.approx(9.6e-4)
    assert plain["wetted_area"]["text"] == "30 x 32 mm"


def test_one_liquid_alone_is_all_of_it() -> None:
    """A solvent without a share is the whole liquid; two of them need their shares."""
    plain, faults = plain_record(Solution, {"name": "jar", "polymer": "PVB", "liquid": "ethanol"})
    _, missing = plain_record(Solution, {"name": "jar", "liquid": "ethanol; water"})

    assert (plain["liquid"], faults) == ([{"of": "ethanol", "fraction": 1.0}], [])
    assert len(missing) == 2
