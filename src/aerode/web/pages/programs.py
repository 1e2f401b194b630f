"""The page that lists the routes of the JSON interface: made from the same document that programs read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse

from aerode.web.rendering import page

__all__ = ["router"]

router = APIRouter()


@dataclass(frozen=True, slots=True)
class _Route:
    method: str
    path: str
    what: str


@router.get("/json")
def listing(request: Request) -> HTMLResponse:
    """Every route with what it does."""
    document: dict[str, Any] = request.app.openapi()
    groups: dict[str, list[_Route]] = {}
    for path, methods in document["paths"].items():
        for method, told in methods.items():
            tag = str((told.get("tags") or ["other"])[0])
            what = str(told.get("description") or told.get("summary") or "").split("\n")[0]
            groups.setdefault(tag, []).append(_Route(method.upper(), path, what))
    return page(request, "programs/listing.html", stage="more", groups=groups)
