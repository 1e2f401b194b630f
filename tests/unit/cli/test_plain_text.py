"""Output that is not UTF-8, as on a Windows console or pipe: everything can be printed, nothing stops it."""

from __future__ import annotations

import ast
import io
import json
import sys
from pathlib import Path

import pytest

import aerode
from aerode.cli import main
from aerode.cli.plain_text import ERRORS, plain
from aerode.store.bench_file import BenchFile

SOURCE = Path(aerode.__file__).parent
PAGES = ["cp1252", "cp437", "cp850", "ascii", "latin-1"]


def _spoken() -> set[str]:
    """Every character outside ASCII in a string of the program, docstrings apart."""
    found: set[str] = set()
    for file in SOURCE.rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                found |= {c for c in node.value if not c.isascii() and c.isprintable()}
    return found


@pytest.mark.parametrize("page", PAGES)
def test_every_character_that_is_printed_has_a_way_out(page: str) -> None:
    """On every code page each character becomes itself or something that reads like it, never "?"."""
    lost = {c for c in _spoken() if "?" in c.encode(page, ERRORS).decode(page)}
    assert lost <= ALLOWED, sorted(lost)


ALLOWED = {"\ufffd"}
"""Itself the sign for a character that was lost."""


def test_words_stay_readable() -> None:
    """Accents go, figures stay."""
    assert plain("Bjørn's lye: 5 µm, 20–25 °C, café") == "Bjorn's lye: 5 um, 20-25 deg C, cafe"


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("words", [["bench", "show"], ["log", "0.742 V", "15 Ω"], ["schema", "τ"]])
def test_no_verb_stops_at_a_character(
    page: str, words: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The command ends as it would on UTF-8, and what it wrote can be read back on that page."""
    monkeypatch.chdir(tmp_path)
    BenchFile.create("bench.aerode", title="Björn → 25 °C").close()
    held = io.BytesIO()
    stream = io.TextIOWrapper(held, encoding=page, write_through=True)
    monkeypatch.setattr(sys, "stdout", stream)
    monkeypatch.setattr(sys, "stderr", io.TextIOWrapper(io.BytesIO(), encoding=page))
    with pytest.raises(SystemExit) as end:
        main(words)
    assert end.value.code == (1 if words[0] == "schema" else 0)
    held.getvalue().decode("utf-8" if page == "ascii" else page)


def test_json_is_whole_on_any_page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Escaped where the page could not hold it: the same record comes back."""
    monkeypatch.chdir(tmp_path)
    BenchFile.create("bench.aerode", title="Björn → 25 °C").close()
    held = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(held, encoding="cp437", write_through=True))
    with pytest.raises(SystemExit):
        main(["bench", "show", "--json"])
    assert "Björn → 25 °C" in json.dumps(json.loads(held.getvalue()), ensure_ascii=False)
