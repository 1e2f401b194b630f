"""Looking figures up: names, order of preference, refusals, lazy reading."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

import aerode
from aerode import reference, units
from aerode.errors import ReferenceDataError
from aerode.reference.rows import KNOWN_UNITS, HowRead, Status


def test_importing_reads_no_table() -> None:
    """Importing the room opens none of its data files."""
    code = (
        "import aerode.reference as r; from aerode.reference import loader;"
        "print(loader.read_text.cache_info().currsize, loader.load_table.cache_info().currsize)"
    )
    said = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    ).stdout

    assert said.strip() == "0 0"


@pytest.mark.parametrize("unit", sorted(set(KNOWN_UNITS) - {"mppcf"}))
def test_every_unit_of_a_table_is_known_to_the_units_room(unit: str) -> None:
    """Each unit converts to the SI unit that stands beside it."""
    target = KNOWN_UNITS[unit]

    assert units.same_kind("" if unit == "1" else unit, "" if target == "1" else target)


def test_every_source_of_the_bibliography_is_used() -> None:
    """Each entry of the bibliography backs a row, or is named by an equation in the source."""
    used = {row.source for row in reference.all_rows()}
    used |= {use.source for use in reference.bench_uses()}
    used |= {notice.source for notice in reference.wetted_metals()}
    package = Path(aerode.__file__).parent
    text = " ".join(path.read_text(encoding="utf-8") for path in package.rglob("*.py"))

    assert set() == {key for key in set(reference.bibliography()) - used if key not in text}


def test_every_quantity_word_is_used() -> None:
    """The vocabulary holds no word without a row."""
    assert set() == set(reference.quantity_words()) - {r.quantity for r in reference.all_rows()}


def test_every_row_says_where_it_comes_from() -> None:
    """Each row has a source in the bibliography and a status that fits how it was read."""
    for row in reference.all_rows():
        assert row.source in reference.bibliography()
        if row.how in (HowRead.MEMORY, HowRead.PRACTICE):
            assert Status.UNVERIFIED is row.status


def test_verified_comes_before_unverified() -> None:
    """The stated order of preference holds for every substance and quantity."""
    for substance in reference.substances():
        for quantity in reference.quantities_of(substance):
            order = [row.preference for row in reference.select(substance, quantity)]

            assert sorted(order) == order


def test_a_named_source_is_obeyed() -> None:
    """Naming the source gives that source's row, also where it is not the preferred one."""
    row = reference.published("toluene", "lower_flammable_limit", source="iec_60079_20_1")

    assert (row.value, row.source) == (1.0, "iec_60079_20_1")


def test_an_unknown_source_lists_the_known_ones() -> None:
    """Asking a source that does not know it is refused with those that do."""
    with pytest.raises(ReferenceDataError, match="nfpa_497"):
        reference.published("toluene", "flash_point", source="callister")


@pytest.mark.parametrize(
    ("name", "quantity", "said"),
    [
        ("tolulene", "flash_point", "toluene"),
        ("toluene", "flash_ponit", "flash_point"),
        ("toluene", "melting_temperature", "quantities on file"),
    ],
)
def test_what_is_not_on_file_is_refused_with_the_nearest(
    name: str, quantity: str, said: str
) -> None:
    """A slip in a name is answered with the nearest names on file."""
    with pytest.raises(ReferenceDataError, match=said):
        reference.published(name, quantity)


def test_an_unknown_source_key_is_refused() -> None:
    """A key that is not in the bibliography is refused."""
    with pytest.raises(ReferenceDataError, match="no source"):
        reference.source("nobody_1900")


def test_names_aliases_and_cas_numbers_meet() -> None:
    """Name, alias, capitals, spaces and CAS number give the same substance."""
    names = ("2-propanol", "Isopropyl  Alcohol", "ipa", "67-63-0", "propan-2-ol")

    assert {"2-propanol"} == {reference.resolve(name) for name in names}


def test_a_range_is_taken_as_rectangular() -> None:
    """A low-to-high row gives (high - low)/sqrt(12), GUM 4.3.7."""
    row = reference.published("872-50-4", "flash_point", source="inrs_ft213")

    assert row.centre == 88.5
    assert pytest.approx(5.0 / 12.0**0.5) == row.standard_uncertainty()
