"""The JSON interface: everything the pages do, and readings posted by a logger."""

from __future__ import annotations

from fastapi import APIRouter

from aerode.web.json import asking, records, runs
from aerode.web.json.answering import REFUSALS

__all__ = ["router"]

router = APIRouter()
for part in (records, runs, asking):
    router.include_router(part.router, responses=REFUSALS)
