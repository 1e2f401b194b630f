"""A long log read as a stream gives what the plain reader gives, row by row, in flat memory."""

from __future__ import annotations

import math
import tracemalloc
from pathlib import Path

import numpy as np
import pytest

from aerode.devices.table_fields import cut, micros_of, numbers_of
from aerode.devices.table_log import LogReader
from aerode.devices.tables import Saying, read_table
from aerode.errors import TableError

ROWS = 300


def _clock(second: float, form: str) -> str:
    at = np.datetime64("2025-05-03T23:58:00.000") + np.timedelta64(round(second * 1000), "ms")
    text = str(at)
    date, time = text.split("T")
    year, month, day = date.split("-")
    hours = int(time[:2])
    return {
        "iso": text,
        "iso zone": f"{text[:19]}+02:00",
        "d.m.y": f"{day}.{month}.{year} {time[:8]}",
        "m/d/y am": f"{int(month)}/{int(day)}/{year} {hours % 12 or 12}:{time[3:8]} {'AM' if hours < 12 else 'PM'}",
        "clock": time[:8],
        "apart": f"{date},{time[:8]}",
        "compact": date.replace("-", "") + time[:8].replace(":", ""),
        "seconds": f"{second:.1f}",
        "millis": str(round(second * 1000)),
        "epoch": str(1746316680 + round(second)),
        "serial": f"{45780.9986111111 + second / 86400:.10f}",
    }[form]


HEADINGS = {"millis": "millis", "seconds": "t (s)", "apart": "Date,Time", "serial": "Timestamp"}
FORMS = ["iso", "iso zone", "d.m.y", "m/d/y am", "clock", "apart", "compact", "seconds", "millis",
         "epoch", "serial"]  # fmt: skip
SAYINGS = {"m/d/y am": {"dates": "m/d/y"}}


def _log(path: Path, form: str, *, spoilt: bool, rows: int = ROWS) -> Path:
    dice = np.random.default_rng(3)
    lines = ["logger 3", f"{HEADINGS.get(form, 'Date')},U (mV),I (mA),T (°C),note"]
    for n in range(rows):
        cells = [_clock(float(n), form), f"{742 - 0.01 * n + dice.normal():.1f}", f"{12.9 + n / 1000:.2f}", f"{21 + n % 7}", ""]  # fmt: skip
        if spoilt and n % 17 == 3:
            cells[1 + n % 3] = ["OL", "", "1.", "9x9 y z", "-", "nan", "1e3", "0.9 V"][
                (n // 17) % 8
            ]
        if spoilt and n % 41 == 7:
            cells[4] = "lid open"
        if spoilt and n % 53 == 11:
            lines.append(["*** lost ***", "", "a,b,c,d,e,f,g,h", "# note", "\x00\x00"][(n // 53) % 5])  # fmt: skip
        lines.append(",".join(cells))
    if spoilt:
        lines[100] = ",".join(lines[100].split(",")[:-2])
        lines.insert(200, lines[1])
        lines.append("end of file")
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return path


def _rows(columns: dict[int, list[float]]) -> list[tuple[float, ...]]:
    return list(zip(*columns.values(), strict=True))


@pytest.mark.parametrize("spoilt", [False, True], ids=["clean", "spoilt"])
@pytest.mark.parametrize("form", FORMS)
def test_the_fast_way_is_the_plain_way(tmp_path: Path, form: str, spoilt: bool) -> None:
    """Same rows, same numbers to the last bit, same lines refused, whatever the form of the time."""
    path = _log(tmp_path / "log.csv", form, spoilt=spoilt)
    saying = SAYINGS.get(form, {})
    table = read_table(path, **saying)
    reader = LogReader(path, Saying(**saying), block=777)

    blocks = list(reader.blocks())
    time, volts, amps, heat = (table.column(role) for role in ("time", "voltage", "current", "temperature"))  # fmt: skip
    kept = [n for n, t in enumerate(time.values) if t is not None]

    assert [line for block in blocks for line in block.lines] == [table.lines[n] for n in kept]
    for column in (time, volts, amps, heat):
        fast = [float(v) for block in blocks for v in block.columns[column.role]]
        plain = [math.nan if (v := column.values[n]) is None else v for n in kept]
        tolerance = 1.1e-6 if form == "serial" and column is time else 0.0
        assert np.allclose(fast, plain, rtol=0, atol=tolerance, equal_nan=True), column.heading
    assert {(r.line, r.column) for r in table.refused} == {(r.line, r.column) for r in reader.refused}  # fmt: skip
    assert reader.head.started == table.started
    assert reader.rows == len(kept)


def test_midnight_is_passed_in_a_later_block(tmp_path: Path) -> None:
    """A time of day goes on over midnight between blocks."""
    reader = LogReader(_log(tmp_path / "log.csv", "clock", spoilt=False), block=500)

    times = np.concatenate([block.columns["time"] for block in reader.blocks()])

    assert times.tolist() == [float(n) for n in range(ROWS)]
    assert reader.midnights == 1


def test_a_counter_of_32_bits_begins_anew(tmp_path: Path) -> None:
    """micros() of a microcontroller comes back to zero after 4294.967296 s, and time goes on."""
    path = tmp_path / "log.txt"
    counts = [(4_294_000_000 + 500_000 * n) % 2**32 for n in range(6)]
    path.write_text("micros\tU (mV)\n" + "".join(f"{count}\t742\n" for count in counts))
    reader = LogReader(path)

    times = np.concatenate([block.columns["time"] for block in reader.blocks()])

    assert times.tolist() == [4294.0 + 0.5 * n for n in range(6)]


def test_a_clock_set_back(tmp_path: Path) -> None:
    """Rows behind it are refused by line; or the run goes on, where a person says so."""
    path = tmp_path / "log.csv"
    path.write_text("t (s),U (V)\n0,0.7\n1,0.7\n2,0.7\n0,0.6\n1,0.6\n3,0.5\n")
    reader = LogReader(path)
    assert np.concatenate([b.columns["time"] for b in reader.blocks()]).tolist() == [0, 1, 2, 3]
    assert [r.line for r in reader.refused] == [5, 6]

    reader = LogReader(path, Saying(clock="go on"))
    assert np.concatenate([b.columns["time"] for b in reader.blocks()]).tolist() == [0, 1, 2, 3, 4, 6]  # fmt: skip
    assert reader.restarts == 1


def test_a_torn_time_costs_its_own_row_only(tmp_path: Path) -> None:
    """A lost comma makes a time of years: that row is refused, not all that follow it."""
    path = _log(tmp_path / "log.csv", "millis", spoilt=False)
    lines = path.read_text("utf-8").splitlines()
    lines[99] = lines[99].replace(",", "", 1)
    lines[140] = lines[140].replace(",", "9,", 1)
    path.write_text("\n".join(lines), "utf-8")
    reader = LogReader(path, block=300)

    assert sum(block.lines.size for block in reader.blocks()) == ROWS - 2
    assert [(r.line, r.column) for r in reader.refused] == [(100, "millis"), (141, "millis")]
    assert "neighbours" in reader.refused[0].why


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_letters_and_line_ends(tmp_path: Path, encoding: str, newline: str) -> None:
    """Every encoding and line end, also where a block ends between the two."""
    text = "Zeit (s);Temperatur (°C);U (V)\n" + "".join(f"{n};21,{n % 10};0,7{n % 10}\n" for n in range(100))  # fmt: skip
    path = tmp_path / "log.csv"
    path.write_bytes(text.replace("\n", newline).encode(encoding))
    reader = LogReader(path, block=64)

    blocks = list(reader.blocks())

    assert np.concatenate([b.lines for b in blocks]).tolist() == list(range(2, 102))
    assert float(blocks[0].columns["voltage"][0]) == 0.7
    assert reader.rows == 100
    assert not reader.refused


def test_what_is_no_plain_log_is_refused(tmp_path: Path) -> None:
    """Blocks, channels, labelled lines, no time: each says what would be taken."""
    path = tmp_path / "log.csv"
    for text, message in (
        ("t (s),channel,U (V)\n0,1,0.7\n0,2,0.6\n1,1,0.7\n1,2,0.6\n", "one table with a row"),
        ("U:0.7,I:0.1 A\nU:0.7,I:0.1 A\n", "one table with a row"),
        ("U (V),R (ohm)\n0.7,15\n0.6,10\n", "as the time"),
    ):
        path.write_text(text)
        with pytest.raises(TableError, match=message):
            LogReader(path)
    with pytest.raises(TableError, match="cannot be read"):
        LogReader(tmp_path / "gone.csv")


def test_memory_stays_flat(tmp_path: Path) -> None:
    """Ten times the rows take no more memory than the first: the blocks are of one size."""
    path = _log(tmp_path / "log.csv", "seconds", spoilt=False, rows=2000)
    head, *rows = path.read_text("utf-8").splitlines()[1:]
    peaks: list[int] = []
    for copies in (10, 100):
        with path.open("w", encoding="utf-8") as file:
            file.write(f"{head}\n")
            for copy in range(copies):
                file.writelines(f"{copy * 2000 + n}.0{row[row.index(','):]}\n" for n, row in enumerate(rows))  # fmt: skip
        reader = LogReader(path, block=1 << 16)
        tracemalloc.start()
        count = sum(block.lines.size for block in reader.blocks())
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
        assert count == 2000 * copies
    assert path.stat().st_size > 4_000_000
    assert peaks[1] < 1.2 * peaks[0] + 100_000
    assert peaks[1] < path.stat().st_size


def test_fields_give_up_on_what_is_not_of_one_shape() -> None:
    """Every doubtful line is left to the plain way."""
    assert cut(b"1,2\n3\n", ",", 2) is None
    assert cut(b"1,2,3\n4\n", ",", 2) is None
    for cells in (b"1.\n", b"-\n", b"1e3\n", b"nan\n", b" 1\n", b"1_0\n", b"1.2.3\n", b"1234567890123456\n"):  # fmt: skip
        fields = cut(b"0\n" + cells, ",", 1)
        assert fields is not None
        assert numbers_of(fields, 0, ".") is None, cells
    for cells in (b"2025-02-29\n", b"24:61\n", b"03/05/2025\n", b"3 May 2025\n", b"x\n", b"\n"):
        fields = cut(cells, ",", 1)
        assert fields is not None
        assert micros_of(fields, 0, "") is None, cells
