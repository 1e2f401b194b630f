"""What every verb prints: lines of 80 columns, options and names never cut in two."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from aerode.cli.console import lines, run
from aerode.store.bench_file import BenchFile

WORDS = [
    ["wobble"],
    ["symptom", "purple elephants"],
    ["symptom", "it is leaking"],
    ["schema", "nonsense"],
    ["schema"],
    ["property", "density", "--of", "nonsense"],
    ["process", "electrolyte", "--salt", "nonsense", "--volume", "500 mL"],
    ["fit", "nonsense.csv"],
    ["bench", "show", "A1"],
    ["bench", "show", "electrode", "A1"],
    ["mix", "nonsense"],
    ["log", "T9"],
]


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """An empty bench in a folder of its own, where the verbs run."""
    monkeypatch.chdir(tmp_path)
    BenchFile.create("bench.aerode", title="b").close()
    return "bench.aerode"


@pytest.mark.parametrize("words", WORDS, ids=" ".join)
def test_no_line_is_wider_than_eighty_columns(
    words: list[str], bench: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Answers and refusals alike; the first line, the verdict, may take a hundred."""
    run(words)
    told = capsys.readouterr()
    first, *rest = (told.out or told.err).rstrip("\n").split("\n")
    assert 0 < len(first) <= 100
    assert [line for line in rest if len(line) > 80] == []


def test_a_name_with_a_hyphen_is_not_cut_in_two() -> None:
    """An option that is to be typed stands whole on one line."""
    folded = lines(
        "name one of these; or, if it is new on this bench, say so with this: --new-factor"
    )
    assert any("--new-factor" in line for line in folded)
    assert all(len(line) <= 80 for line in folded)


# Runs each line of its input as a verb, in the folder it is started in, without the rights of a
# superuser (Linux: all capabilities dropped, capset(2); elsewhere tests do not run as one).
CHILD = """
import ctypes, io, json, os, sys
from contextlib import redirect_stderr, redirect_stdout
from aerode.cli.console import run
if hasattr(os, "geteuid") and os.geteuid() == 0:
    header, none = (ctypes.c_uint32 * 2)(0x20080522, 0), (ctypes.c_uint32 * 6)()
    assert ctypes.CDLL(None, use_errno=True).capset(header, none) == 0
assert not os.access(".", os.W_OK)
for words in json.load(sys.stdin):
    err = io.StringIO()
    with redirect_stderr(err), redirect_stdout(io.StringIO()):
        code = run(words)
    print(json.dumps([words, code, err.getvalue()]))
"""
WRITES = [
    ["log", "0.742", "V", "15", "ohm"],
    ["log", "0.742", "V", "-b", "new.aerode"],
    ["log", "T1", "0.4", "V", "15", "ohm", "--plan", "retro"],
    ["claim", "foo", "--at", "0.45 V"],
    ["compare", "--order"],
    ["mix", "--new", "M", "--want", "char=rest"],
    ["bench", "new", "other.aerode", "--title", "x"],
    ["bench", "import", "."],
    ["bench", "export", "out"],
    ["symptom", "white gel", "--on", "T1", "--cause", "1"],
    ["demo"],
]


def test_a_folder_that_may_not_be_written(bench: str, tmp_path: Path) -> None:
    """Each verb that writes says so in plain words, with what to do; none leaves a traceback or a file."""
    Path(bench).chmod(0o444)
    tmp_path.chmod(0o555)
    try:
        ran = subprocess.run(
            [sys.executable, "-c", CHILD], input=json.dumps(WRITES), capture_output=True, text=True,
            cwd=tmp_path, check=False, encoding="utf-8",
        )  # fmt: skip
    finally:
        tmp_path.chmod(0o755)
    assert ran.returncode == 0, ran.stderr
    told = [json.loads(line) for line in ran.stdout.splitlines()]

    assert [words for words, _, _ in told] == WRITES
    for words, code, said in told:
        assert code == 1, words
        assert said.startswith("Refused."), (words, said)
        assert "Next:" in said
        assert "Made a new" not in said
    assert [one.name for one in tmp_path.iterdir()] == [bench]
