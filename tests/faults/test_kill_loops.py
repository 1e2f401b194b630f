"""Kill -9 again and again over one bench: every acknowledged reading is there, nothing is there in part."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

CRASHING = Path(__file__).with_name("crashing.py")


def _kill(path: Path, loops: int, seed: int) -> dict[str, object]:
    ran = subprocess.run(
        [sys.executable, str(CRASHING), str(path), str(loops), str(seed)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    return json.loads(ran.stdout)


@pytest.mark.parametrize(
    ("loops", "seed"),
    [(12, 1), pytest.param(120, 2, marks=pytest.mark.slow), pytest.param(120, 3, marks=pytest.mark.slow)],
)  # fmt: skip
def test_killed_over_and_over(tmp_path: Path, loops: int, seed: int) -> None:
    """Readings one by one, pairs in one transaction, and logs with their runs."""
    answer = _kill(tmp_path / "shed.aerode", loops, seed)

    assert answer["lost"] == []
    assert int(str(answer["told"])) > 2 * loops
