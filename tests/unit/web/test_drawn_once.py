"""A figure that did not change is drawn and tabled once, however often its page is asked for."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, cast

from aerode.records.runs import Run, RunSort
from aerode.store.bench_file import BenchFile
from aerode.web import rendering

if TYPE_CHECKING:
    from pathlib import Path

    import pytest
    from starlette.testclient import TestClient

    from aerode.records.figures import Figure


def test_a_figure_is_drawn_once(on_tern_sound: TestClient, tern_place: Path, monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    """Two looks at a closed run are one drawing of each width; with one reading less it is drawn anew."""
    with BenchFile.open(tern_place, read_only=True) as bench:
        run = next(r for r in bench.all(Run) if not r.planned_loads and r.sort is RunSort.LOADS)
    page = rendering.address("runs", run.name)
    drawn: list[int] = []
    plain = rendering.draw

    def counted(figure: Figure, *, width: int = 720) -> str:
        drawn.append(width)
        return plain(figure, width=width)

    monkeypatch.setattr(rendering, "draw", counted)
    cast("Any", rendering)._drawn.cache_clear()  # other tests look at the same bench
    first = on_tern_sound.get(page).text
    once = len(drawn)
    second = on_tern_sound.get(page).text
    assert once >= 2
    assert len(drawn) == once
    assert _without_marks(first) == _without_marks(second)
    assert second.count('<svg class="figure"') == once
    assert second.count("<tbody>") >= once // 2

    on_tern_sound.post(f"{page}/readings/2", data={"act": "doubt", "why": "a lead slipped off"})
    on_tern_sound.get(page)
    assert len(drawn) > once


def _without_marks(text: str) -> str:
    """The page without the marks by which a form is known, which are new each time."""
    return re.sub(r'name="once" value="[^"]*"', "", text)
