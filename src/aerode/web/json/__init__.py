"""The JSON interface: everything the pages do, and readings posted by a logger."""

from __future__ import annotations

from fastapi import APIRouter

__all__ = ["router"]

router = APIRouter()
