"""Who is in: one-time links, the cookies they are exchanged for, and the keys of loggers."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import threading
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

__all__ = ["Doors", "Key", "Role", "Scope", "Visitor", "Ways"]

_TOKEN_BYTES = 32
"""Of each secret: 256 bits, the width that NIST SP 800-63B (section 5.1.4) more than asks for."""


class Role(StrEnum):
    """What a visitor may do."""

    OWNER = "owner"
    MEMBER = "member"
    READER = "reader"


class Ways(StrEnum):
    """How a visitor came in."""

    COMPUTER = "this computer"
    PHONE = "a phone"
    NETWORK = "the network"


class Scope(StrEnum):
    """What a key of a logger opens: nothing but this."""

    READINGS = "post readings to one run"
    ALL = "all of the JSON interface"


@dataclass(frozen=True, slots=True)
class Visitor:
    """Somebody who is in: a short public number, who they are, how they came, since when."""

    number: int
    who: str
    way: Ways
    role: Role
    since: datetime


@dataclass(frozen=True, slots=True)
class Key:
    """A key of the JSON interface: what it opens, and for which run."""

    number: int
    label: str
    scope: Scope
    run: str
    since: datetime


@dataclass(frozen=True, slots=True)
class _Link:
    who: str
    way: Ways
    role: Role


def _fingerprint(secret: str) -> bytes:
    """Only this is kept: a secret that leaks from memory as a hash opens nothing."""
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).digest()


@dataclass(slots=True)
class Doors:
    """All that opens this bench while the program runs. Nothing of it is written to disk.

    Looking a secret up takes the same time whether it is nearly right or not: every stored hash is
    compared, each in constant time.
    """

    clock: Callable[[], datetime]
    secret: Callable[[], str] = field(default=lambda: secrets.token_urlsafe(_TOKEN_BYTES))
    _links: dict[bytes, _Link] = field(default_factory=dict[bytes, _Link])
    _cookies: dict[bytes, Visitor] = field(default_factory=dict[bytes, Visitor])
    _keys: dict[bytes, Key] = field(default_factory=dict[bytes, Key])
    _count: int = 0
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def new_link(self, *, who: str = "", way: Ways = Ways.COMPUTER, role: Role = Role.OWNER) -> str:
        """A secret that lets one browser in, once."""
        secret = self.secret()
        with self._lock:
            self._links[_fingerprint(secret)] = _Link(who, way, role)
        return secret

    def link_is_good(self, secret: str) -> bool:
        """Whether a link has not been used yet; asking does not use it."""
        with self._lock:
            return _same(self._links, secret) is not None

    def enter(self, secret: str) -> str | None:
        """Exchange a link for the secret of a cookie; None if it was used or never made."""
        with self._lock:
            found = _same(self._links, secret)
            if found is None:
                return None
            link = self._links.pop(found)
            return self._let_in(link.who, link.way, link.role)

    def let_in(self, *, who: str, way: Ways, role: Role) -> str:
        """Let somebody in who showed a password; gives the secret of the cookie."""
        with self._lock:
            return self._let_in(who, way, role)

    def _let_in(self, who: str, way: Ways, role: Role) -> str:
        self._count += 1
        secret = self.secret()
        self._cookies[_fingerprint(secret)] = Visitor(self._count, who, way, role, self.clock())
        return secret

    def visitor(self, cookie: str) -> Visitor | None:
        """Who holds this cookie."""
        with self._lock:
            found = _same(self._cookies, cookie)
            return None if found is None else self._cookies[found]

    def visitors(self) -> list[Visitor]:
        """Everybody who is in, in the order they came."""
        with self._lock:
            return sorted(self._cookies.values(), key=lambda one: one.number)

    def show_out(self, number: int) -> bool:
        """End the session of one visitor."""
        with self._lock:
            gone = [print_ for print_, one in self._cookies.items() if one.number == number]
            for print_ in gone:
                del self._cookies[print_]
            return bool(gone)

    def new_key(self, *, label: str, scope: Scope, run: str = "") -> str:
        """A key for a program or a microcontroller; shown once."""
        secret = self.secret()
        with self._lock:
            self._count += 1
            self._keys[_fingerprint(secret)] = Key(self._count, label, scope, run, self.clock())
        return secret

    def key(self, secret: str) -> Key | None:
        """What this key opens."""
        with self._lock:
            found = _same(self._keys, secret)
            return None if found is None else self._keys[found]

    def keys(self) -> list[Key]:
        """All keys that are out."""
        with self._lock:
            return sorted(self._keys.values(), key=lambda one: one.number)

    def drop_key(self, number: int) -> bool:
        """Take a key back."""
        with self._lock:
            gone = [print_ for print_, one in self._keys.items() if one.number == number]
            for print_ in gone:
                del self._keys[print_]
            return bool(gone)


def _same(known: dict[bytes, object] | dict[bytes, _Link] | dict[bytes, Visitor] | dict[bytes, Key], secret: str) -> bytes | None:  # fmt: skip
    asked = _fingerprint(secret)
    found: bytes | None = None
    for print_ in known:
        if hmac.compare_digest(print_, asked):
            found = print_
    return found
