"""Start the pages: on this computer, for one phone beside it, or for a lab; the links; the end."""

from __future__ import annotations

import ipaddress
import socket
import sys
import threading
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from aerode.errors import InputError
from aerode.store.bench_file import BenchFile, now
from aerode.usecases.simulate_ready import GettingReady
from aerode.web.app import create_app
from aerode.web.guard.doors import Doors, Role, Ways
from aerode.web.guard.users import Users
from aerode.web.settings import Settings

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

__all__ = ["Lab", "free_port", "local_address", "prepared", "serve"]

_LOOPBACK = "127.0.0.1"
_TRIED = 20
_AT_ONCE = 100
"""Requests that are answered at once; more are sent away with 503."""


@dataclass(frozen=True, slots=True)
class Lab:
    """A bench shared by a lab: the address it answers under, and the file of its users."""

    host: str
    users: str


def free_port(first: int, addresses: Sequence[str] = (_LOOPBACK,)) -> socket.socket:
    """A socket on this computer only, at `first` or the next port that is free.

    Raises
    ------
    InputError
        None of the next ports is free.
    """
    return _doors_at(first, addresses)[0]


def _doors_at(first: int, addresses: Sequence[str]) -> list[socket.socket]:
    """One socket for each address, all at the same port."""
    for port in range(first, first + _TRIED):
        opened: list[socket.socket] = []
        try:
            for address in addresses:
                door = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
                opened.append(door)
                door.bind((address, port))
        except OSError:
            for door in opened:
                door.close()
            continue
        return opened
    raise InputError(
        f"the ports {first} to {first + _TRIED - 1} are all taken",
        where=" and ".join(addresses),
        allowed="another number, and an address of this computer",
        next_step="stop another program, or give --port",
    )


def local_address() -> str:
    """The address of this computer on the local network, as its own routing table has it; nothing is sent.

    Raises
    ------
    InputError
        It is on no network, or only on a public one.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # a test address (RFC 5737): a route, no packet
            found = str(probe.getsockname()[0])
        except OSError:
            found = _LOOPBACK
    told = ipaddress.ip_address(found)
    if told.is_loopback or not told.is_private:
        raise InputError(
            "this computer is on no local network that a phone could share",
            where=found,
            next_step="join the same wireless network as the phone, then start again",
        )
    return found


def _lab_address(host: str) -> str:
    """The one address behind a host name; never every address of the computer at once."""
    try:
        found = socket.gethostbyname(host)
    except OSError as problem:
        raise InputError(f"{host} is no address of this computer", where="--host") from problem
    if ipaddress.ip_address(found).is_unspecified:
        raise InputError(
            f"{host} stands for every address of this computer at once",
            where="--host",
            allowed="one address or name, under which people will open the pages",
        )
    return found


def prepared(
    bench: str, *, port: int, phone: bool = False, lab: Lab | None = None
) -> tuple[Settings, list[socket.socket]]:
    """The settings of this start, and the sockets it answers on: loopback always, and one more if asked.

    Raises
    ------
    StoreError
        The bench cannot be opened.
    InputError
        No port is free; no local network; a lab without users.
    """
    BenchFile.open(bench).close()
    addresses = [_LOOPBACK]
    users = Users.read(lab.users) if lab is not None else None
    extra = local_address() if phone else _lab_address(lab.host) if lab is not None else ""
    if extra and extra not in addresses:
        addresses.append(extra)
    opened = _doors_at(port, addresses)
    settings = Settings(bench=bench, port=opened[0].getsockname()[1], users=users)
    settings.addresses |= {*addresses, *([lab.host.lower()] if lab is not None else [])}
    settings.phone_at = extra if phone else ""
    return settings, opened


def serve(
    bench: str,
    *,
    port: int,
    show: bool,
    say: Callable[[str], object],
    phone: bool = False,
    lab: Lab | None = None,
) -> None:
    """Serve the pages of a bench until somebody stops it.

    Parameters
    ----------
    bench : str
        The bench file, or the address of a shared database.
    port : int
        The first port to try.
    show : bool
        Whether to open the browser.
    say : callable
        Prints a line.
    phone : bool
        Whether one phone on the local network may come in too.
    lab : Lab, optional
        The address and the users of a lab.

    Raises
    ------
    StoreError
        The bench cannot be opened.
    InputError
        No port is free; no local network; a lab without users.
    """
    import uvicorn

    settings, opened = prepared(bench, port=port, phone=phone, lab=lab)
    doors = Doors(clock=now)

    def link() -> str:
        return f"http://{_LOOPBACK}:{settings.port}/enter?link={doors.new_link()}"

    first = link()
    for line in _greeting(settings, first, lab):
        say(line)
    if settings.phone_at:
        secret = doors.new_link(way=Ways.PHONE, role=Role.MEMBER)
        _show_code(f"http://{settings.phone_at}:{settings.port}/enter?link={secret}", say)
    server = uvicorn.Server(_config(create_app(settings, doors)))
    _listen_for_enter(lambda: say(f"  {link()}"))
    if show:
        _open_browser(first)
    settings.ready = GettingReady()
    settings.ready.start()
    try:
        server.run(sockets=opened)
    finally:
        settings.ready.stop()
    say("Stopped. What was entered is on the bench.")


def _config(app: Any) -> Any:
    import uvicorn

    return uvicorn.Config(
        app, log_level="warning", access_log=False, server_header=False, proxy_headers=False, ws="none",
        timeout_keep_alive=15, timeout_graceful_shutdown=2, limit_concurrency=_AT_ONCE,
        h11_max_incomplete_event_size=65_536,
    )  # fmt: skip


def _greeting(settings: Settings, first: str, lab: Lab | None) -> list[str]:
    if lab is not None:
        head = [
            f"The pages of {settings.bench} are open at http://{lab.host}:{settings.port}/login",
            "to those who have a name and a password. What they type is not encrypted on its way:",
            "put a proxy with a certificate in front of it, or use it on a network you trust.",
        ]
    elif settings.phone_at:
        head = [f"The pages of {settings.bench} are open on this computer and, to one phone, on this network."]  # fmt: skip
    else:
        head = [f"The pages of {settings.bench} are open on this computer only."]
    return [*head, f"  {first}", "This link lets one browser in, once. Enter: a fresh link. Ctrl-C: stop."]  # fmt: skip


def _show_code(link: str, say: Callable[[str], object]) -> None:
    """The one-time code of a phone in the terminal."""
    import io

    import segno

    drawn = io.StringIO()
    segno.make(link, error="l").terminal(out=drawn, border=2, compact=True)
    say("Point the phone's camera here; it opens once, within half an hour:")
    say(drawn.getvalue())


def _listen_for_enter(give: Callable[[], object]) -> None:
    if not sys.stdin or not sys.stdin.isatty():
        return

    def listen() -> None:
        for _ in sys.stdin:
            give()

    threading.Thread(target=listen, daemon=True).start()


def _open_browser(place: str) -> None:
    import webbrowser

    threading.Timer(0.6, webbrowser.open, [place]).start()
