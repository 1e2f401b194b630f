"""The electrodes: the list, and the page of one with everything that was done to it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, Response

from aerode.records.electrodes import Appliance, Electrode, Firmness, Outcome
from aerode.records.places import Room
from aerode.usecases.electrode_page import look_at_electrode
from aerode.usecases.electrode_page_list import find_by_label, find_mix_by_code, list_electrodes
from aerode.usecases.electrode_page_next import MAKING, PieceAct
from aerode.usecases.electrode_page_photos import photo_of, photos_of
from aerode.usecases.electrode_page_thickness import PLACES, thickness_map
from aerode.usecases.read_next import in_turn
from aerode.web.bench import OpenBench
from aerode.web.figure_files import figure_file
from aerode.web.forms import go, new_once
from aerode.web.pages.building import one_like
from aerode.web.pages.mixes import skipped
from aerode.web.pages.next_acts import ways_of_piece
from aerode.web.rendering import address, page

if TYPE_CHECKING:
    from collections.abc import Mapping

    from aerode.errors import FieldFault
    from aerode.store.bench_file import BenchFile

__all__ = ["UNITS", "electrode_page", "router"]

router = APIRouter()
UNITS = {
    "coat.wet_mass": "g",
    "coat.dry_mass": "g",
    "coat.drying_time": "min",
    "weighing.mass": "g",
    "weighing.after": "min",
    "press.plate_temperature": "°C",
    "press.duration": "min",
    "thickness.thickness": "mm",
}
"""The units behind the labels of this page: a number alone is taken in them."""
_FORMS = {PieceAct.COAT: "coat", PieceAct.WEIGH: "weighing", PieceAct.PRESS: "press"}
"""The part of the page with the form of the next act: it stands first and open."""
_PLACES_HERE = (
    ("hurt", "What can hurt"), ("what", "What it is"), ("coat", "Coats"), ("weighing", "Is it dry?"),
    ("press", "Pressings"), ("thickness", "Thickness"), ("photo", "Photos"), ("runs", "Runs and cells"),
    ("trouble", "Trouble"), ("outcome", "What became of it"), ("later", "A later state"),
)  # fmt: skip
_PHOTO_AGE = {"cache-control": "private, max-age=86400"}


@router.get("/electrodes")
def electrodes(request: Request, bench: OpenBench, skip: str = "", find: str = "") -> Response:
    """A page of electrodes, newest first; or the one that a label or a typed name means."""
    near: list[str] = []
    if find.strip():
        if mix := find_mix_by_code(bench, find[:200]):
            return go(address("mixes", mix))
        name, near = find_by_label(bench, find[:200])
        if name:
            return go(address("electrodes", name))
    past = skipped(skip)
    found = request.app.state.remembered.of(
        bench, ("electrodes", past), lambda: list_electrodes(bench, skip=past)
    )
    return page(request, "electrodes/list.html", stage="make", found=found, find=find, near=near)


@router.get("/electrodes/{name:path}/thickness.{ending}")
def thickness(bench: OpenBench, name: str, ending: str) -> Response:
    """The thickness map as a file."""
    return figure_file(thickness_map(name, bench.get(Electrode, name).thickness).figure, ending)


@router.get("/electrodes/{name:path}/photos/{digest}.jpg")
def photo(bench: OpenBench, name: str, digest: str) -> Response:
    """One photo of it, as it was drawn afresh when it came in."""
    return Response(photo_of(bench, name, digest), media_type="image/jpeg", headers=_PHOTO_AGE)


@router.get("/electrodes/{name:path}")
def electrode(
    request: Request, bench: OpenBench, name: str, stored: str = "", room: str = ""
) -> HTMLResponse:
    """One electrode."""
    if not name:
        raise HTTPException(404)
    return electrode_page(request, bench, name, stored=stored, room=room)


def electrode_page(
    request: Request,
    bench: BenchFile,
    name: str,
    *,
    stored: str = "",
    room: str = "",
    act: str = "",
    texts: Mapping[str, str] | None = None,
    faults: tuple[FieldFault, ...] = (),
    ask: str = "",
    mesh: tuple[str, ...] = (),
) -> HTMLResponse:
    """The page of an electrode; after an act that could not be taken, with what was typed."""
    known = room if room in bench.names(Room) else ""
    look = request.app.state.remembered.of(
        bench, ("electrode", name, known), lambda: look_at_electrode(bench, name, room=known)
    )
    here = address("electrodes", name)
    told: dict[str, Any] = {f"{act}.{f.field}": (f.what, f.allowed) for f in faults}
    return page(
        request,
        "electrodes/electrode.html",
        status=422 if faults or ask else 200,
        stage="make",
        name=name,
        look=look,
        one=look.electrode,
        photos=photos_of(look.electrode),
        places=PLACES,
        another=one_like(look.electrode),
        ways=[
            (words, place.removeprefix(here))
            for words, place in ways_of_piece(look.following, name)
        ],
        first=_FORMS.get(look.following.act, ""),
        places_here=_PLACES_HERE,
        making=look.following.act in MAKING,
        outcomes=[one.value for one in Outcome],
        firmness=[one.value for one in Firmness],
        appliances=[one.value for one in Appliance],
        rooms=bench.names(Room),
        room=known,
        act=act or stored,
        units=UNITS,
        texts=dict(texts or {}),
        faults=told,
        question=ask,
        likelier_mesh=mesh,
        once=new_once(),
        stored=stored,
        item=f"electrode:{name}",
        turn=request.app.state.remembered.of(bench, ("turn",), lambda: in_turn(bench)),
    )
