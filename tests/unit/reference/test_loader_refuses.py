"""The loader refuses what does not say where it comes from, and names file and line."""

from __future__ import annotations

import pytest

from aerode.errors import ReferenceDataError
from aerode.reference.loader import COLUMNS, parse_bibliography, parse_table, read_text
from aerode.reference.rows import PublishedRow, Source
from aerode.reference.substances import parse_substances

SOURCES = {
    "book": Source(
        key="book", authors="A", year="1", title="T", published_in="", doi="", kind="book"
    ),
    "memory": Source(
        key="memory", authors="", year="", title="T", published_in="", doi="", kind="memory"
    ),
    "page": Source(
        key="page", authors="", year="", title="T", published_in="", doi="", kind="web page"
    ),
}
QUANTITIES = {"density": {"unit": ["kg/m^3"]}, "flash_point": {"unit": ["K"]}}
HEAD = "# a remark\n" + ",".join(COLUMNS) + "\n"
GOOD = {
    "substance": "water", "quantity": "density", "condition": "25 degC", "value": "0.997", "low": "", "high": "",
    "coefficients": "", "unit": "g/cm^3", "uncertainty": "", "uncertainty_kind": "none stated", "source": "book",
    "place": "p. 1", "valid_range": "temperature=273.15..373.15 K", "how": "read", "note": "",
}  # fmt: skip


def line(**changes: str) -> str:
    """One CSV row, the good one with changes."""
    return ",".join((GOOD | changes)[column] for column in COLUMNS)


def parsed(text: str) -> tuple[PublishedRow, ...]:
    """The text as the table `try`."""
    return parse_table(text, "try", sources=SOURCES, substances={"water"}, quantities=QUANTITIES)


def test_a_good_row_is_taken() -> None:
    """The good row carries its value, unit, range and status."""
    (row,) = parsed(HEAD + line())

    assert (row.value, row.unit, row.status.value) == (0.997, "g/cm^3", "verified")
    assert str(row.valid_range[0]) == "temperature 273.15 to 373.15 K"


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"source": ""}, "without a source"),
        ({"source": "nowhere"}, "unknown source"),
        ({"unit": "g/teaspoon"}, "unknown unit"),
        ({"unit": "K"}, "no unit of density"),
        ({"substance": "phlogiston"}, "unknown substance"),
        ({"quantity": "weight"}, "unknown quantity"),
        ({"valid_range": "temperature=373..273 K"}, "bad range"),
        ({"valid_range": "temperature 273 to 373"}, "bad range"),
        ({"valid_range": "temperature=273..373 X"}, "unknown unit"),
        ({"value": "lots"}, "not a finite number"),
        ({"value": "nan"}, "not a finite number"),
        ({"value": ""}, "no figure"),
        ({"coefficients": "a=1"}, "no figure, or two"),
        ({"value": "", "coefficients": "a=1 a=2"}, "stands twice"),
        ({"value": "", "coefficients": "a"}, "cannot be read"),
        ({"low": "2", "high": "1", "uncertainty_kind": "range"}, "low lies above high"),
        ({"low": "1", "high": "2", "uncertainty_kind": "range"}, "outside low to high"),
        ({"uncertainty": "-1", "uncertainty_kind": "standard"}, "negative uncertainty"),
        ({"uncertainty_kind": "standard"}, "do not go together"),
        ({"uncertainty_kind": "range"}, "without low or high"),
        ({"uncertainty_kind": "about"}, "unknown uncertainty_kind"),
        ({"uncertainty_kind": "absent"}, "absent figure"),
        ({"how": "heard"}, "unknown how"),
        ({"how": "derived"}, "does not say how"),
        ({"source": "memory"}, "cannot be read as"),
        ({"source": "page"}, "cannot be read as"),
    ],
)
def test_a_bad_row_is_refused_with_file_and_line(changes: dict[str, str], said: str) -> None:
    """Each fault is refused, and the refusal names the file and the line."""
    with pytest.raises(ReferenceDataError) as refusal:
        parsed(HEAD + line(condition="another") + "\n" + line(**changes))

    assert said in str(refusal.value)
    assert refusal.value.where == "try.csv, line 4"


def test_a_key_that_stands_twice_is_refused() -> None:
    """Substance, quantity, condition and source make the key of a row."""
    with pytest.raises(ReferenceDataError, match="the same key as line 3"):
        parsed(HEAD + line() + "\n" + line(value="0.998"))


@pytest.mark.parametrize("text", ["a,b\n1,2\n", HEAD + "water,density\n"])
def test_other_columns_or_a_short_row_are_refused(text: str) -> None:
    """A table with other columns, or a row with too few cells, is refused."""
    with pytest.raises(ReferenceDataError, match=r"columns are|cells"):
        parsed(text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[a]\ntitle = "T"\n', "other fields"),
        ("[a]\n[a]\n", "not readable"),
        (
            '[a]\nauthors=""\nyear=""\ntitle="T"\npublished_in=""\ndoi=""\nkind="rumour"\n',
            "unknown kind",
        ),
        ('[a]\nauthors=""\nyear=""\ntitle=""\npublished_in=""\ndoi=""\nkind="book"\n', "no title"),
    ],
)
def test_a_bad_bibliography_is_refused(text: str, said: str) -> None:
    """A source with missing fields, an unknown kind or no title is refused."""
    with pytest.raises(ReferenceDataError, match=said):
        parse_bibliography(text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('["a"]\nkind = "solvent"\ncas = ["872-50-5"]\n', "no CAS number"),
        ('["a"]\nkind = "thing"\n', "unknown kind"),
        ('["a"]\nkind = "solvent"\ncolour = "red"\n', "other fields"),
        ('["a"]\nkind = "solvent"\nmolar_mass = 0.09914\n', "molar mass"),
        ('["a"]\nkind = "solvent"\n["b"]\nkind = "solvent"\naliases = ["A"]\n', "already means"),
    ],
)
def test_a_bad_substance_is_refused(text: str, said: str) -> None:
    """A wrong check digit, kind, field, unit of molar mass or a shared name is refused."""
    with pytest.raises(ReferenceDataError, match=said):
        parse_substances(text)


def test_a_table_that_is_not_there_is_refused() -> None:
    """An unknown table lists the known ones."""
    with pytest.raises(ReferenceDataError, match="exposure_limits"):
        read_text("nothing.csv")
