"""Tables written in any habit are read back as they were; no bytes at all lead to a traceback."""

from __future__ import annotations

import contextlib

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from aerode.devices.tables import read_rows, read_table
from aerode.errors import InputError

LOADS = st.floats(0.1, 1e6).map(lambda x: float(f"{x:.4g}"))
VOLTS = st.floats(0.004, 2.5).map(lambda x: float(f"{x:.4f}"))
UNITS = {"V": 1.0, "mV": 1000.0}
SHAPES = ["{0}_{1}", "{0} ({1})", "{0} [{1}]", "{0} in {1}", "{0}/{1}", "{0}, {1}"]


@settings(max_examples=150, deadline=None)
@given(
    rows=st.lists(st.tuples(LOADS, VOLTS), min_size=2, max_size=12),
    delimiter=st.sampled_from([";", "\t", "|", ","]),
    decimal=st.sampled_from([",", "."]),
    unit=st.sampled_from(sorted(UNITS)),
    shape=st.sampled_from(SHAPES),
    word=st.sampled_from(["voltage", "Spannung", "U", "Tension", "E"]),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"]),
    newline=st.sampled_from(["\n", "\r\n"]),
    preamble=st.sampled_from(["", "# cold day\n", "logger 4\n\n"]),
)
def test_any_habit(
    rows: list[tuple[float, float]],
    delimiter: str,
    decimal: str,
    unit: str,
    shape: str,
    word: str,
    encoding: str,
    newline: str,
    preamble: str,
) -> None:
    """Delimiter, decimal mark, unit, heading, encoding and line end in every combination."""

    def cell(text: str) -> str:
        return f'"{text}"' if delimiter in text else text

    def number(value: float, digits: int) -> str:
        return cell(f"{value:.{digits}f}".replace(".", decimal))

    headings = [cell(shape.format(w, u)) for w, u in (("R", "ohm"), (word, unit))]
    lines = [
        delimiter.join(headings),
        *(
            delimiter.join([number(r, 1), number(v * UNITS[unit], 4 if unit == "V" else 1)])
            for r, v in rows
        ),
    ]
    text = preamble + "".join(f"{line}\n" for line in lines)
    table = read_table(text.replace("\n", newline).encode(encoding), decimal=decimal).whole()

    assert table.column("resistance").values == pytest.approx([round(r, 1) for r, _ in rows])
    assert table.column("voltage").values == pytest.approx([v for _, v in rows], abs=6e-5)


@settings(max_examples=150, deadline=None)
@given(rows=st.lists(VOLTS, min_size=1, max_size=8), decimal=st.sampled_from([",", "."]))
def test_the_decimal_mark_is_found_or_asked_for(rows: list[float], decimal: str) -> None:
    """Never read as the other mark: the values are right, or the table is refused."""
    text = "R (ohm)\tU (mV)\n" + "".join(
        f"47\t{v * 1000:.3f}\n".replace(".", decimal) for v in rows
    )
    hint, table = "", None
    try:
        table = read_table(text)
    except InputError as refused:
        hint = refused.next_step
    if table is None:
        assert "decimal " in hint
        return
    assert table.column("voltage").values == pytest.approx([round(v, 6) for v in rows])


@settings(max_examples=200, deadline=None)
@given(st.one_of(st.binary(max_size=200), st.text(max_size=200)))
def test_anything_is_read_or_refused(source: bytes | str) -> None:
    """A file from someone else is a table or an `InputError`, and every number in it is finite."""
    with contextlib.suppress(InputError):
        table = read_table(source)
        for column in table.columns:
            assert len(column.values) == len(column.raw) == len(table.lines)
            assert all(v is None or abs(v) < float("inf") for v in column.values)
    with contextlib.suppress(InputError):
        rows = read_rows(source)
        assert all(row.number >= 1 for row in rows.rows)


@settings(max_examples=100, deadline=None)
@given(
    st.lists(st.sampled_from(list("RUIt;,\t|.0123456789 \n\"'#()[]/VmAΩ-+eE:")), max_size=80).map(
        "".join
    )
)
def test_near_tables_are_read_or_refused(text: str) -> None:
    """The same with letters that tables are made of."""
    assume(text.strip())
    with contextlib.suppress(InputError):
        read_table(text)
