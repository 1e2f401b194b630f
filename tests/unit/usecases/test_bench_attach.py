"""Photos and logs beside the records: no place leaves with a photo, and every byte has its checksum."""

from __future__ import annotations

import hashlib
import io
import shutil
import sqlite3
from pathlib import Path

import pytest
from PIL import Image

from aerode.cli.console import run
from aerode.errors import DamagedError, InputError, NotFoundError, StoreError
from aerode.records.attachments import Attachment
from aerode.records.electrodes import Electrode
from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_attach import attach, list_attachments, take_out
from aerode.usecases.bench_export import export
from aerode.usecases.bench_package import import_package

LOG = b"at,voltage\n0,0.71\n60,0.70\n"
GPS_IFD, LATITUDE, CAMERA = 0x8825, 2, 272  # EXIF 2.32, tags of the GPS IFD and of IFD 0


@pytest.fixture
def shed(tmp_path: Path) -> Path:
    """A bench with an electrode and a run."""
    path = tmp_path / "shed.aerode"
    with BenchFile.create(path, title="Net shed", who="Ida") as bench:
        bench.put_all([Electrode(name="T3"), Run(name="T3/1", electrode="T3")])
    return path


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    """A photo with a camera and a place in it, lying on its side."""
    image = Image.new("RGB", (60, 20), "grey")
    exif = image.getexif()
    exif[CAMERA] = "Phone of Ida"
    exif[0x0112] = 6  # orientation: to be turned by a quarter
    exif.get_ifd(GPS_IFD)[1] = "N"
    exif.get_ifd(GPS_IFD)[LATITUDE] = (56.0, 7.0, 8.0)
    image.save(tmp_path / "leak.jpg", exif=exif)
    return tmp_path / "leak.jpg"


def _place_in(data: bytes) -> bool:
    with Image.open(io.BytesIO(data)) as image:
        return bool(image.getexif().get_ifd(GPS_IFD)) or b"Phone of Ida" in data


def test_a_photo_loses_its_place(shed: Path, photo: Path, tmp_path: Path) -> None:
    """The one that is kept is upright and says nothing of where; nor does the bench file, nor a package."""
    assert _place_in(photo.read_bytes())
    with BenchFile.open(shed) as bench:
        answer = attach(bench, "electrode/T3", photo, note="after two days")
        one = bench.get(Attachment, "T3 leak.jpg")
        media, data = bench.kept(one.digest)
        assert bench.get(Electrode, "T3").photos == (one.digest,)
        assert export(bench, tmp_path / "out").originals == 0

    assert "place" in answer.said[0]
    assert media == "image/jpeg"
    assert not _place_in(data)
    with Image.open(io.BytesIO(data)) as image:
        assert image.size == (20, 60)
    assert one.sha256 == hashlib.sha256(data).hexdigest()
    assert (one.length, one.original, one.note) == (len(data), "", "after two days")
    for file in [shed, *(p for p in (tmp_path / "out").rglob("*") if p.is_file())]:
        assert b"Phone of Ida" not in file.read_bytes()


def test_the_original_only_where_it_is_asked_for(shed: Path, photo: Path, tmp_path: Path) -> None:
    """Byte for byte; a package counts it, and leaves it out on a word."""
    with BenchFile.open(shed) as bench:
        attach(bench, "electrode/T3", photo, keep_original=True)
        taken = take_out(bench, "T3 leak.jpg", tmp_path / "original.jpg", original=True)
        whole, part = (
            export(bench, tmp_path / "whole"),
            export(bench, tmp_path / "part", withhold=["originals"]),
        )

    assert (tmp_path / "original.jpg").read_bytes() == photo.read_bytes()
    assert taken.sha256 == hashlib.sha256(photo.read_bytes()).hexdigest()
    assert (whole.originals, whole.files, part.originals) == (1, 2, 0)
    assert part.withheld == {"originals": 1}
    contents = [p.read_bytes() for p in (tmp_path / "part/files").iterdir()]
    assert len(contents) == 1
    assert not _place_in(contents[0])
    import_package(tmp_path / "again.aerode", tmp_path / "whole")
    with BenchFile.open(tmp_path / "again.aerode", read_only=True) as bench:
        assert list_attachments(bench).attachments[0].original
        take_out(bench, "T3 leak.jpg", tmp_path / "again.jpg", original=True)
    assert (tmp_path / "again.jpg").read_bytes() == photo.read_bytes()


def test_a_log_is_kept_as_it_is(shed: Path, tmp_path: Path) -> None:
    """To a run whose name holds a slash; out again, and the system's own checksum agrees."""
    (tmp_path / "raw.csv").write_bytes(LOG)
    with BenchFile.open(shed) as bench:
        answer = attach(bench, "run/T3/1", tmp_path / "raw.csv")
        out = take_out(bench, answer.attachments[0].name, tmp_path / "out.csv")

    assert (tmp_path / "out.csv").read_bytes() == LOG
    assert answer.attachments[0].sha256 == out.sha256 == hashlib.sha256(LOG).hexdigest()
    assert answer.attachments[0].media == "text/csv"


@pytest.mark.parametrize(
    ("content", "name", "media"),
    [
        (b"<svg onload='alert(1)'/>", "x.svg", "text/plain"),
        (b"<html><script>1</script>", "x.html", "text/plain"),
        (b"21,5 \xb0C\n", "x.csv", "text/csv"),
        (b"%PDF-1.7 sheet", "sheet.pdf", "application/pdf"),
        (b"\x00\x01\x02", "x.bin", "application/octet-stream"),
        (b"\x00\x01\x02", "x.csv", "application/octet-stream"),
    ],
)
def test_what_a_file_is(shed: Path, content: bytes, name: str, media: str) -> None:
    """By its content first; a page or a drawing is text, so that nothing shows it as a page."""
    with BenchFile.open(shed) as bench:
        assert attach(bench, "electrode/T3", content, file_name=name).attachments[0].media == media
        assert bench.get(Electrode, "T3").photos == ()


def test_once_and_again(shed: Path, photo: Path) -> None:
    """The same content at the same record is kept once; another of the same name gets a number."""
    with BenchFile.open(shed) as bench:
        attach(bench, "electrode/T3", photo)
        before = bench.newest()
        assert "attached already" in attach(bench, "electrode/T3", photo).headline
        assert bench.newest() == before
        attach(bench, "electrode/T3", LOG, file_name="leak.jpg")
        assert bench.names(Attachment) == ["T3 leak.jpg", "T3 leak.jpg (2)"]
        attach(bench, "electrode/T3", photo, keep_original=True)
        assert bench.get(Attachment, "T3 leak.jpg").original
        assert bench.check().whole
        bench.undo(Attachment, "T3 leak.jpg (2)")
        assert len(list_attachments(bench, "electrode/T3").attachments) == 1


def test_nothing_half_kept(shed: Path, photo: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the record cannot be stored, no orphan of a file stays on the bench."""
    with BenchFile.open(shed) as bench:
        before = bench.newest()
        monkeypatch.setattr("aerode.store.writer.Writer.put_all", lambda *_: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            attach(bench, "electrode/T3", photo)
        assert bench.newest() == before
        assert bench.check().files == 0


def test_refusals(shed: Path, photo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No such record, no such file, empty, an archive, torn, other sorts of photo, too large, taken."""
    torn = photo.read_bytes()[:-40]
    with BenchFile.open(shed) as bench:
        before = bench.newest()
        with pytest.raises(NotFoundError, match="T3"):
            attach(bench, "electrode/T33", photo)
        with pytest.raises(InputError, match="no kind and name"):
            attach(bench, "T3", photo)
        with pytest.raises(NotFoundError, match="no such file"):
            attach(bench, "electrode/T3", tmp_path / "nowhere.jpg")
        for content, words in (
            (b"", "empty"), (b"PK\x03\x04", "archive"), (torn, "no photo"), (b"GIF89a", "this sort"),
            (b"\x00\x00\x00\x18ftypheic", "this sort"),
        ):  # fmt: skip
            with pytest.raises(InputError, match=words):
                attach(bench, "electrode/T3", content, file_name="x")
        monkeypatch.setattr("aerode.usecases.bench_attach._LARGEST", 10)
        with pytest.raises(InputError, match="too large"):
            attach(bench, "electrode/T3", photo)
        with pytest.raises(InputError, match="too large"):
            attach(bench, "electrode/T3", LOG, file_name="x")
        monkeypatch.setattr("aerode.usecases.bench_attach._LARGEST", 1000)
        assert bench.newest() == before
        attach(bench, "electrode/T3", LOG, file_name="a.csv", name="raw")
        with pytest.raises(InputError, match="there already"):
            attach(bench, "electrode/T3", LOG + b"1", file_name="a.csv", name="raw")
        (tmp_path / "mine").write_text("mine")
        with pytest.raises(StoreError, match="there already"):
            take_out(bench, "raw", tmp_path / "mine")
        with pytest.raises(NotFoundError, match="no original"):
            take_out(bench, "raw", tmp_path / "new", original=True)
        with pytest.raises(NotFoundError, match="raw"):
            take_out(bench, "row", tmp_path / "new")


def test_a_photo_that_only_the_electrode_names(shed: Path, photo: Path, tmp_path: Path) -> None:
    """Kept by a page under its digest: listed, and taken out by how the digest begins."""
    with BenchFile.open(shed) as bench:
        digest = bench.keep(b"\xff\xd8\xff a photo", media="image/jpeg")
        bench.put(Electrode(name="T3", photos=(digest, "T3 front.jpg")))
        listed = list_attachments(bench).attachments
        assert [line.name for line in listed] == [digest[:12]]
        take_out(bench, digest[:12], tmp_path / "photo.jpg")
    assert (tmp_path / "photo.jpg").read_bytes() == b"\xff\xd8\xff a photo"


def test_damaged_content(shed: Path, tmp_path: Path) -> None:
    """Found by the list, and never written out."""
    with BenchFile.open(shed) as bench:
        attach(bench, "electrode/T3", LOG, file_name="raw.csv")
    connection = sqlite3.connect(shed)
    connection.execute("DROP TRIGGER blob_no_update")
    connection.execute("UPDATE blob SET data = CAST(replace(data, '0.71', '0.72') AS BLOB)")
    statement = "CREATE TRIGGER blob_no_update BEFORE UPDATE ON blob BEGIN SELECT RAISE(ABORT, 'blob is written once'); END"
    connection.execute(statement)
    connection.commit()
    connection.close()
    with BenchFile.open(shed, read_only=True) as bench:
        found = list_attachments(bench)
        assert found.headline == "DAMAGED: T3 raw.csv"
        with pytest.raises(DamagedError):
            take_out(bench, "T3 raw.csv", tmp_path / "out.csv")
    assert not (tmp_path / "out.csv").exists()


def test_as_typed(
    shed: Path,
    photo: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Attach, list, take out; the checksum is printed each time."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("AERODE_BENCH", str(shed))
    shutil.copy(photo, "front.jpg")
    assert run(["bench", "attach", "front.jpg", "--to", "electrode/T3", "--note", "day two"]) == 0
    said = capsys.readouterr().out
    assert said.startswith("Attached front.jpg to electrode T3: ")
    assert "Drawn afresh: place, camera and moment are not in it." in said
    assert run(["bench", "files", "electrode/T3"]) == 0
    said = capsys.readouterr().out.splitlines()
    assert said[0] == "one attachment; each agrees with its checksum"
    assert run(["bench", "take-out", "T3 front.jpg", "--out", "again.jpg"]) == 0
    out = capsys.readouterr().out
    assert hashlib.sha256(Path("again.jpg").read_bytes()).hexdigest() in out
    assert f"    {out.splitlines()[1].strip()}" in said
