"""Several resistors from one line."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from aerode.errors import AerodeError, InputError, RecordError, UnitError
from aerode.records.instruments import Instrument
from aerode.store.bench_file import BenchFile
from aerode.usecases.resistors_entered import enter_resistors, resistors_from_text

if TYPE_CHECKING:
    from pathlib import Path


@pytest.mark.parametrize(
    ("typed", "ohms"),
    [
        ("100, 47, 33, 22 ohm", [100, 47, 33, 22]),
        ("100,47,33", [100, 47, 33]),
        ("100 4,7", [100, 4.7]),
        ("1 kohm; 470 ohm", [1000, 470]),
        ("1k, 4k7 10R", [1000, 4700, 10]),  # the letter code of IEC 60062
        ("100 ohm and 47 ohm", [100, 47]),
        ("22", [22]),
        ("100/47 22k 10 ohms", [100, 47, 22000, 10]),
        ("100 / 47/22", [100, 47, 22]),
    ],
)
def test_a_line_as_people_write_it(typed: str, ohms: list[float]) -> None:
    """Commas, blanks, units behind all or the last, the code printed on parts."""
    found = resistors_from_text(typed)

    assert [one.nominal_resistance for one in found] == pytest.approx(ohms)


@pytest.mark.parametrize("typed", ["100,47", "-5 ohm", "0", "100 V", "1 " * 50])
def test_what_may_mean_two_things_is_asked_back(typed: str) -> None:
    """100,47 may be one resistor or two; a resistance is above zero; a volt is no ohm."""
    with pytest.raises(AerodeError):
        resistors_from_text(typed)


def test_one_tolerance_goes_with_all_of_them(tmp_path: Path) -> None:
    """A bare 5 under "in %" is five per cent; what stands there already is not stored again."""
    with BenchFile.create(tmp_path / "shed.aerode", title="shed") as bench:
        first = enter_resistors(bench, "100, 47", tolerance="5", power_rating="0,25")
        again = enter_resistors(bench, "47, 22", tolerance="1 %")
        stored = {one.name: one for one in bench.all(Instrument)}

    assert (first.made, again.made, again.known) == (
        ("100 ohm", "47 ohm"),
        ("22 ohm",),
        ("47 ohm",),
    )
    assert [stored[name].tolerance for name in ("100 ohm", "47 ohm", "22 ohm")] == [
        0.05,
        0.05,
        0.01,
    ]
    assert stored["47 ohm"].power_rating == 0.25


def test_all_faults_are_told_and_nothing_is_stored(tmp_path: Path) -> None:
    """Each field says what is wrong with it."""
    with BenchFile.create(tmp_path / "shed.aerode", title="shed") as bench:
        with pytest.raises(RecordError) as told:
            enter_resistors(bench, " ", tolerance="gold", power_rating="3 V")
        assert bench.count(Instrument) == 0

    assert {one.field for one in told.value.faults} == {"values", "tolerance", "power_rating"}


def test_a_unit_holds_for_the_bare_values_before_it() -> None:
    """1 kohm at the end does not make thousands of what stands before an ohm; after it nothing is guessed."""
    mixed = resistors_from_text("100, 47; 4,7 ohm 1 kohm")
    assert [one.nominal_resistance for one in mixed] == [100.0, 47.0, 4.7, 1000.0]
    with pytest.raises(InputError, match="no unit of its own"):
        resistors_from_text("1 kohm, 470")


def test_the_entry_that_cannot_be_read_is_named() -> None:
    """A letter for a nought in the third of five; alone in its line it needs no number."""
    with pytest.raises(UnitError) as told:
        resistors_from_text("100, 47, 1o, 22, 33")
    assert told.value.what.startswith("'1o', number 3 of 5: the unit 'o' cannot be taken as ohm")
    with pytest.raises(UnitError) as told:
        resistors_from_text("1o")
    assert told.value.what.startswith("the unit 'o'")
