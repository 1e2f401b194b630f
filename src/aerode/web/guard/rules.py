"""What the guard lets through: hosts, origins, sizes; and the headers every answer carries."""

from __future__ import annotations

import re
from dataclasses import dataclass

__all__ = [
    "HEADERS",
    "STATIC_AGE",
    "Limits",
    "body_limit",
    "is_for_owners",
    "is_open",
    "is_safe",
]

_CONTENT = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data: blob:",
        "font-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
        "object-src 'none'",
    )
)
"""Content Security Policy Level 3 (W3C): no outside host, no script in the page, no evaluation."""

HEADERS: dict[str, str] = {
    "content-security-policy": _CONTENT,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=()",
    "cache-control": "no-store",
}
"""On every answer, refusals too. There is no header that lets another origin read anything."""

STATIC_AGE = "private, max-age=31536000, immutable"
"""For our own style and script files, whose address holds their digest."""

_SAFE = {"GET", "HEAD", "OPTIONS"}
"""Methods that change nothing (RFC 9110, section 9.2.1)."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Caps on what comes in."""

    body: int = 1_000_000
    """Of a form or a JSON document [bytes]."""
    file_body: int = 64_000_000
    """Where a file may be handed in [bytes]."""
    fields: int = 2_000
    files: int = 12
    seconds: float = 30.0
    """The longest that a body may take to arrive [s]."""
    pixels: int = 50_000_000
    """Of one photo."""


def is_safe(method: str) -> bool:
    """Whether the method may change nothing."""
    return method in _SAFE


_OPEN = re.compile(r"/enter|/login|/favicon\.ico|/static/[0-9a-f]{12}/[a-z_]{1,40}\.(css|js)")


def is_open(path: str) -> bool:
    """Whether a path may be asked for by somebody who is not in: the door itself, and our style.

    >>> is_open("/enter"), is_open("/static/0123456789ab/pages.css"), is_open("/static/../runs")
    (True, True, False)
    """
    return _OPEN.fullmatch(path) is not None


_OWNERS = ("/visitors/", "/phone", "/data/restore", "/data/up-to-date", "/data/check/")


def is_for_owners(path: str) -> bool:
    """Whether only an owner may change something there: who is in, who may come, what takes the place of the bench."""
    return path.startswith(_OWNERS)


_WITH_FILES = ("/data/", "/json/data/", "/photos/")


def body_limit(path: str, limits: Limits) -> int:
    """How many bytes a request to this path may bring."""
    takes_files = path.startswith(_WITH_FILES) or path.endswith("/photos")
    return limits.file_body if takes_files else limits.body
