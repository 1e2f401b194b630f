"""What would tell more, in words that mean one thing."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, cast

from aerode.measure import fit_advice

if TYPE_CHECKING:
    import pytest


def test_no_load_is_said_of_an_open_circuit_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no resistor would show the limit, the sentence does not say "no load"."""
    monkeypatch.setattr(fit_advice.known, "load_that_shows_the_limit", lambda *_, **__: None)
    say = cast("Any", fit_advice)._to_show_the_limit
    said = say(None, lambda current: f"{current:g} mA", (10.0, 4.7))

    assert said.startswith("even 0.1 ohm would not show the limiting current")
    assert "no load" not in said
