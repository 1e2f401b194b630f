"""The solver made ready beside the pages: begun once, looked at, ended; a mark says that it is done."""

from __future__ import annotations

import sys
import time
from pathlib import Path

import pytest

from aerode.physics.cathode import compiled
from aerode.usecases import simulate_ready
from aerode.usecases.simulate_ready import PARTS, GettingReady, Standing, is_ready

pytestmark = pytest.mark.skipif(not compiled.available(), reason="without the compiling library")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty cache folder."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    return tmp_path / "aerode" / "compiled"


def _sleeping(seconds: float, code: int = 0) -> list[str]:
    return [sys.executable, "-c", f"import sys, time; time.sleep({seconds}); sys.exit({code})"]


def _ended(work: GettingReady) -> Standing | None:
    standing = work.standing()
    for _ in range(200):
        if standing is None:
            return None
        time.sleep(0.05)
        standing = work.standing()
    return standing


def test_it_counts_what_the_solver_has() -> None:
    """As many parts as the solver has loops to translate."""
    names = compiled._NAMES  # pyright: ignore[reportPrivateUsage]

    assert sum(len(each) for each in names.values()) == PARTS


def test_how_far_it_is_and_the_mark_at_the_end(folder: Path) -> None:
    """Files that were there before do not count; at the end the next start has nothing to do."""
    work = GettingReady(_sleeping(1.5))
    (folder / "old").mkdir(parents=True)
    (folder / "old" / "mesh.nbi").touch()
    work.start()
    (folder / "old" / "walk.nbi").touch()
    standing = work.standing()
    assert standing is not None
    assert (standing.done, standing.of) == (1, PARTS)
    assert not is_ready()

    assert _ended(work) is None
    assert is_ready()
    again = GettingReady(_sleeping(60))
    again.start()
    assert again.standing() is None


def test_a_failure_leaves_the_work_to_the_page(folder: Path) -> None:
    """No mark, and nothing to wait for."""
    work = GettingReady(_sleeping(0, code=3))
    work.start()

    assert _ended(work) is None
    assert not list(folder.glob("ready-*"))


def test_stopped_with_the_pages(folder: Path) -> None:
    """The other program ends too, and no mark is left."""
    work = GettingReady(_sleeping(60))
    work.start()
    assert work.standing() is not None
    work.stop()

    assert work.standing() is None
    assert not list(folder.glob("ready-*"))


def test_what_takes_too_long_is_given_up(folder: Path) -> None:
    """After ten minutes the page does not wait any more."""
    assert folder.parent.parent.is_dir()
    now = [0.0]
    work = GettingReady(_sleeping(60), clock=lambda: now[0])
    work.start()
    now[0] = 601.0

    assert work.standing() is None


def test_without_the_library_there_is_nothing_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    """The plain solver waits for nothing."""

    def missing(_: str) -> str:
        raise simulate_ready.PackageNotFoundError

    monkeypatch.setattr(simulate_ready, "version", missing)
    work = GettingReady(_sleeping(60))
    work.start()

    assert work.standing() is None
    assert is_ready()


def test_the_mark_belongs_to_the_place_of_the_program(folder: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:  # fmt: skip
    """The same version installed elsewhere has its translated code elsewhere: it is not ready yet."""
    work = GettingReady(_sleeping(0))
    work.start()
    assert _ended(work) is None
    assert is_ready()
    copy = tmp_path / "elsewhere"
    copy.mkdir()
    for file in Path(str(compiled.__file__)).parent.glob("*.py"):
        (copy / file.name).write_bytes(file.read_bytes())
    monkeypatch.setattr(compiled, "__file__", str(copy / "compiled.py"))

    assert not is_ready()
