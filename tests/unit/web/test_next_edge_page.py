"""The page of the next batch where the best lies at an edge, and where it is left as it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.usecases import next_batch as module

if TYPE_CHECKING:
    import pytest
    from starlette.testclient import TestClient


def _said(page) -> str:
    return page.text.replace("\N{NO-BREAK SPACE}", " ")


def test_the_edge_stands_below_the_answer_and_leads_to_its_guesses(looking: TestClient) -> None:
    """Whether less is better still, nothing read tells; each guess can be begun by a copy of its mix."""
    said = _said(looking.get("/next"))
    edge = said.index("is at the edge of what was read")
    assert said.index('<p class="answer">') < edge < said.index('<ol class="lines builds">')
    assert 'href="#outside"' in said
    guesses = said[said.index('id="outside"') :]
    assert "not to be counted on" in guesses
    assert "Copy the mix of" in guesses


def test_a_recipe_that_is_left_as_it_is_leads_to_its_battery_and_second_to_a_pot(
    looking: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The button of the answer opens the battery with the recipe filled in; JSON says it too."""
    assert "Size a battery of" not in looking.get("/next?builds=2").text
    monkeypatch.setattr(module, "_LITTLE", 1.0)
    said = _said(looking.get("/next?builds=3"))
    best = looking.post("/json/ask/next", json={"builds": 3}).json()
    assert best["leave"] is True
    assert "at the edge" in best["at_edge"]
    first = said.index(f"Size a battery of {best['best_read']}</a>")
    assert said.index('<p class="answer">') < first < said.index("Weigh ", first)
    place = said[:first].rsplit('href="', 1)[1].split('"')[0]
    assert place.startswith("/battery?recipe=")
    form = looking.get(place)
    assert form.status_code == 200
    assert f'<option value="{best["best_read"]}" selected' in form.text
