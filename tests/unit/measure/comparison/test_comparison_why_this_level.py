"""An interval that is not the usual one is explained where it is quoted."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from aerode.measure.telling import why_this_level


@pytest.mark.parametrize(
    ("level", "said", "told"),
    [
        (0.012, "1.2 times, 98.8 % interval 1.1 to 1.3", True),
        (0.05, "1.2 times, 95 % interval 1.1 to 1.3", False),
        (0.012, "No recipe is shown to be best", False),
    ],
)
def test_why_the_interval_is_wider(level: float, said: str, told: bool) -> None:
    """Of a look that is one of several, and only where an interval is quoted."""
    found: Any = SimpleNamespace(look_level=level)
    assert ("looked at more than once" in why_this_level(found, said)) is told
