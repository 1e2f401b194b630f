"""A form that sends away for a thing that is not on the shelf yet, and takes up again where it was left."""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from starlette.exceptions import HTTPException

from aerode.records import KINDS
from aerode.web.forms import go
from aerode.web.rendering import address

if TYPE_CHECKING:
    from collections.abc import Mapping

    from starlette.requests import Request
    from starlette.responses import Response

__all__ = ["Away", "Held", "led_back", "left", "send_away", "taken_up", "with_back"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A form as it was left: where it stands, and all that was typed in it."""

    place: str
    """Its address, with the mark under which it is held."""
    title: str
    texts: Mapping[str, str] = field(default_factory=dict[str, str])
    state: str = ""
    why: str = ""
    field: str = ""
    """The field that waits for the name of the new thing; "" where none does."""
    chosen: str = ""
    """The new thing, once it is entered."""


class Away:
    """Forms that wait until a thing they need is entered; nothing of them is stored on the bench."""

    def __init__(self, most: int = 200) -> None:
        self._most = most
        self._held: OrderedDict[str, Held] = OrderedDict()
        self._lock = threading.Lock()

    def hold(self, mark: str, held: Held) -> None:
        """Keep a form under a mark; the oldest one makes room."""
        with self._lock:
            self._held[mark] = held
            self._held.move_to_end(mark)
            while len(self._held) > self._most:
                self._held.popitem(last=False)

    def of(self, mark: str) -> Held | None:
        """The form that is held under a mark; None where none is, or is no longer."""
        with self._lock:
            return self._held.get(mark)


def send_away(
    request: Request, form: Any, *, place: str, title: str, texts: Mapping[str, str]
) -> Response:
    """Hold a form and lead to the form of what it lacks, as its button says: kind, field, sort.

    Parameters
    ----------
    request : Request
    form : Filled
        As it was sent; its field "away" is the button.
    place, title : str
        The address of the form, without a query, and its heading.
    texts : mapping of str to str
        What was typed, by the name of its field.
    """
    kind, where, sort = [*form.text("away").split("|"), "", ""][:3]
    if kind not in KINDS:
        raise HTTPException(404)
    mark = secrets.token_urlsafe(12)
    outer = request.query_params.get("back", "")
    query = f"draft={mark}" + (f"&back={outer}" if _held(request, outer) else "")
    held = Held(place=f"{place}?{query}", title=title, texts=dict(texts), state=form.text("state"),
                why=form.text("why"), field=where)  # fmt: skip
    request.app.state.away.hold(mark, held)
    return go(address("things", kind, "new", sort=sort, name=texts.get(where, ""), back=mark))


def _held(request: Request, mark: str) -> Held | None:
    return request.app.state.away.of(mark) if mark else None


def with_back(request: Request, action: str) -> str:
    """Where a form is sent: it keeps the mark of the form that waits for it."""
    mark = request.query_params.get("back", "")
    return f"{action}?back={mark}" if _held(request, mark) else action


def left(request: Request, place: str, words: str) -> tuple[str, str]:
    """Where a form leads that is left: to the form that waits for it, else to `place`."""
    held = _held(request, request.query_params.get("back", ""))
    return (held.place, held.title) if held else (place, words)


def led_back(request: Request, place: str, name: str) -> str:
    """Where a stored thing leads: to the form that waits for it, with the thing chosen; else to `place`."""
    mark = request.query_params.get("back", "")
    held = _held(request, mark)
    if held is None:
        return place
    texts = {**held.texts, held.field: name} if held.field else held.texts
    request.app.state.away.hold(mark, replace(held, texts=texts, chosen=name))
    return held.place


def taken_up(request: Request, place: str) -> Held | None:
    """The form of this address as it was left; None for one that begins afresh."""
    held = _held(request, request.query_params.get("draft", ""))
    return held if held is not None and held.place.partition("?")[0] == place else None
