"""The people of a lab: their names, roles and password hashes in one file, and a brake on guessing."""

from __future__ import annotations

import base64
import hashlib
import hmac
import json
import os
import secrets
import threading
from collections import OrderedDict
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from aerode.errors import InputError, NotFoundError
from aerode.web.guard.doors import Role

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["Brake", "User", "Users", "hashed", "store_user"]

_COST = {"n": 2**15, "r": 8, "p": 3}
"""scrypt (RFC 7914) at one of the settings that the OWASP password storage cheat sheet lists: 32 MB, about a third of a second."""
_SALT_BYTES = 16
_SHORTEST = 8
"""Characters of a password (NIST SP 800-63B, section 5.1.1.1)."""
_LONGEST = 256


@dataclass(frozen=True, slots=True)
class User:
    """One person: name, role, and the hash of the password with its cost and salt."""

    name: str
    role: Role
    hash: str


def hashed(password: str, *, salt: bytes | None = None, cost: dict[str, int] | None = None) -> str:
    """A password as it is kept: `scrypt$n$r$p$salt$hash`, the last two in base64."""
    told = cost or _COST
    salt = secrets.token_bytes(_SALT_BYTES) if salt is None else salt
    memory = 256 * told["n"] * told["r"]  # bytes: twice what RFC 7914 needs
    key = hashlib.scrypt(
        password.encode("utf-8", "surrogatepass"), salt=salt, maxmem=memory, dklen=32, **told
    )
    parts = (base64.b64encode(salt).decode(), base64.b64encode(key).decode())
    return "$".join(("scrypt", *(str(told[k]) for k in ("n", "r", "p")), *parts))


def _agrees(password: str, kept: str) -> bool:
    try:
        word, n, r, p, salt, _ = kept.split("$")
        cost = {"n": int(n), "r": int(r), "p": int(p)}
        if word != "scrypt" or cost["n"] * cost["r"] > 2**22 or cost["p"] > 16:
            return False
        made = hashed(password, salt=base64.b64decode(salt, validate=True), cost=cost)
    except (ValueError, KeyError):
        return False
    return hmac.compare_digest(made, kept)


@dataclass(slots=True)
class Users:
    """All who may come in by password. Checking one takes as long for a name that is not there."""

    known: dict[str, User]
    nobody: str = field(default_factory=lambda: hashed(secrets.token_urlsafe()))
    _lock: threading.Lock = field(default_factory=threading.Lock)

    @classmethod
    def read(cls, place: str | os.PathLike[str]) -> Users:
        """The users of a file.

        Raises
        ------
        NotFoundError
            There is no such file.
        InputError
            It is not a file of users, or nobody in it is an owner.
        """
        known = _read(Path(place))
        if not any(user.role is Role.OWNER for user in known.values()):
            raise InputError(
                "nobody in this file is an owner", where=str(place),
                next_step="aerode serve --users FILE --add-user NAME --role owner",
            )  # fmt: skip
        return cls(known)

    def check(self, name: str, password: str) -> User | None:
        """The user of this name and password; None if either is wrong."""
        user = self.known.get(name)
        if len(password) > _LONGEST:
            return None
        with self._lock:  # one at a time: hashing takes memory
            right = _agrees(password, user.hash if user is not None else self.nobody)
        return user if right else None


def _read(place: Path) -> dict[str, User]:
    if not place.exists():
        raise NotFoundError(
            "there is no such file of users", where=str(place),
            next_step=f"aerode serve --users {place} --add-user NAME --role owner",
        )  # fmt: skip
    try:
        told: Any = json.loads(place.read_text("utf-8"))
        return {
            str(one["name"]): User(str(one["name"]), Role(one["role"]), str(one["hash"]))
            for one in told["users"]
        }
    except (ValueError, KeyError, TypeError) as problem:
        raise InputError("this is not a file of users", where=str(place)) from problem


def store_user(place: str | os.PathLike[str], name: str, role: Role, password: str) -> None:
    """Add a user to a file, or give one a new password; the file is for its owner's eyes only.

    Raises
    ------
    InputError
        No name, or a password that is too short.
    """
    if not name.strip():
        raise InputError("a user needs a name")
    if not _SHORTEST <= len(password) <= _LONGEST:
        raise InputError(
            "this password cannot be taken", where=name, allowed=f"{_SHORTEST} to {_LONGEST} characters"
        )  # fmt: skip
    path = Path(place)
    known = _read(path) if path.exists() else {}
    known[name] = User(name, role, hashed(password))
    users = [{"name": u.name, "role": u.role.value, "hash": u.hash} for u in known.values()]
    beside = path.with_name(f"{path.name}.new")
    opened = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(opened, "w", encoding="utf-8") as file:
        file.write(json.dumps({"users": users}, indent=2, ensure_ascii=False) + "\n")
        file.flush()
        os.fsync(file.fileno())
    beside.replace(path)


@dataclass(slots=True)
class Brake:
    """Counts wrong passwords by name and by place; after some of them one has to wait.

    NIST SP 800-63B (section 5.2.2) asks for a limit on failed attempts; five in a quarter of an
    hour is a judgement.
    """

    now: Callable[[], float]
    most: int = 5
    span: float = 900.0
    """[s]"""
    _failed: OrderedDict[str, list[float]] = field(default_factory=OrderedDict[str, list[float]])
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def wait(self, *about: str) -> float:
        """Seconds until another attempt is looked at; 0 for now."""
        with self._lock:
            now = self.now()
            longest = 0.0
            for one in about:
                times = [t for t in self._failed.get(one, ()) if now - t < self.span]
                if len(times) >= self.most:
                    longest = max(longest, self.span - (now - times[0]))
            return longest

    def note(self, *about: str) -> None:
        """A wrong password was given."""
        with self._lock:
            now = self.now()
            for one in about:
                times = [t for t in self._failed.pop(one, []) if now - t < self.span]
                self._failed[one] = [*times, now][-self.most :]
            while len(self._failed) > 1000:
                self._failed.popitem(last=False)

    def clear(self, *about: str) -> None:
        """The right one was given."""
        with self._lock:
            for one in about:
                self._failed.pop(one, None)
