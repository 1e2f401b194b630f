"""The one look-up: what it answers, what it warns of, what it refuses."""

from __future__ import annotations

import pytest

from aerode import properties
from aerode.errors import CannotTellError, RangeError, ReferenceDataError
from aerode.properties import lookup
from aerode.quantities import Basis
from aerode.reference import KNOWN_UNITS, Status, all_rows, quantities_of, substances


def test_an_answer_carries_source_range_and_status() -> None:
    """Density of brine: value, unit, uncertainty, source, range, status, basis."""
    found = lookup("NaCl", "density", temperature=293.15, mass_fraction=0.1)

    assert found.quantity.unit == "kg/m^3"
    assert found.quantity.source == "laliberte_2009"
    assert found.quantity.basis is Basis.PUBLISHED
    assert found.quantity.standard_uncertainty is not None
    assert {span.variable for span in found.valid_range} == {"temperature", "mass_fraction"}
    assert found.status is Status.VERIFIED
    assert found.warnings == ()


def test_outside_the_range_it_warns_and_does_not_clip() -> None:
    """At 60 degC the NaCl fit is extended: the value moves on, and the warning names the range."""
    at_40 = lookup("NaCl", "conductivity", temperature=313.15, mass_fraction=0.1)
    at_60 = lookup("NaCl", "conductivity", temperature=333.15, mass_fraction=0.1)

    assert at_40.warnings == ()
    assert at_60.value > at_40.value
    assert any("313.15" in said for said in at_60.warnings)


def test_nothing_on_file_is_no_number_and_never_zero() -> None:
    """A missing figure gives None with a reason; asking it for a number is refused."""
    found = lookup("beeswax", "flash_point")

    assert found.quantity.value is None
    assert found.quantity.reason
    with pytest.raises(CannotTellError, match="no number"):
        _ = found.value


def test_a_bound_is_told_as_a_bound() -> None:
    """The dust cloud figure is "at least 50 g/m^3": no middle is invented."""
    found = lookup("carbon black", "minimum_explosible_concentration")

    assert found.quantity.value is None
    assert "at least 50" in (found.quantity.reason or "")


def test_a_range_gives_its_middle_and_the_range() -> None:
    """85 % of a range is not 95 %: the interval is the range itself, the uncertainty rectangular."""
    found = lookup("PVDF", "density")

    assert found.value == pytest.approx(1765.0)
    assert found.quantity.interval_95 == pytest.approx((1750.0, 1780.0))
    assert found.quantity.standard_uncertainty == pytest.approx(30.0 / 12.0**0.5)


def test_a_figure_from_memory_says_so() -> None:
    """An unverified figure carries its mark and a warning."""
    found = lookup("biochar", "density")

    assert found.status is Status.UNVERIFIED
    assert any("from memory" in said for said in found.warnings)


def test_a_named_source_and_condition_are_obeyed() -> None:
    """IEC's flash point of ethanol, not NFPA's."""
    by_source = lookup("ethanol", "flash_point", source="iec_60079_20_1")
    by_condition = lookup("ethanol", "flash_point", conditions={"compilation": "IEC"})

    assert by_source.value == pytest.approx(285.15)
    assert by_condition.quantity == by_source.quantity


def test_a_row_at_another_temperature_says_so() -> None:
    """The density of NMP stands at 25 degC; asked at 60 degC it is given with a warning."""
    found = lookup("NMP", "density", temperature=333.15)

    assert found.value == pytest.approx(1023.0)
    assert any("stands at 298.15 K" in said for said in found.warnings)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: lookup("phlogiston", "density"), "no substance"),
        (lambda: lookup("toluene", "weight"), "no quantity"),
        (lambda: lookup("toluene", "flash_point", source="perry_8"), "holds no tabulated"),
        (lambda: lookup("NaCl", "flash_point", temperature=298.15, mass_fraction=0.1), "not on file for solutions"),
    ],
)  # fmt: skip
def test_unknown_words_are_refused(call: object, said: str) -> None:
    """Substance, quantity, source: each refusal lists what is known."""
    assert callable(call)
    with pytest.raises(ReferenceDataError, match=said):
        call()


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: lookup("NaCl", "density", mass_fraction=0.1), "needs a temperature"),
        (lambda: lookup("NaCl", "density", temperature=298.15, strength=0.1), "no strength"),
        (lambda: lookup("NaCl", "density", temperature=298.15, mass_fraction=0.1, molality=1.0), "2 strengths"),
        (lambda: lookup("NaCl", "density", temperature=298.15, mass_fraction=3.5), "mass fraction of 3.5"),
        (lambda: lookup("NaCl", "density", temperature=298.15, practical_salinity=35.0), "for sea water"),
        (lambda: lookup("sea water", "density", temperature=298.15, molality=1.0), "says nothing about sea water"),
        (lambda: lookup("toluene", "density", temperature=900.0), "critical"),
    ],
)  # fmt: skip
def test_states_that_cannot_be_are_refused(call: object, said: str) -> None:
    """Each impossible state is refused with what is allowed."""
    assert callable(call)
    with pytest.raises(RangeError, match=said):
        call()


def test_every_table_row_can_be_looked_up() -> None:
    """No substance and quantity on file falls through: a number, or a reason; and the unit is SI."""
    si = {"" if unit == "1" else unit for unit in KNOWN_UNITS.values()}
    for name in substances():
        for quantity in quantities_of(name):
            found = lookup(name, quantity, temperature=298.15)

            assert found.quantity.unit in si
            assert (found.quantity.value is None) == bool(found.quantity.reason)


def test_sources_and_properties_are_listed() -> None:
    """Which sources know, and what can be asked."""
    assert properties.sources_for("ethanol", "flash_point") == ("nfpa_497", "iec_60079_20_1")
    assert {"density", "oxygen_solubility"} <= set(properties.properties_of("KOH"))
    assert "oxygen_solubility" not in properties.properties_of("toluene")


def test_an_answer_never_hides_the_status_of_its_rows() -> None:
    """Verified rows alone make a verified table answer."""
    checked = 0
    for row in all_rows():
        if row.value is not None and row.status is Status.UNVERIFIED:
            found = lookup(row.substance, row.quantity, source=row.source)

            assert found.status is not Status.VERIFIED or found.condition != row.condition
            checked += 1

    assert checked > 30
