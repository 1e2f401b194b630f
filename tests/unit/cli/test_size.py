"""`aerode size`: predicted, what can hurt before the figures, the record as JSON."""

from __future__ import annotations

import json

import numpy as np
import pytest
from click.testing import CliRunner

from aerode.cli.size import command
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_schema import schema_of
from aerode.virtual.tern_sound import build

BEACON = ["b10 m16 70C", "--power", "18mW", "--voltage", "3V", "--on", "12h", "--days", "14",
          "--converter", "75%", "--least-input", "0.9V", "--burst", "60mA", "--burst-time", "100ms"]  # fmt: skip


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """The invented bench."""
    place = tmp_path_factory.mktemp("bench") / "demo.aerode"
    with BenchFile.create(place, title="demo") as bench:
        bench.put_all(build(np.random.default_rng(1)).records)
    return str(place)


def _run(*words: str):
    result = CliRunner().invoke(command, list(words))
    if result.exception and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result


@pytest.mark.parametrize("more", [[], ["--detail"]])
def test_the_answer_comes_first_then_what_can_hurt_then_the_figures(demo, more) -> None:
    """Lines of 80 columns; predicted is the first word."""
    text = _run(*BEACON, *more, "-b", demo).output
    assert text.startswith("Predicted: 2 cells in a row")
    assert text.index("hydrogen") < text.index("Power out of the cells")
    assert all(len(line) <= 80 for line in text.splitlines())
    assert "Aluminium of each cell: 1.5 g for the current, 1.5 g more" in text
    assert ("Batteries that were tried" in text) is bool(more)


def test_every_stop_and_first_is_printed_without_being_asked(demo) -> None:
    """Lye in a small box: three or more cautions of those levels, none behind --detail."""
    told = json.loads(_run(*BEACON, "--salt", "KOH", "--box", "2 L", "--json", "-b", demo).output)
    hard = [c["hazard"] for c in told["cautions"] if c["level"] in ("STOP", "FIRST")]
    text = " ".join(_run(*BEACON, "--salt", "KOH", "--box", "2 L", "-b", demo).output.split())
    assert "lye" in hard
    assert "hydrogen in the box" in hard
    assert all(f"{hazard}: " in text for hazard in hard)
    assert "1 more cautions" not in text


def test_the_record_is_printed_with_its_schema(demo) -> None:
    """The same names as the schema lists."""
    told = json.loads(_run(*BEACON, "--json", "-b", demo).output)
    assert told["schema"] == "aerode.size/1"
    assert set(told) <= set(schema_of("size")["properties"])
    assert told["chosen"]["in_series"] == 2
