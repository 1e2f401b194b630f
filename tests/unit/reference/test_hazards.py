"""Hazard rows as the cautions see them."""

from __future__ import annotations

import pytest

from aerode import reference
from aerode.errors import ReferenceDataError
from aerode.reference.rows import Status


def test_limits_keep_the_unit_of_their_body() -> None:
    """Solvents stand in ppm, dusts in mg/m^3, natural graphite partly in particle counts."""
    assert {"ppm"} == {x.unit for x in reference.exposure_limits("toluene")}
    assert {"mg/m^3"} == {x.unit for x in reference.exposure_limits("carbon black")}
    assert "mppcf" in {x.unit for x in reference.exposure_limits("graphite")}


def test_a_body_that_sets_no_limit_is_told_apart_from_silence() -> None:
    """Limonene has rows that say "none"; a substance without rows gives nothing."""
    none_set = reference.exposure_limits("limonene", body="OSHA PEL")

    assert [x.value for x in none_set] == [None]
    assert "no OSHA limit" in none_set[0].note
    assert reference.exposure_limits("beeswax") == ()


def test_skin_and_edition_travel_with_a_limit() -> None:
    """The skin notation and the edition stay with the figure."""
    limit = reference.exposure_limits("acrylonitrile", body="OSHA PEL", kind="TWA")[0]

    assert limit.skin
    assert (limit.value, limit.status) == (2.0, Status.VERIFIED)
    assert reference.exposure_limits("toluene", body="EU IOELV")[0].edition.startswith("2021")


@pytest.mark.parametrize(
    ("name", "lower", "upper", "flash", "autoignition"),
    [
        ("toluene", 1.0, 7.8, 4.0, 480.0),
        ("ethanol", 3.1, 19.0, 12.0, 363.0),
        ("2-butanone", 1.4, 13.4, -10.0, 404.0),
        ("limonene", 0.7, 6.1, 43.0, 237.0),
        ("hydrogen", 4.0, 77.0, None, 500.0),
    ],
)
def test_fire_figures_take_the_cautious_end(
    name: str, lower: float, upper: float, flash: float | None, autoignition: float
) -> None:
    """Of NFPA 497 and IEC 60079-20-1: the lower LFL, the wider UFL, the lower temperatures."""
    found = reference.fire_figures(name)

    assert found.lower_flammable_limit is not None
    assert found.upper_flammable_limit is not None
    assert found.autoignition_temperature is not None
    assert (lower, upper) == (
        found.lower_flammable_limit.value,
        found.upper_flammable_limit.value,
    )
    assert autoignition == found.autoignition_temperature.value
    assert flash == (None if found.flash_point is None else found.flash_point.value)


def test_fire_figures_of_something_without_any_are_empty() -> None:
    """Nothing on file gives None, which is never a pass."""
    found = reference.fire_figures("magnetite")

    assert found.lower_flammable_limit is None
    assert found.rows == ()


def test_heat_gates_stop_above_they_warn() -> None:
    """Each polymer with both gates warns before it stops, and softens below that."""
    for name in ("polystyrene", "ABS", "PTFE", "PVDF"):
        gates = reference.heat_gates(name)

        assert gates.warn is not None
        assert gates.stop is not None
        assert gates.warn.value is not None
        assert gates.stop.value is not None
        assert gates.warn.value < gates.stop.value


def test_a_polymer_without_a_figure_falls_to_the_house_rule() -> None:
    """No stop on file: the rule for unlisted polymers stands ready."""
    assert reference.heat_gates("epoxy").stop is None
    assert (
        reference.hazard_rule(
            "heat_stop_temperature", "polymer or wax without a figure on file"
        ).value
        == 120.0
    )


def test_an_unknown_rule_lists_the_known_ones() -> None:
    """A condition that is not on file is refused with those that are."""
    with pytest.raises(ReferenceDataError, match="safety factor"):
        reference.hazard_rule("ventilation_figure", "luck")


def test_the_end_of_a_row_without_a_number_is_refused() -> None:
    """A remark has no end to take."""
    with pytest.raises(ReferenceDataError, match="no number"):
        reference.figure_end(reference.hazard_remarks("limonene")[0], lowest=True)
