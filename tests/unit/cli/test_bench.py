"""The verb `bench`, as typed: what is printed, in which order, with which exit code."""

from __future__ import annotations

import json
import re
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from aerode.cli.bench import command
from aerode.cli.console import run
from aerode.records.electrodes import Electrode
from aerode.store.bench_file import BenchFile

Typed = Callable[..., tuple[int, str, str]]


@pytest.fixture
def typed(capsys: pytest.CaptureFixture[str]) -> Typed:
    """Type `aerode bench …`; the answer is exit code, output and complaint."""

    def type_it(*arguments: str) -> tuple[int, str, str]:
        code = run(["bench", *arguments])
        said = capsys.readouterr()
        return code, said.out, said.err

    return type_it


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A bench with fifteen electrodes, one of them changed, made once."""
    path = tmp_path_factory.mktemp("filled") / "shed.aerode"
    with BenchFile.create(path, title="Net shed", who="Ida") as bench:
        bench.put_all([Electrode(name=f"T{n}", recipe="10-0") for n in range(15)])
        bench.put(Electrode(name="T3", recipe="10-0", note="thin"), why="looked again")
    return path


@pytest.fixture
def shed(filled: Path, tmp_path: Path) -> str:
    """A copy of it, alone in its folder."""
    shutil.copy(filled, tmp_path / "shed.aerode")
    return str(tmp_path / "shed.aerode")


def test_new(typed: Typed, tmp_path: Path) -> None:
    """The first line says what was made; the next one what to do."""
    path = str(tmp_path / "a.aerode")

    code, said, _ = typed("new", path, "--title", "Net shed")

    assert code == 0
    assert said.splitlines()[0] == f"Made {path}: Net shed"
    assert "aerode bench import" in said
    with BenchFile.open(path) as bench:
        assert len(bench.history()) == 1


def test_new_twice_is_refused(typed: Typed, shed: str) -> None:
    """Exit 1, and the bench that is there stays."""
    code, _, complaint = typed("new", shed, "--title", "again")

    assert code == 1
    assert "never overwritten" in complaint
    assert typed("check", "-b", shed)[0] == 0


def test_wrong_usage(typed: Typed) -> None:
    """Exit 2 for a missing title and for an unknown verb."""
    assert typed("new", "x.aerode")[0] == 2
    assert typed("burn")[0] == 2


def test_show(typed: Typed, shed: str) -> None:
    """Counts; a list of at most a dozen lines; every field of one record."""
    code, said, _ = typed("show", "-b", shed)
    assert (code, said.splitlines()) == (0, ["Net shed: 15 records", "  electrode       15"])

    _, said, _ = typed("show", "electrodes", "-b", shed)
    assert said.splitlines()[0] == "Net shed: 15 of kind electrode"
    assert "T3              recipe 10-0, note thin" in said
    assert said.splitlines()[-1] == "  and 3 more: --all shows them"
    assert "T14" in typed("show", "electrode", "--all", "-b", shed)[1]

    _, said, _ = typed("show", "electrode", "T3", "-b", shed)
    assert said.splitlines() == ["electrode T3", "  name: T3", "  recipe: 10-0", "  note: thin"]


def test_show_an_empty_bench(typed: Typed, tmp_path: Path) -> None:
    """It says what to do first."""
    BenchFile.create(tmp_path / "a.aerode", title="Net shed").close()

    assert "Next: aerode bench import FOLDER" in typed("show", "-b", str(tmp_path / "a.aerode"))[1]


def test_near_misses(typed: Typed, shed: str) -> None:
    """A wrong kind and a wrong name are answered with the near ones."""
    assert "electrode or electrolyte" in typed("show", "elektrode", "-b", shed)[2]
    code, _, complaint = typed("show", "electrode", "t3", "-b", shed)
    assert code == 1
    assert "T3" in complaint
    assert "aerode bench new" in typed("show", "-b", "nowhere.aerode")[2]


def test_history(typed: Typed, shed: str) -> None:
    """Each state with who, why and what changed."""
    _, said, _ = typed("history", "electrode", "T3", "-b", shed)

    assert said.splitlines()[0].startswith("2 states of electrode T3")
    assert "electrode T3 by Ida (looked again)" in said
    assert "    note added: thin" in said
    assert "5 older ones" in typed("history", "-b", shed)[1]
    assert len(typed("history", "--all", "-b", shed)[1].splitlines()) == 1 + 2 * 17


def test_history_of_all_that_can_happen(typed: Typed, shed: str) -> None:
    """Withdrawn, brought back, renamed."""
    with BenchFile.open(shed) as bench:
        bench.withdraw(Electrode, "T1", why="lost")
        bench.undo(Electrode, "T1")
        bench.rename(Electrode, "T1", "T1 old")

    _, said, _ = typed("history", "electrode", "T1", "-b", shed)

    for words in ("withdrawn", "brought back", "name: T1 -> T1 old"):
        assert f"    {words}" in said


def test_check(typed: Typed, shed: str) -> None:
    """Exit 0 and one line when whole; exit 1 with the record's name when not; lists are rebuilt."""
    code, said, _ = typed("check", "-b", shed)
    assert (code, said) == (0, "Whole: 17 states of 16 records agree with their digests\n")

    with sqlite3.connect(shed) as connection:
        connection.execute("UPDATE current SET name = 'T99' WHERE name = 'T4'")
    connection.close()
    code, said, _ = typed("check", "-b", shed)
    assert code == 1
    assert said.startswith("DAMAGED: electrode T4")
    assert "aerode bench check --rebuild" in said

    assert typed("check", "--rebuild", "-b", shed)[0] == 0
    assert typed("check", "-b", shed)[0] == 0


def test_reading_leaves_nothing_beside_the_file(typed: Typed, shed: str) -> None:
    """Show, history and check fold the log away again."""
    for verb in ("show", "history", "check"):
        typed(verb, "-b", shed)
    assert [Path(shed).name] == [path.name for path in Path(shed).parent.iterdir()]


@pytest.mark.parametrize(
    ("verb", "schema"),
    [("show", "aerode.bench-show/1"), ("history", "aerode.bench-history/1"), ("check", "aerode.bench-check/1")],
)  # fmt: skip
def test_json(typed: Typed, shed: str, verb: str, schema: str) -> None:
    """The same answer for scripts, `schema` first."""
    answer = json.loads(typed(verb, "-b", shed, "--json")[1])

    assert next(iter(answer.items())) == ("schema", schema)
    assert answer["headline"]


@pytest.mark.parametrize("verb", sorted(command.commands))
def test_help_has_an_example(typed: Typed, verb: str) -> None:
    """Every verb shows how it is typed."""
    code, said, _ = typed(verb, "--help")
    assert code == 0
    assert re.search(rf"Examples?: aerode bench {verb}", " ".join(said.split()))
    assert max(len(line) for line in said.splitlines()) <= 80
