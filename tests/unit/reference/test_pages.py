"""The committed reference pages are what the tables say now."""

from __future__ import annotations

from pathlib import Path

import pytest

from aerode import reference
from aerode.reference.materials import bench_uses, wetted_metals
from aerode.reference.pages import PAGES, main
from aerode.reference.process_figures import process_rows, process_sources
from aerode.reference.rows import Status
from aerode.reference.symptoms import symptom_rows

DOCS = Path(__file__).parents[3] / "docs" / "reference"


@pytest.mark.parametrize("name", sorted(PAGES))
def test_the_committed_page_is_current(name: str) -> None:
    """Run `python -m aerode.reference.pages docs/reference` after a change of the tables."""
    assert PAGES[name]() == (DOCS / name).read_text(encoding="utf-8")


def test_every_source_stands_in_the_bibliography_once() -> None:
    """Each key has one line of the page."""
    page = PAGES["bibliography.md"]()
    for key in (*reference.bibliography(), *process_sources()):
        assert page.count(f"| `{key}` |") == 1


def test_no_unverified_figure_is_left_out() -> None:
    """The page has a line for each figure and each entry in words that is not verified."""
    page = PAGES["unverified-figures.md"]()
    lines = sum(line.startswith("| ") and "`" in line for line in page.splitlines())
    rows = (
        *reference.all_rows(),
        *process_rows(),
        *symptom_rows(),
        *bench_uses(),
        *wetted_metals(),
    )
    wanted = sum(row.status is not Status.VERIFIED for row in rows)

    assert wanted == lines


def test_the_script_writes_both_pages(tmp_path: Path) -> None:
    """Both pages are written into the folder named."""
    main(str(tmp_path))

    assert sorted(PAGES) == sorted(path.name for path in tmp_path.iterdir())
