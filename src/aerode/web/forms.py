"""One reader of forms: what was typed, by the name of its field; nothing is lost on the way back."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Annotated

from fastapi import Depends, Request
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse

if TYPE_CHECKING:
    from collections.abc import Mapping

    from starlette.responses import Response

__all__ = ["Filled", "Upload", "go", "new_once", "put_right"]


@dataclass(frozen=True, slots=True)
class Upload:
    """A file that was handed in: its name as sent (never used as a path), its bytes."""

    name: str
    media: str
    data: bytes


@dataclass(frozen=True, slots=True)
class _Form:
    """The fields of a form as typed; `once` marks this rendering of it."""

    texts: dict[str, str] = field(default_factory=dict[str, str])
    many: dict[str, list[str]] = field(default_factory=dict[str, list[str]])
    files: dict[str, list[Upload]] = field(default_factory=dict[str, list[Upload]])

    @property
    def once(self) -> str:
        """The mark of the rendering, so that a second press is known as such."""
        return self.texts.get("once", "")

    def text(self, name: str) -> str:
        """One field, without blanks around it; "" where it was not sent."""
        return self.texts.get(name, "").strip()

    def under(self, stem: str) -> dict[str, str]:
        """All fields whose names begin with `stem`, by the rest of their name."""
        return {k.removeprefix(stem): v for k, v in self.texts.items() if k.startswith(stem)}


async def _read(request: Request) -> _Form:
    limits = request.app.state.settings.limits
    form = _Form()
    plain = "application/x-www-form-urlencoded"
    if request.headers.get("content-type", "").startswith(plain):
        # Its parser knows no limit of its own; what is read here is kept for it.
        body = await request.body()
        if body.count(b"&") >= limits.fields:
            raise HTTPException(413, f"more than {limits.fields} fields were sent")
    sent = await request.form(
        max_files=limits.files, max_fields=limits.fields, max_part_size=limits.body
    )
    for name, value in sent.multi_items():
        if isinstance(value, UploadFile):
            if value.filename:
                media = value.content_type or "application/octet-stream"
                data = await value.read()
                form.files.setdefault(name, []).append(Upload(value.filename, media, data))
            continue
        form.texts[name] = value
        form.many.setdefault(name, []).append(value)
    for name in form.many.get("several", []):  # boxes of which several may be ticked: one text
        form.texts[name] = "; ".join(filter(None, form.many.get(name, [])))
    await sent.close()  # what was handed in is read; its file on disk is let go of
    return form


Filled = Annotated[_Form, Depends(_read)]
"""The form that was sent with this request."""


def new_once() -> str:
    """A fresh mark for a form that is about to be shown."""
    return secrets.token_urlsafe(12)


def put_right(pressed: str, texts: Mapping[str, str]) -> dict[str, str]:
    """The field that a pressed “It was …” puts right: its path and its text.

    >>> put_right("mesh_mass=0.51 g=5.1 g", {"mesh_mass": "5.1 g"})
    {'mesh_mass': '0.51 g'}

    Empty where nothing was pressed, and where another text stands there by now.
    """
    path, _, rest = pressed.partition("=")
    text, _, was = rest.partition("=")
    return {path: text} if text and texts.get(path) == was else {}


def go(place: str) -> Response:
    """To another page after something was stored: reloading it stores nothing again."""
    return RedirectResponse(place, status_code=303)
