"""What people type into a field, and the plain value that becomes of it."""

from __future__ import annotations

from typing import Any

import pytest

from aerode.records.electrodes import Electrode
from aerode.records.places import Claim, Room
from aerode.records.runs import Run
from aerode.usecases.bench_fields import Typing, plain_record
from aerode.usecases.bench_headings import field_of_heading


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("9.54 cm^2", {"value": 9.54e-4, "text": "9.54 cm^2"}),
        ("9,54 cm²", {"value": 9.54e-4, "text": "9,54 cm²"}),
        ("9.54 ± 0.11 cm^2", {"value": 9.54e-4, "standard_uncertainty": 1.1e-5, "text": "9.54 ± 0.11 cm^2"}),
        ("9.54 cm^2 +- 1 % (photo)",
         {"value": 9.54e-4, "standard_uncertainty": 9.54e-6, "text": "9.54 cm^2 +- 1 %", "how": "photo"}),
        (Typing("9.54 ± 0.11", "cm^2"),
         {"value": 9.54e-4, "standard_uncertainty": 1.1e-5, "text": "9.54 cm^2 ± 0.11"}),
        (Typing("9.54 ± 1 % (ruler)", "cm2"),
         {"value": 9.54e-4, "standard_uncertainty": 9.54e-6, "text": "9.54 cm2 ± 1 %", "how": "ruler"}),
        (Typing("954 mm^2", "cm^2"), {"value": 9.54e-4, "text": "954 mm^2"}),
        ("9.54 cm^2 (published: the maker's sheet)",
         {"value": 9.54e-4, "text": "9.54 cm^2", "published": "the maker's sheet"}),
        ({"value": "9.54 cm^2", "how": "photo"}, {"value": 9.54e-4, "how": "photo"}),
    ],
)  # fmt: skip
def test_entries(typed: Any, expected: dict[str, Any]) -> None:
    """A number with its unit, its spread and the way it was found."""
    plain, faults = plain_record(Electrode, {"name": "T6", "wetted_area": typed})

    assert faults == []
    assert plain["wetted_area"] == {
        key: pytest.approx(value) if isinstance(value, float) else value
        for key, value in expected.items()
    }


@pytest.mark.parametrize(
    "typed",
    ["9.54", "9.54 ± 1 %", "9.54 ± 1 % (photo)", "9.54 V", "nine", 9.54, "9.54 cm^2 ± -1 %"],
)
def test_entries_that_are_refused(typed: Any) -> None:
    """No unit, another kind of unit, no number, a spread below zero: never taken in SI by silence."""
    _, faults = plain_record(Electrode, {"name": "T6", "wetted_area": typed})

    assert [path for path, _ in faults] == [("wetted_area",)]
    assert faults[0][1].allowed


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("same", {"known": "same for all, not measured"}),
        ("Same for all, not measured", {"known": "same for all, not measured"}),
        ("may differ", {"known": "may differ"}),
        ("?", {"known": "may differ"}),
        ("measured 50 °F", {"known": "measured", "value": 283.15, "text": "50 °F"}),
        ("10 C (phone)", {"known": "measured", "value": 283.15, "text": "10 C", "how": "phone"}),
        ("10 ± 1 °C", {"known": "measured", "value": 283.15, "standard_uncertainty": 1.0, "text": "10 ± 1 °C"}),
    ],
)  # fmt: skip
def test_conditions(typed: str, expected: dict[str, Any]) -> None:
    """Measured, the same for all, or free to differ."""
    plain, faults = plain_record(Run, {"name": "r", "temperature": typed})

    assert faults == []
    assert plain["temperature"] == {
        key: pytest.approx(value) if isinstance(value, float) else value
        for key, value in expected.items()
    }


def test_an_empty_condition_is_not_given() -> None:
    """Nothing typed is nothing said."""
    plain, faults = plain_record(Run, {"name": "r", "temperature": Typing("", "K")})
    assert (plain, faults) == ({"name": "r"}, [])


@pytest.mark.parametrize(("typed", "expected"), [("55 %", 0.55), ("0.55", 0.55), (0.55, 0.55)])
def test_shares(typed: Any, expected: float) -> None:
    """Per cent or a fraction."""
    plain, faults = plain_record(Room, {"name": "shed", "humidity": typed})
    assert faults == []
    assert plain["humidity"]["value"] == pytest.approx(expected)


@pytest.mark.parametrize("typed", ["55", "-3 %", 55])
def test_shares_that_are_more_than_all(typed: Any) -> None:
    """55 is never 5500 %, and never silently 55 %."""
    _, faults = plain_record(Room, {"name": "shed", "humidity": typed})
    assert len(faults) == 1
    assert "0 to 100 %" in faults[0][1].allowed


@pytest.mark.parametrize(
    ("typed", "expected"),
    [("10 %", "10 %"), ("10,5%", "10.5 %"), ("0,1", 0.1), (10, 10.0), ("85 °C", "85 °C"), ("with wax", "with wax"), ("85 degrees", "85 degrees")],
)  # fmt: skip
def test_factors(typed: Any, expected: float | str) -> None:
    """A plain number is a number, a share stays in per cent, all else is a word."""
    plain, _ = plain_record(Electrode, {"name": "T6", "factors": {"plate": typed}})
    assert plain["factors"]["plate"] == expected


@pytest.mark.parametrize(
    ("response", "typed", "expected"),
    [("current density at a cell voltage", "450 mV", 0.45), ("voltage at a current density", "2 mA/cm^2", 20.0)],
)  # fmt: skip
def test_the_unit_of_a_claim_follows_its_response(
    response: str, typed: str, expected: float
) -> None:
    """The same field is a voltage or a current density."""
    values = {"name": "c", "question": "is less better", "response": response, "at": typed}
    plain, faults = plain_record(Claim, values)
    assert faults == []
    assert plain["at"] == pytest.approx(expected)


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("0.62; 0.66; 0.81 mm", [0.62e-3, 0.66e-3, 0.81e-3]),
        (Typing("0,62; 0,66", "mm"), [0.62e-3, 0.66e-3]),
        (["0.62 mm", "66 um"], [0.62e-3, 66e-6]),
    ],
)
def test_lists(typed: Any, expected: list[float]) -> None:
    """Semicolons in a cell, an array in TOML; a unit behind the last one holds for all."""
    plain, faults = plain_record(Electrode, {"name": "T6", "thickness": typed})
    assert faults == []
    assert plain["thickness"] == pytest.approx(expected)


@pytest.mark.parametrize(
    ("heading", "expected"),
    [
        ("name", (("name",), "")),
        ("Wetted Area [cm²]", (("wetted_area",), "cm²")),
        ("wetted_area_cm2", (("wetted_area",), "cm2")),
        ("mesh_mass (g)", (("mesh_mass",), "g")),
        ("mesh mass", (("mesh_mass",), "")),
        ("press.2.plate_temperature_degC", (("press", 1, "plate_temperature"), "degC")),
        ("layers.coats.dry_mass (mg)", (("layers", 0, "coats", 0, "dry_mass"), "mg")),
        ("factors.Binder share", (("factors", "Binder share"), "")),
        ("factors.plate (°C)", (("factors", "plate (°C)"), "")),
        ("tab.resistance_mohm", (("tab", "resistance"), "mohm")),
        ("colour", None),
        ("press", (("press",), "")),
        ("press.2", None),
        ("name.first", None),
        ("wetted_area_cm2 (mm²)", None),
    ],
)
def test_headings(heading: str, expected: object) -> None:
    """A field, nested fields by dots, the unit in brackets or behind an underscore."""
    assert field_of_heading(Electrode, heading) == expected
