"""What comes in for a run, sent to its page as it comes (server-sent events)."""

from __future__ import annotations

import asyncio
import json
import logging
from dataclasses import dataclass
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.responses import StreamingResponse

from aerode.errors import AerodeError
from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.log_long import rows_logged

if TYPE_CHECKING:
    from collections.abc import AsyncGenerator, Awaitable, Callable

    from starlette.requests import Request
    from starlette.responses import Response

    from aerode.web.settings import Settings

__all__ = ["MOST", "Standing", "events", "run_stream", "standing_of", "standing_on"]

_LOG = logging.getLogger("aerode.web")

MOST = 8
"""Streams that may be open at once: a computer, some phones, a wall."""
PAUSE = 1.0
"""Between two looks at the bench [s]: a reading is seen within a second."""
_LOOKS = 1800
"""Looks of one stream before it ends; the browser then opens it again by itself."""
_BREATH = 15
"""Looks between two lines that only keep the line open."""


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a run stands: the digest of its newest state, its readings, whether it is closed."""

    digest: str
    readings: int
    finished: bool


def standing_of(settings: Settings, name: str) -> Standing:
    """Look at the run once; the bench is let go of before this returns.

    Raises
    ------
    NotFoundError
        No run of that name.
    """
    with BenchFile.open(settings.bench, clock=settings.clock, read_only=True) as bench:
        return standing_on(bench, name)


def standing_on(bench: BenchFile, name: str) -> Standing:
    """The same of a bench that is open.

    Raises
    ------
    NotFoundError
        No run of that name.
    """
    state = bench.state(Run, name)
    run: Run = bench.read(state)
    rows, _ = rows_logged(bench, run)
    return Standing(state.digest, len(run.readings) + len(run.observations) + rows, run.finished)


async def events(
    look: Callable[[], Awaitable[Standing]],
    *,
    changed: Callable[[], object],
    pause: Callable[[], Awaitable[None]],
    looks: int = _LOOKS,
) -> AsyncGenerator[bytes]:
    """The lines of the stream: one event for each change, the last one when the run is closed.

    Parameters
    ----------
    look : callable
        Reads where the run stands.
    changed : callable
        Gives something cheap that differs once the bench was written to: only then is it looked at.
    pause : callable
        Waits until the next look.
    looks : int
        How many, before the stream ends.
    """
    mark, now = changed(), await look()
    yield b"retry: 3000\n\n" + _event(now)
    for count in range(looks):
        if now.finished:
            yield b"event: closed\ndata: {}\n\n"
            return
        await pause()
        if count % _BREATH == _BREATH - 1:
            yield b": still here\n\n"
        fresh = changed()
        if fresh == mark:
            continue
        mark, before, now = fresh, now, await look()
        if now != before:
            yield _event(now)


def _event(now: Standing) -> bytes:
    told = {"readings": now.readings, "state": now.digest, "finished": now.finished}
    return f"event: reading\ndata: {json.dumps(told)}\n\n".encode()


def _written(settings: Settings) -> object:
    """When the bench file was written to last; always new for a database, which has no such mark."""
    from pathlib import Path

    if "://" in settings.bench and not settings.bench.startswith("sqlite"):
        return object()
    place = settings.bench.removeprefix("sqlite:///")
    found: list[tuple[int, int]] = []
    waiting = Path(place).with_name(f"{Path(place).stem}.logs")
    lines = sorted(waiting.glob("*.lines")) if waiting.is_dir() else []
    for part in (Path(place), Path(f"{place}-wal"), *lines):
        try:
            told = part.stat()
        except OSError:
            continue
        found.append((told.st_mtime_ns, told.st_size))
    return tuple(found)


async def run_stream(request: Request, name: str) -> Response:
    """The stream of one run as an answer; it holds no connection to the bench while it waits.

    Raises
    ------
    HTTPException
        503, if too many streams are open.
    """
    state = request.app.state
    if state.streams >= MOST:
        raise HTTPException(503, "too many pages are watching; close one")
    settings = state.settings

    async def look() -> Standing:
        await state.gate.enter()
        try:
            return await run_in_threadpool(standing_of, settings, name)
        finally:
            state.gate.leave()

    async def pause() -> None:
        await asyncio.sleep(PAUSE)

    await look()  # refuses a run that is not there, before anything is sent

    async def lines() -> AsyncGenerator[bytes]:
        if state.streams >= MOST:  # others came while we looked
            return
        state.streams += 1
        try:
            async for line in events(look, changed=lambda: _written(settings), pause=pause):
                if not _still_in(request):
                    return
                yield line
        except (
            AerodeError
        ) as refusal:  # taken off the bench meanwhile: the page asks again and is told
            _LOG.info("a stream ended: %s", refusal.what)
        finally:
            state.streams -= 1

    return StreamingResponse(lines(), media_type="text/event-stream")


def _still_in(request: Request) -> bool:
    """Whether the visitor was not shown out, and the key not taken back, since the stream began."""
    doors, told = request.app.state.doors, request.scope["state"]
    visitor, key = told.get("visitor"), told.get("key")
    if key is not None:
        out = [one.number for one in doors.keys()]  # noqa: SIM118 - keys of loggers, no mapping
        return key.number in out
    return visitor is not None and any(one.number == visitor.number for one in doors.visitors())
