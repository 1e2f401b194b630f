"""Tables as people and loggers really write them, each with what it must be taken for.

The habits are common practice, no source; the numbers are invented.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from aerode.devices.tables import read_rows, read_table
from aerode.errors import TableError

LOADS = (47.0, 22.0, 15.0)
VOLTS = (0.612, 0.548, 0.412)

HABITS = {
    "plain comma": "resistance_ohm,voltage_V\n47,0.612\n22,0.548\n15,0.412\n",
    "semicolon and decimal comma": "R/ohm;U/V\n47;0,612\n22;0,548\n15;0,412\n",
    "millivolts in brackets": "Load (Ω);Voltage (mV)\n47;612\n22;548\n15;412\n",
    "kilohm in square brackets": "R_load [kΩ]\tU [mV]\n0.047\t612\n0.022\t548\n0.015\t412\n",
    "German words": "Widerstand in Ohm;Spannung in V\n47,0;0,612\n22,0;0,548\n15,0;0,412\n",
    "French words": "Résistance (ohm);Tension (V)\n47;0,612\n22;0,548\n15;0,412\n",
    "Spanish words": "resistencia_ohm|voltaje_mV\n47|612\n22|548\n15|412\n",
    "units in the cells": "load,reading V\n47 ohm,612 mV\n22 ohm,0.548 V\n15 ohm,412mV\n",
    "a row of units": "R,U\n(ohm),(mV)\n47,612\n22,548\n15,412\n",
    "quoted decimals": '"R (ohm)","U (V)"\n"47,0","0,612"\n"22,0","0,548"\n"15,0","0,412"\n',
    "a logger's preamble": (
        "Bench logger 4\nStarted;2025-05-03 14:22\n\n"
        "No;R (ohm);Klemmenspannung [V]\n1;47;0,612\n2;22;0,548\n3;15;0,412\n"
    ),
    "comments": "# shed, cold day\n# R (ohm), U (V)\n47, 0.612\n22, 0.548\n15, 0.412\n",
    "comments in between": "R ohm,U V\n47,0.612\n# moved the clip\n22,0.548\n15,0.412\n",
    "blank rows": "\n\nR (ohm);U (V)\n\n47;0.612\n;\n22;0.548\n\n15;0.412\n;;\n",
    "told delimiter": "sep=;\nR (ohm);U (V)\n47;0.612\n22;0.548\n15;0.412\n",
    "spaces": "R_ohm   U_V\n47      0.612\n22      0.548\n15      0.412\n",
    "bare symbols": "R,U\n47,0.612\n22,0.548\n15,0.412\n",
    "bare millivolts": "R,U\n47,612\n22,548\n15,412\n",
    "against the aluminium": "load (ohm),E (V vs. Al)\n47,0.612\n22,0.548\n15,0.412\n",
    "signs and powers": "R (ohm),U (V)\n+4.7e1,6.12e-1\n2.2E+01,+0.548\n15,.412\n",
    "carriage returns": "R (ohm),U (V)\r\n47,0.612\r\n22,0.548\r\n15,0.412\r\n",
    "notes with commas": 'R (ohm),U (V),note\n47,0.612,"dry, cold"\n22,0.548,\n15,0.412,late\n',
    "trailing delimiters": "R (ohm);U (V);;\n47;0.612;;\n22;0.548;;\n15;0.412;;\n",
    "capital Ohm": "R [Ohm];U [mV]\n47;612\n22;548\n15;412\n",
}  # fmt: skip


@pytest.mark.parametrize("habit", HABITS)
def test_habits(habit: str) -> None:
    """Every habit gives the same loads and voltages, in SI."""
    table = read_table(HABITS[habit], name="loads.csv").whole()

    assert table.column("resistance").values == pytest.approx(LOADS)
    assert table.column("voltage").values == pytest.approx(VOLTS)
    assert (table.column("resistance").si, table.column("voltage").si) == ("ohm", "V")
    assert any("is the voltage in" in said for said in table.understood)


@pytest.mark.parametrize(
    ("encoding", "said"),
    [("utf-8", ""), ("utf-8-sig", ""), ("utf-16", "UTF-16"), ("utf-16-le", "UTF-16"),
     ("utf-16-be", "UTF-16"), ("cp1252", "Windows-1252")],
)  # fmt: skip
def test_encodings(tmp_path: Path, encoding: str, said: str) -> None:
    """Files of every common encoding; a doubtful one is said."""
    path = tmp_path / "werte.csv"
    path.write_bytes("Temperatur (°C);Spannung (mV);Größe\n23,4;612;µ\n".encode(encoding))

    table = read_table(path)

    assert table.column("temperature").values == pytest.approx((296.55,))
    assert table.columns[2].raw == ("µ",)
    assert said in " ".join(table.understood)
    assert table.name == "werte.csv"


def test_line_numbers_are_those_of_the_text() -> None:
    """Counting preamble, comments, blank rows and quoted line breaks."""
    text = 'logger\n\nR (ohm),U (V),note\n47,0.6,"two\nlines"\n# comment\n\n22,0.5,\n'

    assert read_table(text).lines == (4, 8)


def test_missing_is_none_and_never_zero() -> None:
    """Empty cells, dashes and n/a; "open" in the load column is no load, and no fault."""
    table = read_table("load (ohm),U (V),I (mA)\nopen,0.741,\n47,-,12.9\n22,n/a,24.1\n").whole()

    assert table.column("resistance").values == (None, 47.0, 22.0)
    assert table.column("resistance").raw == ("open", "47", "22")
    assert table.column("voltage").values == (0.741, None, None)
    assert table.column("current").values == (None, pytest.approx(0.0129), pytest.approx(0.0241))


def test_bad_cells_are_listed_with_their_place() -> None:
    """File, line, column, the raw text, what is allowed; the other cells are taken."""
    text = "R (ohm);U (V);I (mA)\n47;0,6x y z;12\n0;0,5;nan\n22;0,5;OL\n15;0,4;3 kg\n10;412;20\n"
    table = read_table(text, name="a.csv")

    assert [
        (r.line, r.column) for r in table.refused
    ] == [(2, "U (V)"), (3, "R (ohm)"), (3, "I (mA)"), (4, "I (mA)"), (5, "I (mA)"), (6, "U (V)")]  # fmt: skip
    assert table.refused[1].where == "a.csv, line 3, column 'R (ohm)'"
    assert all(r.why and r.raw for r in table.refused)
    assert table.column("resistance").values == (47.0, None, 22.0, 15.0, 10.0)
    assert table.column("voltage").values == (None, 0.5, 0.5, 0.4, None)
    with pytest.raises(TableError, match="6 cells or rows") as refused:
        table.whole()
    assert "line 6" in str(refused.value)


def test_a_row_that_is_too_long_is_refused_whole() -> None:
    """Its cells cannot be trusted to stand under their headings."""
    table = read_table("R (ohm),U (V)\n47,0.6\n22,0,548\n15,0.4\n", name="a.csv")

    assert table.column("resistance").values == (47.0, 15.0)
    assert [(r.line, r.column) for r in table.refused] == [(3, "")]


REFUSED = {
    "nothing": ("", "nothing in it"),
    "only blanks": (" \n\n;;\n", "no row of numbers"),
    "only headings": ("R (ohm);U (V)\n", "no row of numbers"),
    "no headings": ("47;0,612\n22;0,548\n", "no headings"),
    "swapped": ("voltage_V,resistance_ohm\n47,0.612\n22,0.548\n15,0.412\n", "look swapped"),
    "millivolts called volts": ("R (ohm),U (V)\n47,612\n22,548\n", "wrong unit"),
    "volts called millivolts": ("R (ohm),U (mV)\n47,0.612\n22,0.548\n", "wrong unit"),
    "milliamperes called amperes": ("R (ohm),I (A)\n47,12.9\n22,24.1\n15,28\n", "wrong unit"),
    "kelvin called celsius": ("T (°C),U (V)\n296,0.6\n297,0.5\n", "wrong unit"),
    "word against unit": ("Voltage (mA);R (ohm)\n612;47\n", "names voltage and a unit of current"),
    "current without unit": ("R (ohm),I\n47,12.9\n", "no unit is given for the current"),
    "voltage in doubt": ("R (ohm),U\n47,12\n22,9\n", "no unit is given for the voltage"),
    "temperature in doubt": ("temp,U (V)\n45,0.6\n", "no unit is given for the temperature"),
    "comma for both": ("R,U\n47,0,612\n22,0,548\n", "cells under 2 headings"),
    "two decimal marks": ("R (ohm);U (V)\n47,5;0.612\n22,1;0.548\n", "decimal comma is used at"),
    "comma in doubt": ("R (ohm)\tU (mV)\n47\t1,612\n22\t1,548\n", "may be a decimal mark"),
    "a spreadsheet": (b"PK\x03\x04rest", "spreadsheet"),
    "no text": (b"\x89\x81\x8d\x8f\x90", "not a text"),
    "a quote never closed": ('R,U\n47,"0.6\n' + "x" * 140_000, "cannot be cut|no row of numbers"),
}  # fmt: skip


@pytest.mark.parametrize("case", REFUSED)
def test_refusals_say_what_to_do(case: str) -> None:
    """What, where and what is allowed."""
    text, message = REFUSED[case]

    with pytest.raises(TableError, match=message) as refused:
        read_table(text, name="a.csv")

    assert "a.csv" in str(refused.value) or "line" in refused.value.where
    assert refused.value.allowed or refused.value.next_step


def test_what_a_person_says_goes_first() -> None:
    """A mapping, a unit and a decimal mark end each of the doubts above."""
    swapped = REFUSED["swapped"][0]
    asked = {"voltage": "resistance_ohm", "resistance": "voltage_V"}
    table = read_table(swapped, mapping=asked)
    assert table.column("voltage").values == pytest.approx(VOLTS)

    table = read_table(REFUSED["no headings"][0], mapping={"resistance": 1, "voltage": 2})
    assert table.column("voltage").values == pytest.approx((0.612, 0.548))

    table = read_table(REFUSED["current without unit"][0], units={"current": "mA"})
    assert table.column("current").values == pytest.approx((0.0129,))

    table = read_table(REFUSED["comma in doubt"][0], decimal=".")
    assert table.column("voltage").values == pytest.approx((1.612, 1.548))

    table = read_table(REFUSED["millivolts called volts"][0], units={"voltage": "V"})
    assert table.column("voltage").values == (612.0, 548.0)


def test_two_columns_for_one_quantity() -> None:
    """Nothing is guessed between them; a mapping chooses, and the other loses its claim."""
    text = "U1 (V),U2 (mV),R (ohm)\n0.612,610,47\n"
    with pytest.raises(
        TableError, match="2 columns can be the voltage: 'U1 \\(V\\)', 'U2 \\(mV\\)'"
    ):
        read_table(text).column("voltage")

    table = read_table(text, mapping={"voltage": "U2 (mV)"})

    assert table.column("voltage").values == pytest.approx((0.610,))
    with pytest.raises(TableError, match="no column, or more than one"):
        read_table(text, mapping={"voltage": "U3"})
    with pytest.raises(TableError, match="no column is understood as the current"):
        read_table(text).column("current")
    assert read_table(text).find("current") is None


@pytest.mark.parametrize(
    ("cells", "seconds", "started"),
    [
        (("0", "30", "90"), (0.0, 30.0, 90.0), ""),
        (("2025-05-03T14:22:00", "2025-05-03T14:22:30Z", "2025-05-03 14:23:30+00:00"), (0.0, 30.0, 90.0),
         "2025-05-03T14:22:00"),
        (("03.05.2025 23:59:30", "04.05.2025 00:00:00", ""), (0.0, 30.0, None), "2025-05-03T23:59:30"),
        (("9:15", "09:15:30.5", "10:00"), (0.0, 30.5, 2700.0), ""),
    ],
)  # fmt: skip
def test_times(cells: tuple[str, ...], seconds: tuple[float | None, ...], started: str) -> None:
    """Seconds, ISO 8601, dotted dates, clock times: seconds since the first row."""
    text = "Zeit;U (V)\n" + "".join(f"{cell};0.6\n" for cell in cells)
    table = read_table(text).whole()

    assert seconds == table.column("time").values
    assert started == table.started


def test_midnight_is_passed_and_a_date_among_times_is_refused() -> None:
    """A time of day that falls back by more than half a day has passed midnight."""
    table = read_table("time,U (V)\n23:59,0.6\n00:01,0.6\n03/05/2025 10:00,0.6\n")

    assert table.column("time").values == (0.0, 120.0, None)
    assert [r.line for r in table.refused] == [4]
    assert "the time passes midnight" in table.understood


def test_a_clock_that_goes_backwards() -> None:
    """Refused by line until it has caught up; or it goes on, where a person says so."""
    text = "time,U (V)\n2025-10-26 02:58,0.6\n2025-10-26 02:59,0.5\n2025-10-26 02:00,0.4\n2025-10-26 03:00,0.3\n"
    table = read_table(text)
    assert [(r.line, r.why) for r in table.refused] == [(4, "the clock has gone backwards here")]
    assert table.column("time").values == (0.0, 60.0, None, 120.0)

    table = read_table(text, clock="go on")
    assert table.refused == ()
    assert table.column("time").values == (0.0, 60.0, 120.0, 3720.0)


@pytest.mark.parametrize(
    ("dates", "seconds", "started"),
    [("d/m/y", 2592000.0, "2025-05-03T10:00:00"), ("m/d/y", 86400.0, "2025-03-05T10:00:00")],
)
def test_a_date_that_reads_in_two_ways_is_asked_for(
    dates: str, seconds: float, started: str
) -> None:
    """Both readings are named; one word ends the doubt; so does one day after the twelfth."""
    text = "date,U (V)\n03/05/2025 10:00,0.6\n03/06/2025 10:00,0.5\n"
    text = text.replace("03/06", "02/06") if dates == "d/m/y" else text
    with pytest.raises(TableError, match="2025-05-03 or 2025-03-05") as asked:
        read_table(text)
    assert "dates " in asked.value.next_step

    table = read_table(text, dates=dates)

    assert table.column("time").values == (0.0, seconds)
    assert table.started == started
    more = read_table(text + ("13/06/2025,0.4\n" if dates == "d/m/y" else "03/13/2025,0.4\n"))
    assert more.started == started
    with pytest.raises(TableError, match="some dates begin with the day"):
        read_table(text + "13/06/2025,0.4\n06/13/2025,0.4\n")


def test_minutes_and_hours() -> None:
    """A unit in the heading of the time."""
    assert read_table("t/min;U/V\n0;0,6\n1,5;0,5\n").column("time").values == (0.0, 90.0)
    assert read_table("time (h),U (V)\n2,0.6\n").column("time").values == (7200.0,)


def test_columns_that_are_not_understood_are_kept() -> None:
    """Their text stays, their numbers stay as typed, and it is said."""
    table = read_table("piece,R (ohm),U (V),score\nT1,47,0.6,3\nT2,22,0.5,\n")

    assert table.columns[0].raw == ("T1", "T2")
    assert table.columns[0].values == (None, None)
    assert table.columns[3].values == (3.0, None)
    assert "'score' is not understood, and kept as it is" in table.understood


def test_thousands() -> None:
    """A thousands mark is told from a decimal mark by the other numbers of the table."""
    table = read_table("R (ohm);U (mV)\n1.000;612,5\n2.200;1.048,0\n")
    assert table.column("resistance").values == (1000.0, 2200.0)
    assert table.column("voltage").values == pytest.approx((0.6125, 1.048))

    table = read_table('R (ohm),U (V)\n"1,000",0.6125\n')
    assert table.column("resistance").values == (1000.0,)


def test_a_missing_file(tmp_path: Path) -> None:
    """A path that leads nowhere is a refusal, not a traceback."""
    with pytest.raises(TableError, match="cannot be read"):
        read_table(tmp_path / "gone.csv")


def test_too_large(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A limit on what is read at all, for texts, bytes and files."""
    monkeypatch.setattr("aerode.devices.table_text.MAX_BYTES", 10)
    (tmp_path / "a.csv").write_bytes(b"R,U\n47,0.6\n")
    for source in ("R,U\n47,0.612\n", b"R,U\n47,0.612\n", tmp_path / "a.csv"):
        with pytest.raises(TableError, match="too large"):
            read_table(source)


class TestRows:
    """Tables of records, whose first row names the fields."""

    def test_texts_with_line_numbers(self) -> None:
        """Cells stay as they stand; short rows are filled up."""
        rows = read_rows("# shelf\nname;mesh;note\nT1;fly screen;\nT2\n", name="electrodes.csv")

        assert rows.headings == ("name", "mesh", "note")
        assert [row.number for row in rows.rows] == [3, 4]
        assert [row.cell(1) for row in rows.rows] == ["fly screen", ""]

    @pytest.mark.parametrize(
        ("text", "message"),
        [
            ("name;name\nT1;T2\n", "named twice"),
            ("name;;note\nT1;a;b\n", "no field name"),
            ("name;note\nT1;a;b\n", "3 cells under 2"),
            ("# nothing\n", "only comments"),
        ],
    )
    def test_refusals(self, text: str, message: str) -> None:
        """Fields without a name or named twice, rows that are too long."""
        with pytest.raises(TableError, match=message):
            read_rows(text)
