"""`aerode demo`: one command, the whole job, a page to read."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from aerode.cli import main
from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile

ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """The folder and what was printed."""
    import contextlib
    import io

    out = tmp_path_factory.mktemp("demo")
    text = io.StringIO()
    with contextlib.redirect_stdout(text), pytest.raises(SystemExit) as end:
        main(["demo", "--out", str(out)])
    assert not end.value.code
    return out, text.getvalue()


def test_it_fits_a_screen(shown: tuple[Path, str]) -> None:
    """At most thirty lines of eighty columns, the verdict first, no colour codes."""
    first, *rest = [line for line in shown[1].splitlines() if str(shown[0]) not in line]

    assert len(rest) + 3 <= 30
    assert len(first) <= 100
    assert all(len(line) <= 80 for line in rest)
    assert "\x1b" not in shown[1]


def test_it_tells_the_whole_story(shown: tuple[Path, str]) -> None:
    """Two rankings, a fall, three effects, builds needed, a refusal, a leak, a caution, the score, what next, a battery."""
    text = shown[1]

    for words in ("ammeter", "fair:", "binder", "magnetite", "plate temperature", "builds per setting",
                  "Refused:", "leaked, 11 to 24 h", "the truth is known", "Next on this bench", "aerode next, 4 builds worth", "a beacon of 2 cells", "Report:", "aerode fit readings.csv"):  # fmt: skip
        assert words in text, words
    assert re.search(r"(STOP|FIRST|NOTE): ", text)


def test_the_readme_shows_it(shown: tuple[Path, str]) -> None:
    """Every line of the session in the README is one that the demo prints, digits and places apart."""
    readme = (ROOT / "README.md").read_text("utf-8")
    session = re.search(r"<!-- demo -->\n```text\n(.*?)```", readme, re.DOTALL)
    assert session

    def shape(line: str) -> str:
        return re.sub(r"\S*tern-sound\S*", "FILE", re.sub(r"\d", "#", line)).strip()

    printed = {shape(line) for line in shown[1].splitlines()}
    missing = [line for line in session[1].splitlines() if shape(line) not in printed]
    assert len(missing) <= 2, missing


def test_the_report_needs_nothing_from_outside(shown: tuple[Path, str]) -> None:
    """One file, no script, no outside address, marked as invented."""
    page = (shown[0] / "tern-sound.html").read_text("utf-8")

    assert "<script" not in page
    assert not re.search(r"""(?:src|href)=["']https?:""", page)
    assert "invented data" in page
    assert "no substitute for the safety data sheet" in page
    assert page.count("<figure") >= 5


def test_the_truth_is_not_on_the_bench(shown: tuple[Path, str]) -> None:
    """The bench file holds readings, and none of the hidden values."""
    from aerode.virtual.tern_sound import draw

    with BenchFile.open(shown[0] / "tern-sound.aerode", read_only=True) as bench:
        assert len(bench.all(Run)) > 20
        text = "".join(revision.doc for revision in bench.history())
    for value in draw(1).truth.current_density.values():
        assert f"{value:.7f}"[:9] not in text


def test_again_in_the_same_folder(
    shown: tuple[Path, str], capsys: pytest.CaptureFixture[str]
) -> None:
    """A demo may be run again; a bench that is not a demo is left alone."""
    with pytest.raises(SystemExit) as end:
        main(["demo", "--out", str(shown[0]), "--json"])
    answer = json.loads(capsys.readouterr().out)

    assert not end.value.code
    assert answer["schema"] == "aerode.demo/1"


def test_another_bench_is_left_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Somebody's own bench of the same name is not overwritten."""
    with BenchFile.create(tmp_path / "tern-sound.aerode", title="mine"):
        pass
    with pytest.raises(SystemExit) as end:
        main(["demo", "--out", str(tmp_path)])

    assert end.value.code == 1
    assert "not a demo bench" in capsys.readouterr().err
    with BenchFile.open(tmp_path / "tern-sound.aerode", read_only=True) as bench:
        assert bench.label
