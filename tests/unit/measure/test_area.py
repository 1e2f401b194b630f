"""The wetted area and the uncertainty that belongs to the way it was found."""

from __future__ import annotations

import pytest

from aerode.errors import RangeError, UnitError
from aerode.measure.area import area_from_entry, area_from_text
from aerode.records.marks import Entry


def test_a_typed_uncertainty_is_kept() -> None:
    """No assumption is made where ± stands."""
    area = area_from_text("9.54 cm^2 +- 1.2 %")
    assert area.value == pytest.approx(9.54e-4)
    assert area.relative_uncertainty == pytest.approx(0.012)
    assert area.assumed == ""


@pytest.mark.parametrize(
    ("how", "relative"),
    [("photo with marker sheet", 0.012), ("calipers", 0.02), ("ruler", 0.04), ("", 0.04)],
)
def test_the_way_decides_the_uncertainty(how: str, relative: float) -> None:
    """Where none is given, that of the way is assumed and said."""
    area = area_from_entry(Entry(value=4e-4, how=how))
    assert area.relative_uncertainty == pytest.approx(relative)
    assert area.assumed.startswith("area: no uncertainty given")


def test_photos_share_the_scale_of_their_print() -> None:
    """Part of the error of a photo is common to all photos, that of a ruler is not."""
    assert area_from_entry(Entry(value=4e-4, how="photo")).shared_relative_uncertainty > 0
    assert area_from_entry(Entry(value=4e-4, how="ruler")).shared_relative_uncertainty == 0


@pytest.mark.parametrize("text", ["0 cm^2", "3 m^2"])
def test_an_area_that_cannot_be_is_refused(text: str) -> None:
    """Nothing, and a door."""
    with pytest.raises(RangeError):
        area_from_text(text)


def test_a_length_is_no_area() -> None:
    """The unit must be one of an area."""
    with pytest.raises(UnitError):
        area_from_text("4 cm")
