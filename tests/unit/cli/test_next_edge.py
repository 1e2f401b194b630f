"""`aerode next` where the best lies at an edge, and where it is left as it is."""

from __future__ import annotations

import numpy as np
from click.testing import CliRunner

from aerode.cli.next import command
from aerode.store.bench_file import BenchFile
from aerode.usecases import next_batch as module
from aerode.virtual.tern_sound import build


def test_the_edge_and_the_next_command_are_printed(tmp_path, monkeypatch) -> None:
    """The edge stands before the builds; a batch worth no weekend names the command that sizes the battery."""
    place = tmp_path / "demo.aerode"
    with BenchFile.create(place, title="demo") as bench:
        bench.put_all(build(np.random.default_rng(1)).records)
    plain = CliRunner().invoke(command, ["-b", str(place)]).output
    assert plain.index("is at the edge of") < plain.index(" x binder")
    assert "aerode size" not in plain
    monkeypatch.setattr(module, "_LITTLE", 1.0)
    leave = CliRunner().invoke(command, ["-b", str(place)]).output
    assert 'aerode size "b10 m0 100C"' in " ".join(leave.split())
    assert all(len(line) <= 80 for line in leave.splitlines())
