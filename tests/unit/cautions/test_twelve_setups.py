"""Twelve set-ups with their expected levels, written down before the engine (see `setups.py`)."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest

from aerode.cautions.engine import assess, caution_sheet
from aerode.cautions.reading import require_acknowledged, sheet_lines
from aerode.cautions.situation import Situation
from aerode.errors import StoppedError

_spec = importlib.util.spec_from_file_location(
    "twelve_setups", Path(__file__).with_name("setups.py")
)
assert _spec is not None
assert _spec.loader is not None
_setups = importlib.util.module_from_spec(_spec)
sys.modules["twelve_setups"] = _setups
_spec.loader.exec_module(_setups)
HARMFUL, HARMLESS = _setups.HARMFUL, _setups.HARMLESS


def test_the_expectations_are_what_they_claim_to_be() -> None:
    """Six harmless without STOP and at most three lines, six harmful with a STOP each, all reasoned."""
    assert len(HARMLESS) == len(HARMFUL) == 6
    for one in HARMLESS:
        assert "STOP" not in one.expected.values()
        assert 1 <= len(one.expected) <= 3
    for one in HARMFUL:
        assert "STOP" in one.expected.values()
    assert all(len(one.why) > 40 for one in (*HARMLESS, *HARMFUL))


def _levels(situation: Situation) -> dict[str, str]:
    """Hazard to its hardest level."""
    found: dict[str, str] = {}
    for caution in assess(situation):  # hardest first
        found.setdefault(caution.hazard, caution.level.value)
    return found


@pytest.mark.parametrize("one", [*HARMLESS, *HARMFUL], ids=lambda one: one.name)
def test_the_engine_gives_exactly_these_levels(one: object) -> None:
    """Every hazard the hygienist names, at that level, and no other."""
    assert _levels(one.situation) == one.expected


@pytest.mark.parametrize("one", HARMLESS, ids=lambda one: one.name)
def test_a_harmless_one_prints_three_cautions_at_most(one: object) -> None:
    """No STOP, at most three entries, each with its source and what would change it."""
    text = sheet_lines(caution_sheet(one.situation))
    heads = [line for line in text if line.startswith(("STOP ", "FIRST ", "NOTE "))]
    assert 1 <= len(heads) <= 3
    assert not any(line.startswith("STOP ") for line in heads)
    body = " ".join(" ".join(text).split())
    assert body.count("Changes with: ") == len(heads)
    assert body.count("[") == len(heads)


@pytest.mark.parametrize("one", HARMFUL, ids=lambda one: one.name)
def test_a_harmful_one_blocks_the_bench_sheet(one: object) -> None:
    """Every harmful set-up is refused until each STOP is acknowledged with a reason."""
    with pytest.raises(StoppedError):
        require_acknowledged(caution_sheet(one.situation))
