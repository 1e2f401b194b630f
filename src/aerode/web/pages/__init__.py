"""One module per place of the site; each asks one use-case and shows one answer."""

from __future__ import annotations

from fastapi import APIRouter

from aerode.web.pages import (
    cautions,
    claims,
    compare,
    data,
    door,
    electrodes,
    electrodes_acts,
    history,
    home,
    lessons,
    loggers,
    mixes,
    mixes_forms,
    next_batch,
    prints,
    process,
    programs,
    properties,
    records,
    report,
    restore,
    runs,
    shelf,
    shelf_off,
    simulate,
    size,
    symptoms,
    tray,
)

__all__ = ["router"]

router = APIRouter()
for part in (
    door,
    home,
    loggers,
    shelf,
    shelf_off,
    mixes_forms,
    mixes,
    electrodes_acts,
    electrodes,
    cautions,
    prints,
    records,
    compare,
    claims,
    tray,
    runs,
    report,
    symptoms,
    properties,
    process,
    programs,
    restore,
    data,
    history,
    simulate,
    size,
    next_batch,
    lessons,
):
    router.include_router(part.router)
