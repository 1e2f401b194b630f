"""What one running program of pages knows: its bench, its address, its clock."""

from __future__ import annotations

import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from aerode.store.bench_file import now
from aerode.web.guard.rules import Limits
from aerode.web.guard.users import Brake

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from aerode.usecases.simulate_ready import GettingReady
    from aerode.web.guard.users import Users

__all__ = ["Settings"]


@dataclass(slots=True)
class Settings:
    """Of one run of the pages. `addresses` grows when a phone is let in by another name."""

    bench: str
    """The bench file, or the address of a shared database."""
    port: int
    addresses: set[str] = field(default_factory=lambda: {"127.0.0.1", "localhost"})
    """Names and numbers under which this program answers."""
    clock: Callable[[], datetime] = now
    limits: Limits = field(default_factory=Limits)
    phone_at: str = ""
    """The address on the local network under which one phone may come; "" if none may."""
    users: Users | None = None
    """Who may come in by password, where a lab shares the bench."""
    ready: GettingReady | None = None
    """The fast solver on its way, where this program makes it ready beside the pages."""
    brake: Brake = field(default_factory=lambda: Brake(time.monotonic))

    def hosts(self) -> frozenset[str]:
        """What may stand in a Host header."""
        return frozenset(f"{address}:{self.port}" for address in self.addresses)

    @property
    def cookie(self) -> str:
        """The name of the cookie."""
        return f"aerode-{self.port}"
