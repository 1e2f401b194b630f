"""Start the pages on this computer: the port, the one-time link, the end."""

from __future__ import annotations

import socket
import sys
import threading
from typing import TYPE_CHECKING

from aerode.errors import InputError
from aerode.store.bench_file import BenchFile, now
from aerode.web.app import create_app
from aerode.web.guard.doors import Doors
from aerode.web.settings import Settings

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["free_port", "serve"]

_LOOPBACK = "127.0.0.1"
_TRIED = 20


def free_port(first: int) -> socket.socket:
    """A listening socket on this computer only, at `first` or the next port that is free.

    Raises
    ------
    InputError
        None of the next ports is free.
    """
    for port in range(first, first + _TRIED):
        door = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        try:
            door.bind((_LOOPBACK, port))
        except OSError:
            door.close()
            continue
        return door
    raise InputError(
        f"the ports {first} to {first + _TRIED - 1} are all taken",
        allowed="another number",
        next_step="stop another program, or give --port",
    )


def serve(bench: str, *, port: int, show: bool, say: Callable[[str], object]) -> None:
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

    Raises
    ------
    StoreError
        The bench cannot be opened.
    InputError
        No port is free.
    """
    import uvicorn

    BenchFile.open(bench).close()
    door = free_port(port)
    settings = Settings(bench=bench, port=door.getsockname()[1])
    doors = Doors(clock=now)

    def link() -> str:
        return f"http://{_LOOPBACK}:{settings.port}/enter?link={doors.new_link()}"

    first = link()
    say(f"The pages of {bench} are open on this computer only.")
    say(f"  {first}")
    say("This link lets one browser in, once. Enter: a fresh link. Ctrl-C: stop.")
    config = uvicorn.Config(
        create_app(settings, doors), log_level="warning", access_log=False, server_header=False,
        proxy_headers=False, timeout_keep_alive=15, h11_max_incomplete_event_size=65_536,
    )  # fmt: skip
    server = uvicorn.Server(config)
    _listen_for_enter(lambda: say(f"  {link()}"))
    if show:
        _open_browser(first)
    server.run(sockets=[door])
    say("Stopped. What was entered is on the bench.")


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
