"""The guard itself: every request passes here first, every answer leaves through here."""

from __future__ import annotations

import asyncio
import logging
import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeAlias

from starlette.exceptions import HTTPException

from aerode.web.guard.doors import Role, Scope
from aerode.web.guard.rules import HEADERS, Limits, body_limit, is_for_owners, is_open, is_safe

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable, MutableMapping

    from aerode.web.guard.doors import Doors, Key, Visitor

    Message: TypeAlias = MutableMapping[str, Any]
    Receive: TypeAlias = Callable[[], Awaitable[Message]]
    Send: TypeAlias = Callable[[Message], Awaitable[None]]
    App: TypeAlias = Callable[[Message, Receive, Send], Awaitable[None]]

__all__ = ["Guard", "Refusal", "TooMuchError"]


_LOG = logging.getLogger("aerode.web")
_MOST_COOKIES = 8
_LONGEST_LENGTH = 15
"""Digits of a content-length that are read."""


class TooMuchError(HTTPException):
    """More bytes than the path may bring, or they came too slowly: answered like any refusal."""


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why somebody is turned away, as a status and a sentence."""

    status: int
    what: str


class Guard:
    """ASGI middleware with all the rules of the door.

    Parameters
    ----------
    app : callable
        What lies behind.
    doors : Doors
        Who may come in.
    hosts : collection of str
        What may stand in the Host header: name and port.
    cookie : str
        Name of the cookie; it holds the port, because browsers share cookies between ports.
    limits : Limits
        Caps on bodies.
    refused : callable
        Makes the page of a refusal: `(scope, Refusal) -> (media type, bytes)`.
    """

    def __init__(
        self,
        app: App,
        *,
        doors: Doors,
        hosts: Callable[[], frozenset[str]],
        cookie: str,
        limits: Limits,
        refused: Callable[[Message, Refusal], tuple[str, bytes]],
    ) -> None:
        self.app = app
        self.doors = doors
        self.hosts = hosts
        self.cookie = cookie
        self.limits = limits
        self.refused = refused

    async def __call__(self, scope: Message, receive: Receive, send: Send) -> None:
        """Pass one request on, or turn it away."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return  # there are no web sockets here

        answer = _Answer(send)
        headers = _headers(scope)
        refusal = self._refusal(scope, headers)
        if refusal is not None:
            await self._turn_away(scope, answer, refusal)
            return
        counted = _Counted(receive, body_limit(scope["path"], self.limits), self.limits.seconds)
        if _declared(headers) > counted.most:
            await self._turn_away(scope, answer, counted.refusal())
            return
        try:
            await self.app(scope, counted, answer)
        except Exception as fault:
            if answer.whole:
                return  # the page of the fault has left, and the log holds the trace
            if answer.begun:
                raise  # cut off in the middle: the connection has to end
            _LOG.error("fault at the door", exc_info=fault)
            await self._turn_away(scope, answer, Refusal(500, "the program has a fault here"))

    def _refusal(self, scope: Message, headers: dict[str, list[str]]) -> Refusal | None:
        """The first rule that this request breaks."""
        hosts = headers.get("host", [])
        if len(hosts) != 1 or hosts[0].lower() not in self.hosts():
            return Refusal(421, "this bench does not answer to that host name")
        state: dict[str, Any] = scope.setdefault("state", {})
        key = self._key(headers)
        visitor = self._visitor(headers)
        state["visitor"], state["key"] = visitor, key
        path = scope["path"]
        if key is None and "authorization" in headers:
            return Refusal(401, "this key opens nothing, or it was taken back")
        if (
            not is_safe(scope["method"])
            and key is None
            and not self._same_origin(headers, hosts[0])
        ):
            return Refusal(403, "the request does not come from a page of this bench")
        if is_open(path):
            return None
        if key is not None:
            return _key_refusal(key, scope["method"], path)
        if visitor is None:
            return Refusal(401, "you are not in yet, or the session has ended")
        if visitor.role is not Role.OWNER and not is_safe(scope["method"]) and is_for_owners(path):
            return Refusal(403, "only the owner of the bench may do this")
        asks = path == "/leave" or path.startswith("/json/ask/")  # questions change nothing
        if visitor.role is Role.READER and not is_safe(scope["method"]) and not asks:
            return Refusal(403, "you may read this bench, and not change it")
        return None

    def _key(self, headers: dict[str, list[str]]) -> Key | None:
        sent = headers.get("authorization", [])
        if len(sent) != 1 or not sent[0].startswith("Bearer "):
            return None
        return self.doors.key(sent[0].removeprefix("Bearer ").strip())

    def _visitor(self, headers: dict[str, list[str]]) -> Visitor | None:
        """Who is in. Pages on other ports of this computer can add cookies of the same name: each is tried."""
        for value in _cookies(headers, self.cookie)[:_MOST_COOKIES]:
            visitor = self.doors.visitor(value)
            if visitor is not None:
                return visitor
        return None

    def _same_origin(self, headers: dict[str, list[str]], host: str) -> bool:
        origins = headers.get("origin", [])
        own = {f"{scheme}://{host.lower()}" for scheme in ("http", "https")}
        return len(origins) == 1 and origins[0].lower() in own

    async def _turn_away(self, scope: Message, send: Send, refusal: Refusal) -> None:
        media, body = self.refused(scope, refusal)
        headers = [(b"content-type", media.encode()), (b"content-length", str(len(body)).encode())]
        await send({"type": "http.response.start", "status": refusal.status, "headers": headers})
        await send(
            {"type": "http.response.body", "body": b"" if scope["method"] == "HEAD" else body}
        )


def _key_refusal(key: Key, method: str, path: str) -> Refusal | None:
    """A key opens the JSON interface; a logger's key only the readings of its run.

    `path` is compared as the routes see it: with its escapes taken out.
    """
    if not path.startswith("/json/"):
        return Refusal(403, "a key opens the JSON interface only")
    if key.scope is Scope.READINGS and not (
        method == "POST" and path == f"/json/runs/{key.run}/readings"
    ):
        return Refusal(403, "this key posts readings to its own run and opens nothing else")
    return None


class _Answer:
    """What leaves: every answer carries our headers, and we know how far it came."""

    def __init__(self, send: Send) -> None:
        self.send = send
        self.begun = False
        self.whole = False

    async def __call__(self, message: Message) -> None:
        """Pass one message on."""
        if message["type"] == "http.response.start":
            self.begun = True
            message = {**message, "headers": _with_headers(message.get("headers", []))}
        await self.send(message)
        if message["type"] == "http.response.body" and not message.get("more_body", False):
            self.whole = True


class _Counted:
    """The body of a request, counted as it comes: a length header is only a promise."""

    def __init__(self, receive: Receive, most: int, seconds: float) -> None:
        self.receive = receive
        self.most = most
        self.seconds = seconds
        self.came = 0
        self.until: float | None = None
        self.whole = False

    def refusal(self) -> Refusal:
        """What is said to somebody who sends too much."""
        return Refusal(413, f"more than {self.most / 1e6:g} MB was sent")

    async def __call__(self) -> Message:
        """The next piece of the body."""
        if self.whole:
            return await self.receive()  # waits for the other side to go away
        now = asyncio.get_running_loop().time()
        self.until = self.until or now + self.seconds
        try:
            message = await asyncio.wait_for(self.receive(), max(0.0, self.until - now))
        except TimeoutError:
            raise TooMuchError(408, "the request took too long to arrive") from None
        if message["type"] == "http.request":
            self.came += len(message.get("body", b""))
            if self.came > self.most:
                raise TooMuchError(413, self.refusal().what)
            self.whole = not message.get("more_body", False)
        return message


def _headers(scope: Message) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for name, value in scope["headers"]:
        found.setdefault(name.decode("latin-1").lower(), []).append(value.decode("latin-1"))
    return found


def _cookies(headers: dict[str, list[str]], name: str) -> list[str]:
    """Every value of the cookie of that name (RFC 6265, section 5.4); what cannot be read is passed over."""
    found: list[str] = []
    for line in headers.get("cookie", []):
        for part in line.split(";"):
            key, equals, value = part.strip().partition("=")
            if equals and key == name:
                found.append(value.strip().strip('"'))
    return found


def _declared(headers: dict[str, list[str]]) -> int:
    """The length that the request says it has; one that is no length counts as endless."""
    lengths = headers.get("content-length", ["0"])
    text = lengths[0].strip()
    if len(lengths) != 1 or not text.isascii() or not text.isdigit() or len(text) > _LONGEST_LENGTH:
        return sys.maxsize
    return int(text)


def _with_headers(sent: list[tuple[bytes, bytes]]) -> list[tuple[bytes, bytes]]:
    there = {name.lower() for name, _ in sent}
    return [
        *sent,
        *((n.encode(), v.encode()) for n, v in HEADERS.items() if n.encode() not in there),
    ]
