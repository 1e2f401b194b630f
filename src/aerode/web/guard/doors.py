"""Who is in: one-time links, the cookies they are exchanged for, and the keys of loggers."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import threading
from dataclasses import dataclass, field, replace
from datetime import timedelta
from enum import StrEnum
from typing import TYPE_CHECKING

from aerode.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from datetime import datetime

__all__ = ["Doors", "Key", "Link", "Role", "Scope", "Visitor", "Ways"]

_TOKEN_BYTES = 32
"""Of each secret: 256 bits, the width that NIST SP 800-63B (section 5.1.4) more than asks for."""
_LINK_LASTS = timedelta(minutes=30)
"""A link that nobody opened ends by itself; the terminal gives a fresh one."""
_VISIT_LASTS = timedelta(hours=12)
"""Without a request for so long a session ends (NIST SP 800-63B, section 4.1.3: 12 hours at most)."""
MOST_LINKS = 20
MOST_VISITORS = 200
MOST_KEYS = 50


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
    """What a key opens: nothing but this."""

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
    seen: datetime


@dataclass(frozen=True, slots=True)
class Key:
    """A key of the JSON interface: what it opens, and for which run."""

    number: int
    label: str
    scope: Scope
    run: str
    since: datetime
    who: str = ""
    """Who made it; what it stores is stored in that name."""


@dataclass(frozen=True, slots=True)
class Link:
    """What a one-time link will let in."""

    who: str
    way: Ways
    role: Role
    until: datetime


def _fingerprint(secret: str) -> bytes:
    """Only this is kept: a secret that leaks from memory as a hash opens nothing."""
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).digest()


@dataclass(slots=True)
class Doors:
    """All that opens this bench while the program runs. Nothing of it is written to disk.

    Looking a secret up takes the same time whether it is nearly right or not: every stored hash is
    compared, each in constant time. Links and sessions end by themselves, and there are never more
    of either than a bench needs, so that nothing grows while the program runs for weeks.
    """

    clock: Callable[[], datetime]
    secret: Callable[[], str] = field(default=lambda: secrets.token_urlsafe(_TOKEN_BYTES))
    _links: dict[bytes, Link] = field(default_factory=dict[bytes, Link])
    _cookies: dict[bytes, Visitor] = field(default_factory=dict[bytes, Visitor])
    _keys: dict[bytes, Key] = field(default_factory=dict[bytes, Key])
    _count: int = 0
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def new_link(self, *, who: str = "", way: Ways = Ways.COMPUTER, role: Role = Role.OWNER) -> str:
        """A secret that lets one browser in, once, within half an hour."""
        secret = self.secret()
        with self._lock:
            self._forget_old()
            while len(self._links) >= MOST_LINKS:
                del self._links[next(iter(self._links))]
            until = self.clock() + _LINK_LASTS
            self._links[_fingerprint(secret)] = Link(who, way, role, until)
        return secret

    def link(self, secret: str) -> Link | None:
        """What a link that has not been used will let in; asking does not use it."""
        with self._lock:
            self._forget_old()
            found = _same(self._links, secret)
            return None if found is None else self._links[found]

    def enter(self, secret: str, *, who: str = "") -> str | None:
        """Exchange a link for the secret of a cookie; None if it was used, has ended or was never made."""
        with self._lock:
            self._forget_old()
            found = _same(self._links, secret)
            if found is None:
                return None
            link = self._links.pop(found)
            return self._let_in(who or link.who, link.way, link.role)

    def let_in(self, *, who: str, way: Ways, role: Role) -> str:
        """Let somebody in who showed a password; gives the secret of the cookie."""
        with self._lock:
            self._forget_old()
            return self._let_in(who, way, role)

    def _let_in(self, who: str, way: Ways, role: Role) -> str:
        while len(self._cookies) >= MOST_VISITORS:
            longest_away = min(self._cookies, key=lambda print_: self._cookies[print_].seen)
            del self._cookies[longest_away]
        self._count += 1
        secret, now = self.secret(), self.clock()
        self._cookies[_fingerprint(secret)] = Visitor(self._count, who, way, role, now, now)
        return secret

    def _forget_old(self) -> None:
        now = self.clock()
        self._links = {p: one for p, one in self._links.items() if one.until > now}
        self._cookies = {p: one for p, one in self._cookies.items() if now - one.seen < _VISIT_LASTS}  # fmt: skip

    def visitor(self, cookie: str) -> Visitor | None:
        """Who holds this cookie; a session nobody used for half a day has ended."""
        with self._lock:
            found = _same(self._cookies, cookie)
            if found is None:
                return None
            visitor, now = self._cookies[found], self.clock()
            if now - visitor.seen >= _VISIT_LASTS:
                del self._cookies[found]
                return None
            self._cookies[found] = replace(visitor, seen=now)
            return self._cookies[found]

    def visitors(self) -> list[Visitor]:
        """Everybody who is in, in the order they came."""
        with self._lock:
            self._forget_old()
            return sorted(self._cookies.values(), key=lambda one: one.number)

    def show_out(self, number: int) -> bool:
        """End the session of one visitor."""
        with self._lock:
            gone = [print_ for print_, one in self._cookies.items() if one.number == number]
            for print_ in gone:
                del self._cookies[print_]
            return bool(gone)

    def new_key(self, *, label: str, scope: Scope, run: str = "", who: str = "") -> str:
        """A key for a program or a microcontroller; shown once.

        Raises
        ------
        InputError
            So many are out that one has to be taken back first; or no run was named.
        """
        if scope is Scope.READINGS and not run:
            raise InputError("a key of a logger opens one run: name it", where="run")
        secret = self.secret()
        with self._lock:
            if len(self._keys) >= MOST_KEYS:
                raise InputError(
                    f"{MOST_KEYS} keys are out already", next_step="take one back that is not used"
                )
            self._count += 1
            self._keys[_fingerprint(secret)] = Key(
                self._count, label, scope, run, self.clock(), who
            )
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


def _same(known: Iterable[bytes], secret: str) -> bytes | None:
    asked = _fingerprint(secret)
    found: bytes | None = None
    for print_ in known:
        if hmac.compare_digest(print_, asked):
            found = print_
    return found
