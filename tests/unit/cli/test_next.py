"""`aerode next`: the batch, what can hurt before it, the record as JSON."""

from __future__ import annotations

import json

import numpy as np
import pytest
from click.testing import CliRunner

from aerode.cli.next import command
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_schema import schema_of
from aerode.virtual.tern_sound import build


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """The invented bench."""
    place = tmp_path_factory.mktemp("bench") / "demo.aerode"
    with BenchFile.create(place, title="demo") as bench:
        bench.put_all(build(np.random.default_rng(1)).records)
    return str(place)


@pytest.mark.parametrize("more", [[], ["--detail"]])
def test_predicted_then_what_can_hurt_then_the_builds(demo, more) -> None:
    """Lines of 80 columns; with --detail every caution and the shares of each mix."""
    text = CliRunner().invoke(command, ["--builds", "3", *more, "-b", demo]).output
    assert text.startswith("Predicted: 3 builds")
    assert text.index("FIRST: ") < text.index(" x binder ")
    assert all(len(line) <= 80 for line in text.splitlines())
    assert ("dry mass: " in text) is bool(more)


def test_every_stop_and_first_is_printed_without_being_asked(demo) -> None:
    """What can hurt in mixing and pressing: none of those levels stands behind --detail."""
    told = json.loads(CliRunner().invoke(command, ["--json", "-b", demo]).output)
    hard = [c["hazard"] for c in told["cautions"] if c["level"] in ("STOP", "FIRST")]
    text = CliRunner().invoke(command, ["-b", demo]).output
    assert len(hard) > 1
    assert all(f": {hazard}: " in text for hazard in hard)


def test_the_record_is_printed_with_its_schema(demo) -> None:
    """The same names as the schema lists."""
    told = json.loads(CliRunner().invoke(command, ["--json", "-b", demo]).output)
    assert told["schema"] == "aerode.next/1"
    assert set(told) <= set(schema_of("next")["properties"])
    assert sum(one["builds"] for one in told["builds"]) == 4
