"""Running a coroutine to its end, whatever this thread is already doing."""

from __future__ import annotations

import asyncio
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from collections.abc import Coroutine

__all__ = ["to_its_end"]

T = TypeVar("T")


def to_its_end(work: Coroutine[Any, Any, T]) -> T:
    """The result of a coroutine, in a thread of its own: a browser test may keep a loop in this one."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, work).result()
