"""A copy put in the place of the bench from a page: seen, confirmed, alone at the bench, refused where it must be."""

from __future__ import annotations

import re
import subprocess
import sys
import threading
import time
from datetime import timedelta
from html import unescape
from typing import TYPE_CHECKING

import pytest
from starlette.testclient import TestClient
from tests.unit.web.conftest import NOON, ORIGIN, PORT

from aerode.errors import BusyError
from aerode.records.electrodes import Electrode
from aerode.store.bench_file import BenchFile
from aerode.usecases import bench_copies
from aerode.web.app import create_app
from aerode.web.gate import Gate
from aerode.web.guard.doors import Doors, Role, Ways
from aerode.web.settings import Settings

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def copied(bench_place: Path) -> str:
    """The name of a backup; an electrode came after it."""
    made = bench_copies.back_up(bench_place, moment=NOON - timedelta(hours=2))
    with BenchFile.open(bench_place, clock=lambda: NOON, who="ann") as bench:
        bench.put(Electrode(name="T1"))
    return made.path.replace("\\", "/").rsplit("/", 1)[-1]


def _names(place: Path) -> list[str]:
    with BenchFile.open(place) as bench:
        return bench.names(Electrode)


def _text(answer: object) -> str:
    return unescape(re.sub(r"<[^>]+>", " ", str(getattr(answer, "text", ""))))


def test_from_the_list_to_the_bench(inside: TestClient, bench_place: Path, copied: str) -> None:
    """Chosen, looked at with what it would remove, refused without the name typed, done with it, and brought back."""
    assert copied in inside.get("/data/restore").text
    seen = inside.get("/data/restore/look", params={"backup": copied})
    said = _text(seen)
    assert "Putting it back removes 1 newer entry" in said
    assert "would go" not in said
    assert "Put a copy back · Net shed" in seen.text
    assert re.search(r"electrode\s+T1", said)
    assert "ann" in said

    unsaid = inside.post("/data/restore/do", data={"backup": copied, "word": "yes", "once": "a"})
    assert unsaid.status_code == 422
    assert _names(bench_place) == ["T1"]

    form = {"backup": copied, "word": "Shed.aerode", "once": "a"}
    done = inside.post("/data/restore/do", data=form)
    again = inside.post("/data/restore/do", data=form)
    assert done.status_code == again.status_code == 200
    assert "Put back and checked" in done.text
    assert _names(bench_place) == []
    copies = bench_copies.list_backups(bench_place).backups
    safety = next(one for one in copies if one.why == "before putting back")

    name = safety.path.replace("\\", "/").rsplit("/", 1)[-1]
    offered = inside.post("/data/restore/bring", data={"backup": name}, follow_redirects=False)
    place = offered.headers["location"]
    assert "1" in inside.get(place).text
    inside.post(f"{place}/take", data={})
    assert _names(bench_place) == ["T1"]


def test_the_title_of_the_bench_stands_on_pages_that_do_not_open_it(inside: TestClient) -> None:
    """Put a copy back, who is in: the same title as everywhere."""
    for place in ("/data/restore", "/visitors"):
        page = inside.get(place).text
        assert '<a class="bench-name" href="/">Net shed</a>' in page, place


def test_a_bench_file_handed_in(inside: TestClient, bench_place: Path, tmp_path: Path) -> None:
    """Another bench is said to be another one; a table of readings is no copy."""
    other = tmp_path / "boat.aerode"
    with BenchFile.create(other, title="Boat house") as bench:
        bench.put(Electrode(name="B1"))
    sent = inside.post("/data/restore/file", files={"file": ("boat.aerode", other.read_bytes())})
    mark = str(sent.url).rsplit("=", 1)[-1]
    wrong = inside.post("/data/restore/file", files={"file": ("log.csv", b"t;U\n0;1\n")})

    assert "no copy of this bench" in sent.text
    assert wrong.status_code == 400
    assert "no whole bench" in wrong.text
    done = inside.post("/data/restore/do", data={"file": mark, "word": "shed"})
    assert done.status_code == 200, done.text
    assert _names(bench_place) == ["B1"]
    assert "Boat house" in inside.get("/").text


def test_a_damaged_bench_still_leads_to_its_copies(
    inside: TestClient, bench_place: Path, copied: str
) -> None:
    """No page of the bench can be read then, but this one, which mends it."""
    bench_place.write_bytes(b"spilled coffee")
    assert inside.get("/runs").status_code == 400
    seen = inside.get("/data/restore/look", params={"backup": copied})
    assert "cannot be read" in seen.text
    done = inside.post("/data/restore/do", data={"backup": copied, "word": "shed.aerode"})
    assert done.status_code == 200, done.text
    assert inside.get("/runs").status_code == 200


@pytest.mark.parametrize("role", [Role.MEMBER, Role.READER])
def test_only_the_owner(bench_place: Path, copied: str, doors: Doors, role: Role) -> None:
    """A member and a reader see the copies and are offered nothing; what they post is turned away."""
    app = create_app(Settings(bench=str(bench_place), port=PORT, clock=lambda: NOON), doors)
    browser = TestClient(app, base_url=ORIGIN, headers={"origin": ORIGIN})
    browser.cookies.set(f"aerode-{PORT}", doors.let_in(who="bo", way=Ways.NETWORK, role=role))

    seen = browser.get("/data/restore/look", params={"backup": copied})
    assert "Only the owner" in seen.text
    assert "/data/restore/do" not in seen.text
    for path in ("do", "file", "bring"):
        refused = browser.post(f"/data/restore/{path}", data={"backup": copied, "word": "shed"})
        assert refused.status_code == 403
    assert _names(bench_place) == ["T1"]


def test_names_that_are_no_copy(inside: TestClient, copied: str) -> None:
    """Only what is on the list is taken: no path leads elsewhere."""
    for name in ("", "../shed.aerode", "/etc/passwd", f"./{copied}", "shed.aerode"):
        assert inside.get("/data/restore/look", params={"backup": name}).status_code == 404
        assert inside.post("/data/restore/do", data={"backup": name, "word": "shed"}).status_code in {404, 422}  # fmt: skip


def test_another_program_has_the_bench_open(
    inside: TestClient, bench_place: Path, copied: str
) -> None:
    """Another process at the bench: a refusal that says so, the bench as it was, no copy left over."""
    held = (
        "import sys\nfrom aerode.store.bench_file import BenchFile\n"
        "bench = BenchFile.open(sys.argv[1]); bench.newest(); print('open', flush=True)\n"
        "sys.stdin.readline(); bench.close()"
    )
    other = subprocess.Popen([sys.executable, "-c", held, str(bench_place)],
                             stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)  # fmt: skip
    assert other.stdout is not None
    other.stdout.readline()
    refused = inside.post("/data/restore/do", data={"backup": copied, "word": "shed"})
    other.communicate("\n")

    assert refused.status_code == 503
    assert "nother program has this bench open" in refused.text
    assert _names(bench_place) == ["T1"]
    assert len(bench_copies.list_backups(bench_place).backups) == 1


def test_requests_wait_while_the_file_is_swapped(
    inside: TestClient,
    doors: Doors,
    bench_place: Path,
    copied: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A page asked for meanwhile is answered afterwards, from the copy; the counters of loggers begin anew."""
    from aerode.web.pages import restore

    state = inside.app.app.state  # type: ignore[attr-defined]
    counted = state.counted
    begun, slow = threading.Event(), restore.put_back

    def slowly(*said: object, **more: object) -> object:
        begun.set()
        time.sleep(0.4)
        return slow(*said, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(restore, "put_back", slowly)
    second = TestClient(inside.app, base_url=ORIGIN, headers={"origin": ORIGIN})
    second.get("/enter", params={"link": doors.new_link()})
    answers: list[str] = []

    def ask() -> None:
        begun.wait(5.0)
        answers.append(second.get("/electrodes").text)

    asking = threading.Thread(target=ask)
    asking.start()
    done = inside.post("/data/restore/do", data={"backup": copied, "word": "shed"})
    asking.join(10.0)

    assert done.status_code == 200
    assert len(answers) == 1
    assert "T1" not in answers[0]
    assert state.counted is not counted


def test_the_gate() -> None:
    """Alone only when the others have left; refused when they stay, and open again after that."""
    gate = Gate(wait=0.05)
    with gate.among():
        with pytest.raises(BusyError, match="another page"), gate.alone():
            pytest.fail("somebody was still there")
        with gate.among():
            assert gate.inside == 2
    with gate.alone(), pytest.raises(BusyError, match="just now"), gate.alone():
        pytest.fail("two were alone")
    with gate.among():
        assert gate.inside == 1
