"""The Python API: an exact list, read late, typed."""

from __future__ import annotations

import subprocess
import sys

import pytest

import aerode

NAMES = {
    "AerodeError",
    "BenchFile",
    "CautionQuestion",
    "FitQuestion",
    "MixQuestion",
    "Quantity",
    "compare",
    "fit_bench_run",
    "fit_table",
    "import_folder",
    "lookup",
    "mix_with_cautions",
    "what_can_hurt",
}


def test_the_list_is_exact() -> None:
    """A name that comes or goes is a decision, seen here."""
    assert set(aerode.__all__) == NAMES
    assert set(dir(aerode)) == NAMES


@pytest.mark.parametrize("name", sorted(NAMES))
def test_every_name_is_there(name: str) -> None:
    """Each listed name leads to something."""
    assert getattr(aerode, name) is not None


def test_an_unknown_name_says_what_there_is() -> None:
    """A slip names what can be had."""
    with pytest.raises(AttributeError, match="compare"):
        aerode.compair  # noqa: B018  # pyright: ignore[reportAttributeAccessIssue]


def test_importing_reads_nothing_heavy() -> None:
    """`import aerode` alone loads no number library."""
    code = "import aerode, sys; print(sorted({'numpy', 'scipy', 'sqlalchemy', 'pydantic', 'pint'} & set(sys.modules)))"
    seen = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert seen.stdout.strip() == "[]"


def test_nothing_inside_uses_the_api() -> None:
    """Rooms import rooms; the API is for those outside."""
    from pathlib import Path

    source = Path(aerode.__file__).parent
    for path in source.rglob("*.py"):
        if path.name != "__init__.py" or path.parent != source:
            for name in NAMES:
                assert f"from aerode import {name}" not in path.read_text("utf-8"), path
