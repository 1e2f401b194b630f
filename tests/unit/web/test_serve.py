"""Starting the pages: where they answer, for whom, and what the terminal says."""

from __future__ import annotations

import json
import socket
import stat
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from aerode import cli
from aerode.cli.serve import command
from aerode.errors import AerodeError, InputError, NotFoundError, OlderFileError
from aerode.web import serving
from aerode.web.guard.doors import Role
from aerode.web.guard.users import Brake, Users, hashed, store_user

_CHEAP = {"n": 16, "r": 1, "p": 1}


@pytest.fixture(autouse=True)
def _cheap_hashes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hashing is slow on purpose; here it need not be."""
    monkeypatch.setattr("aerode.web.guard.users._COST", _CHEAP)


def _free() -> int:
    with socket.socket() as door:
        door.bind(("127.0.0.1", 0))
        return int(door.getsockname()[1])


def test_it_answers_on_loopback_alone(bench_place: Path) -> None:
    """One socket, bound to this computer only."""
    settings, opened = serving.prepared(str(bench_place), port=_free())
    bound = [door.getsockname()[0] for door in opened]
    for door in opened:
        door.close()

    assert bound == ["127.0.0.1"]
    assert settings.addresses == {"127.0.0.1", "localhost"}
    assert settings.users is None


def test_a_taken_port_is_passed_over() -> None:
    """The next free one is taken; when twenty are taken it is said so."""
    first = serving.free_port(_free())
    second = serving.free_port(first.getsockname()[1])
    taken = second.getsockname()[1]
    first.close()
    second.close()

    assert taken > 0
    with pytest.raises(InputError, match="all taken"):
        serving.free_port(8642, ("203.0.113.7",))  # a test address (RFC 5737): never ours


def test_a_phone_gets_one_more_address_and_no_other(
    bench_place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Loopback and the one address on the local network, at the same port; that host name is answered."""
    monkeypatch.setattr(serving, "local_address", lambda: "127.0.0.2")
    settings, opened = serving.prepared(str(bench_place), port=_free(), phone=True)
    bound = [door.getsockname() for door in opened]
    for door in opened:
        door.close()

    assert [place[0] for place in bound] == ["127.0.0.1", "127.0.0.2"]
    assert len({place[1] for place in bound}) == 1
    assert f"127.0.0.2:{settings.port}" in settings.hosts()
    assert settings.phone_at == "127.0.0.2"


def test_a_computer_on_no_local_network_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """Loopback and public addresses are not offered to a phone."""

    class Probe:
        def __init__(self, *_: object) -> None: ...
        def __enter__(self) -> Probe:
            return self

        def __exit__(self, *_: object) -> None: ...
        def connect(self, _: object) -> None: ...
        def getsockname(self) -> tuple[str, int]:
            return ("8.8.8.8", 1)

    monkeypatch.setattr(serving.socket, "socket", Probe)
    with pytest.raises(InputError, match="no local network"):
        serving.local_address()


def test_a_lab_needs_users_with_an_owner(bench_place: Path, tmp_path: Path) -> None:
    """No file, or nobody who could show others out: it does not start."""
    users = tmp_path / "lab.json"
    lab = serving.Lab(host="127.0.0.2", users=str(users))
    with pytest.raises(NotFoundError):
        serving.prepared(str(bench_place), port=_free(), lab=lab)
    told = {"users": [{"name": "r", "role": "reader", "hash": hashed("long enough", cost=_CHEAP)}]}
    users.write_text(json.dumps(told), "utf-8")
    with pytest.raises(InputError, match="owner"):
        serving.prepared(str(bench_place), port=_free(), lab=lab)


@pytest.mark.parametrize("host", ["0.0.0.0", "no.such.host.invalid"])
def test_a_lab_answers_under_one_address(bench_place: Path, tmp_path: Path, host: str) -> None:
    """Never under every address at once, nor under a name that leads nowhere."""
    store_user(tmp_path / "lab.json", "ann", Role.OWNER, "long enough")
    lab = serving.Lab(host=host, users=str(tmp_path / "lab.json"))
    with pytest.raises(InputError, match="address"):
        serving.prepared(str(bench_place), port=_free(), lab=lab)


@pytest.mark.parametrize(
    "words",
    [["--host", "192.168.1.5"], ["--lab"], ["--lab", "--users", "x.json"], ["--lab", "--host", "192.168.1.5"], ["--users", "x.json"], ["--lab", "--phone"], ["--add-user", "ann"]],
)  # fmt: skip
def test_beyond_this_computer_only_with_everything_that_belongs_to_it(words: list[str]) -> None:
    """An address without the flag, the flag without users: wrong usage, exit 2, nothing is opened."""
    found = CliRunner().invoke(command, [*words, "--bench", "/nowhere/x.aerode"])

    assert found.exit_code == 2
    assert "New bench" not in found.output


def test_a_phone_is_asked_about_first(bench_place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a yes in the terminal nothing is opened."""
    monkeypatch.setattr(serving, "serve", lambda *_, **__: pytest.fail("it was opened"))  # pyright: ignore[reportUnknownArgumentType]
    found = CliRunner().invoke(command, ["--phone", "--bench", str(bench_place)], input="n\n")

    assert found.exit_code == 1
    assert "Let one phone" in found.output


@pytest.mark.parametrize(("typed", "opened"), [("y\n", True), ("n\n", False)])
def test_an_older_bench_is_brought_up_to_date_where_that_is_wanted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, typed: str, opened: bool
) -> None:
    """Asked first, with a backup; without a yes nothing is changed and the refusal says what to do."""
    frozen = Path(__file__).parents[2] / "store" / "frozen" / "schema-1.aerode"
    bench = tmp_path / "old.aerode"
    bench.write_bytes(frozen.read_bytes())
    served: list[str] = []
    monkeypatch.setattr(serving, "serve", lambda place, **_: served.append(place))  # pyright: ignore[reportUnknownArgumentType, reportUnknownLambdaType]

    found = CliRunner().invoke(command, ["--bench", str(bench), "--no-open"], input=typed)

    assert (served == [str(bench)]) is opened
    assert "Bring it up to date now?" in found.output
    assert isinstance(found.exception, OlderFileError) is not opened


def test_without_a_verb_the_pages_open(monkeypatch: pytest.MonkeyPatch) -> None:
    """Plain `aerode` is `aerode serve`."""
    ran: list[list[str]] = []

    def run(words: list[str]) -> int:
        ran.append(words)
        return 0

    monkeypatch.setattr("aerode.cli.console.run", run)
    with pytest.raises(SystemExit) as stop:
        cli.main([])

    assert stop.value.code == 0
    assert ran == [["serve"]]


def test_the_terminal_says_who_may_come(bench_place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The link, the code of the phone, the end; the server is asked for on those sockets."""
    import uvicorn

    served: list[Any] = []

    def run(_: object, sockets: list[socket.socket]) -> None:
        served.extend(door.getsockname()[0] for door in sockets)
        for door in sockets:
            door.close()

    monkeypatch.setattr(uvicorn.Server, "run", run)
    monkeypatch.setattr(serving, "local_address", lambda: "127.0.0.2")
    said: list[str] = []
    serving.serve(str(bench_place), port=_free(), show=False, say=said.append, phone=True)
    text = "\n".join(said)

    assert served == ["127.0.0.1", "127.0.0.2"]
    assert "/enter?link=" in text
    assert "Point the phone's camera here" in text
    assert "█" in text
    assert text.endswith("What was entered is on the bench.")


def test_the_server_keeps_no_log_of_addresses(bench_place: Path) -> None:
    """A link stands in an address: no access log; no sockets; a bound on what is answered at once."""
    from aerode.store.bench_file import now
    from aerode.web.app import create_app
    from aerode.web.guard.doors import Doors
    from aerode.web.settings import Settings

    made = serving._config(create_app(Settings(bench=str(bench_place), port=1), Doors(clock=now)))  # pyright: ignore[reportPrivateUsage]

    assert made.access_log is False
    assert made.proxy_headers is False
    assert made.ws == "none"
    assert made.limit_concurrency is not None


def test_users_are_kept_as_hashes_for_their_owner_only(tmp_path: Path) -> None:
    """The file holds no password, opens for its owner alone, and a second writing changes the first."""
    place = tmp_path / "lab.json"
    store_user(place, "ann", Role.OWNER, "correct horse")
    store_user(place, "ben", Role.READER, "battery staple")
    store_user(place, "ann", Role.OWNER, "another horse")
    text = place.read_text("utf-8")
    users = Users.read(place)

    assert "horse" not in text
    assert stat.S_IMODE(place.stat().st_mode) == 0o600
    assert users.check("ann", "correct horse") is None
    found = users.check("ann", "another horse")
    assert found is not None
    assert found.role is Role.OWNER
    assert users.check("nobody", "another horse") is None
    for name, password in (("", "long enough"), ("x", "short"), ("x", "x" * 1000)):
        with pytest.raises(AerodeError):
            store_user(place, name, Role.MEMBER, password)


def test_scrypt_is_the_published_one() -> None:
    """RFC 7914, section 12, test vector 2: password, NaCl, N 1024, r 8, p 16 (first 32 of 64 bytes)."""
    import base64

    kept = hashed("password", salt=b"NaCl", cost={"n": 1024, "r": 8, "p": 16})
    expected = "fdbabe1c9d3472007856e7190d01e9fe7c6ad7cbc8237830e77376634b373162"

    assert base64.b64decode(kept.split("$")[-1]).hex() == expected


@pytest.mark.parametrize("kept", ["", "plain$x", "scrypt$a$8$1$x$y", f"scrypt${2**30}$8$1$eA==$eA==", "scrypt$16$1$1$***$x", "bcrypt$16$1$1$eA==$eA=="])  # fmt: skip
def test_a_damaged_hash_opens_nothing(tmp_path: Path, kept: str) -> None:
    """Nor does it ask for endless memory."""
    place = tmp_path / "lab.json"
    place.write_text(
        json.dumps({"users": [{"name": "ann", "role": "owner", "hash": kept}]}), "utf-8"
    )

    assert Users.read(place).check("ann", "long enough") is None


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"users": [1]}', '{"users": [{"name": "a", "role": "king", "hash": ""}]}'])  # fmt: skip
def test_a_file_that_holds_no_users_is_refused(tmp_path: Path, text: str) -> None:
    """With a sentence, not a trace."""
    place = tmp_path / "lab.json"
    place.write_text(text, "utf-8")
    with pytest.raises(InputError):
        Users.read(place)


def test_guessing_is_braked_and_let_go_again() -> None:
    """Five wrong ones, then a quarter of an hour; by name and by place; what is kept is bounded."""
    now = [0.0]
    brake = Brake(lambda: now[0])
    for _ in range(5):
        assert brake.wait("name ann", "at 1") == 0.0
        brake.note("name ann", "at 1")
    assert brake.wait("name ann", "at 2") == pytest.approx(900.0)
    assert brake.wait("name ben", "at 1") == pytest.approx(900.0)
    assert brake.wait("name ben", "at 2") == 0.0
    now[0] = 901.0
    assert brake.wait("name ann", "at 1") == 0.0
    brake.note("name ann")
    brake.clear("name ann")
    assert brake.wait("name ann") == 0.0
