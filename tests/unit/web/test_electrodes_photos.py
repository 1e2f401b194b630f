"""The photos of a piece: without their place, listed as attachments, refused where they are none."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import pytest
from PIL import Image
from tests.unit.web.conftest import NOON, ORIGIN, PORT

from aerode.records.electrodes import Electrode
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_attach import attach, list_attachments
from aerode.web.app import create_app
from aerode.web.settings import Settings

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient

    from aerode.web.guard.doors import Doors


def _electrode(place: Path, name: str) -> Electrode:
    with BenchFile.open(place) as bench:
        return bench.get(Electrode, name)


def _photo(size: tuple[int, int] = (80, 60)) -> bytes:
    """A photo with a place in it: the GPS directory of EXIF 2.3 (tag 0x8825)."""
    exif = Image.Exif()
    exif[0x010F] = "Maker of cameras"
    exif.get_ifd(0x8825)[2] = (45.0, 30.0, 0.0)
    out = io.BytesIO()
    Image.new("RGB", size, "#a3491b").save(out, format="JPEG", exif=exif)
    return out.getvalue()


def test_a_photo_loses_its_place(inside: TestClient, made: Path) -> None:
    """The kept file has no EXIF data at all; the page shows it."""
    sent = _photo()
    assert Image.open(io.BytesIO(sent)).getexif().get_ifd(0x8825)
    answer = inside.post(
        "/electrodes/T1/photos", files={"photo.files": ("IMG 1.jpg", sent, "image/jpeg")}
    )
    digest = _electrode(made, "T1").photos[0]
    kept = inside.get(f"/electrodes/T1/photos/{digest}.jpg")

    assert f"{digest}.jpg" in answer.text
    assert kept.headers["content-type"] == "image/jpeg"
    assert not Image.open(io.BytesIO(kept.content)).getexif()
    assert b"Maker of cameras" not in kept.content


def test_photos_of_a_page_are_attachments_like_any_other(inside: TestClient, made: Path) -> None:
    """Several at once, the same one once; listed with their checksums, taken out again, none bare."""
    first, second = _photo(), _photo((64, 48))
    sent = [
        ("photo.files", ("C:\\fakepath\\IMG.jpg", data, "image/jpeg"))
        for data in (first, second, first)
    ]
    inside.post("/electrodes/T1/photos", files=sent)
    inside.post("/electrodes/T1/photos", files={"photo.files": ("again.jpg", first, "image/jpeg")})

    with BenchFile.open(made) as bench:
        listed = list_attachments(bench, "electrode/T1").attachments
        photos = bench.get(Electrode, "T1").photos
        assert bench.check().whole
        again = attach(bench, "electrode/T1", first, file_name="third.jpg")
    assert [line.name for line in listed] == ["T1 IMG.jpg", "T1 IMG.jpg (2)"]
    assert [line.file for line in listed] == ["IMG.jpg", "IMG.jpg"]
    assert all(line.whole for line in listed)
    assert len(photos) == 2
    assert "attached already" in again.headline


def test_one_photo_that_cannot_be_read_keeps_the_others_out(inside: TestClient, made: Path) -> None:
    """All of them, or none."""
    sent = [("photo.files", ("a.jpg", data, "image/jpeg")) for data in (_photo(), b"no photo")]
    answer = inside.post("/electrodes/T1/photos", files=sent)

    assert answer.status_code == 422
    assert _electrode(made, "T1").photos == ()
    with BenchFile.open(made) as bench:
        assert list_attachments(bench).attachments == ()


@pytest.mark.usefixtures("made")
def test_what_is_no_photo_is_refused(inside: TestClient) -> None:
    """A page of markup, a torn photo, nothing: the page says so and keeps nothing."""
    torn = _photo((400, 300))[:900]
    for data in (b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>", torn):
        answer = inside.post(
            "/electrodes/T1/photos", files={"photo.files": ("a.jpg", data, "image/jpeg")}
        )
        assert answer.status_code == 422
        assert "no photo that can be read" in answer.text
    assert inside.post("/electrodes/T1/photos", data={"once": "q"}).status_code == 422
    assert inside.get(f"/electrodes/T1/photos/{'0' * 64}.jpg").status_code == 404


def test_a_photo_of_too_many_pixels_is_not_unpacked(bench_place: Path, doors: Doors) -> None:
    """The cap of the settings counts before the picture is unpacked."""
    from starlette.testclient import TestClient as Client

    from aerode.web.guard.rules import Limits

    with BenchFile.open(bench_place) as bench:
        bench.put(Electrode(name="T1"))
    settings = Settings(
        bench=str(bench_place), port=PORT, clock=lambda: NOON, limits=Limits(pixels=1000)
    )
    browser = Client(create_app(settings, doors), base_url=ORIGIN, headers={"origin": ORIGIN})
    browser.get("/enter", params={"link": doors.new_link()})
    answer = browser.post(
        "/electrodes/T1/photos", files={"photo.files": ("a.jpg", _photo(), "image/jpeg")}
    )

    assert answer.status_code == 422
    assert "million pixels" in answer.text
