"""A log read fast gives what the plain reader gives, whatever stands in its cells."""

from __future__ import annotations

import math
import tempfile
from datetime import datetime
from pathlib import Path

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from aerode.devices.table_fields import cut, micros_of, numbers_of
from aerode.devices.table_log import LogReader
from aerode.devices.table_moments import read_moment
from aerode.devices.tables import read_table
from aerode.errors import InputError

CELLS = st.one_of(
    st.floats(-25, 25).map(lambda x: f"{x:.4g}"),
    st.floats(0, 2).map(lambda x: f"{x:.3f}"),
    st.sampled_from(["", "-", "OL", "1.", "nan", "0.7 V", "700 mV", "x", "1e-3", "+0.5", " 0.6 ", "99", "0,7", '"0.5"', "١"]),
)  # fmt: skip
STEPS = st.lists(st.sampled_from([0.0, 0.1, 1.0, 60.0, 7.5]), min_size=3, max_size=30)


@settings(max_examples=150, deadline=None)
@given(steps=STEPS, cells=st.data(), block=st.integers(40, 400))
def test_fast_and_plain_agree(steps: list[float], cells: st.DataObject, block: int) -> None:
    """The same rows, numbers and refused lines, however the file is cut into blocks."""
    times = np.cumsum(np.array(steps))
    rows = [f"{t:.1f};{cells.draw(CELLS)};0.7" for t in times]
    text = "t (s);U (V);E (V)\n0;0.7;0.7\n" + "\n".join(rows) + "\n"
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        path.write_text(text, "utf-8")
        try:
            table = read_table(path)
        except InputError:
            return
        reader = LogReader(path, block=block)
        blocks = list(reader.blocks())

    plain = [math.nan if value is None else value for value in table.columns[1].values]
    fast = [float(v) for one in blocks for v in one.columns["voltage U (V)"]]
    assert [int(line) for one in blocks for line in one.lines] == list(table.lines)
    assert np.array_equal(np.array(fast), np.array(plain), equal_nan=True)
    assert {(r.line, r.column) for r in reader.refused} == {(r.line, r.column) for r in table.refused}  # fmt: skip


@given(st.lists(st.decimals(-99999, 99999, places=4, allow_nan=False), min_size=1, max_size=20))
def test_numbers_are_correctly_rounded(values: list[object]) -> None:
    """Each is the double nearest to its text, also with its mark moved by three places."""
    texts = [str(value) for value in values]
    fields = cut("".join(f"{text}\n" for text in texts).encode(), ",", 1)
    assert fields is not None
    found, moved = numbers_of(fields, 0, "."), numbers_of(fields, 0, ".", 3)

    assert found is not None
    assert moved is not None
    assert found.tolist() == [float(text) for text in texts]
    assert moved.tolist() == [float(f"{text}e-3") for text in texts]


@given(
    st.lists(st.datetimes(min_value=datetime(1000, 1, 1)), min_size=1, max_size=12),
    st.sampled_from(["%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M:%S.%f", "%d.%m.%Y %H:%M", "%H:%M:%S", "%Y-%m-%dT%H:%M:%S+02:00"]),
)  # fmt: skip
def test_moments_are_those_of_the_plain_way(moments: list[object], form: str) -> None:
    """Many at once and one by one: the same microseconds, or none at all."""
    texts = [f"{moment:{form}}" for moment in moments]
    fields = cut("".join(f"{text}\n" for text in texts).encode(), ";", 1)
    assert fields is not None
    found = micros_of(fields, 0, "")
    plain = [read_moment(text) for text in texts]

    if found is None:
        assert any(moment is None for moment in plain)
    else:
        assert found[0].tolist() == [moment and moment.micros for moment in plain]
