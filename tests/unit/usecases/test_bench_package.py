"""A bench that goes out as a Data Package and comes back: the same bench, or a clear refusal."""

from __future__ import annotations

import io
import json
import shutil
import stat
import tracemalloc
import zipfile
from collections.abc import Callable
from pathlib import Path

import frictionless
import pytest

from aerode.errors import AerodeError, DamagedError, InputError, NewerFileError, StoreError
from aerode.records.electrodes import Electrode
from aerode.records.marks import Entry
from aerode.records.materials import SolventLot
from aerode.records.places import Bench
from aerode.store.bench_file import BenchFile
from aerode.store.history_lines import RevisionLine
from aerode.store.package_in import HISTORY
from aerode.store.taking import take_in_lines
from aerode.store.upcasts import UPCASTS
from aerode.usecases.bench_export import export
from aerode.usecases.bench_package import import_package
from aerode.virtual.tern_sound import draw

BEACON = [one for one in draw(1).records if not isinstance(one, Bench)]


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The invented bench with a history, a series, a file, and texts a spreadsheet would compute."""
    path = tmp_path_factory.mktemp("filled") / "shed.aerode"
    with BenchFile.create(path, title="Net shed", who="Ida") as bench:
        bench.put_all(BEACON, why='=first\nof all, "quoted"; \'tis')
        t6 = bench.get(Electrode, "T6")
        bench.put(Electrode(name="=T9", note="-1+1", recipe="@here", photos=("a;b", "")))
        bench.rename(Electrode, "T6", "T6 old", why="+")
        bench.undo(Electrode, "T6 old")
        assert bench.get(Electrode, "T6") == t6
        bench.put(SolventLot(name="spilled", substance="ethanol", note="'#1"))
        bench.withdraw(SolventLot, "spilled")
        bench.append("log", {"at": [0.0, 1.5], "voltage": [None, 0.7]})
        bench.keep(b"at,voltage\n0,0.7\n", media="text/csv")
        bench.append("log", {"at": [3.0]})
    return path


@pytest.fixture(scope="module")
def package(filled: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Its package, unpacked."""
    folder = tmp_path_factory.mktemp("package") / "shed"
    with BenchFile.open(filled, read_only=True) as bench:
        export(bench, folder)
    return folder


def _zipped(bench: Path, to: Path) -> bytes:
    with BenchFile.open(bench, read_only=True) as store:
        export(store, to)
    return to.read_bytes()


def test_out_in_and_out_again(filled: Path, tmp_path: Path) -> None:
    """Deleted and imported again it is the same bench: every digest, the journal, every byte."""
    first = _zipped(filled, tmp_path / "first.zip")

    answer = import_package(tmp_path / "again.aerode", tmp_path / "first.zip")

    assert answer.new_bench
    with BenchFile.open(filled) as old, BenchFile.open(tmp_path / "again.aerode") as new:
        assert new.history() == old.history()
        assert new.newest() == old.newest()
        assert new.series("log") == old.series("log")
        assert new.check().whole
    assert _zipped(tmp_path / "again.aerode", tmp_path / "second.zip") == first


def test_into_a_bench_that_has_only_its_title(package: Path, tmp_path: Path) -> None:
    """The same; the empty file is kept aside."""
    BenchFile.create(tmp_path / "new.aerode", title="empty").close()

    answer = import_package(tmp_path / "new.aerode", package)

    assert answer.new_bench
    with BenchFile.open(answer.kept_aside) as aside:
        assert aside.get(Bench, "bench").title == "empty"
    with BenchFile.open(tmp_path / "new.aerode") as bench:
        assert bench.get(Bench, "bench").title == "Net shed"
    export_again = tmp_path / "out"
    with BenchFile.open(tmp_path / "new.aerode") as bench:
        export(bench, export_again)
    for file in sorted(p for p in package.rglob("*") if p.is_file()):
        assert (export_again / file.relative_to(package)).read_bytes() == file.read_bytes()


def test_into_a_bench_that_holds_something(package: Path, tmp_path: Path) -> None:
    """The union; twice is once; the title of the bench stays its own."""
    path = tmp_path / "other.aerode"
    with BenchFile.create(path, title="Other") as bench:
        bench.put(Electrode(name="mine"))

    first, second = import_package(path, package), import_package(path, package)

    assert not first.new_bench
    states = [
        line for line in (package / HISTORY).read_text("utf-8").splitlines() if '"revision"' in line
    ]
    assert sum(kind.states for kind in first.kinds) == len(states)
    assert second.headline.startswith("Nothing new")
    with BenchFile.open(path) as bench:
        assert bench.get(Bench, "bench").title == "Other"
        assert {"mine", "T6", "=T9"} <= set(bench.names(Electrode))
        assert bench.check().whole


def test_a_stream_is_the_same_archive(filled: Path, tmp_path: Path) -> None:
    """As a page would send it; and it is taken back from an open file."""
    stream = io.BytesIO()
    with BenchFile.open(filled, read_only=True) as bench:
        export(bench, stream)
    stream.seek(0)

    assert stream.getvalue() == _zipped(filled, tmp_path / "a.zip")
    assert import_package(tmp_path / "again.aerode", stream).new_bench


def test_an_independent_library_takes_it(package: Path) -> None:
    """frictionless validates lengths, hashes, types, keys and references of every part."""
    report = frictionless.Package(str(package / "datapackage.json")).validate()

    assert report.valid, report.flatten(["title", "type", "note"])
    assert report.stats["tasks"] >= 28


def test_the_validation_can_fail(package: Path, tmp_path: Path) -> None:
    """One changed digit in a table, and one in the history, are both found by that library."""
    for name, old, new in (
        ("tables/electrodes.csv", b"0.003", b"0.004"),
        ("history.jsonl", b"fold-crimp", b"fold-cramp"),
    ):
        copy = tmp_path / name.replace("/", "-")
        shutil.copytree(package, copy)
        text = (copy / name).read_bytes()
        assert old in text
        (copy / name).write_bytes(text.replace(old, new, 1))
        assert not frictionless.Package(str(copy / "datapackage.json")).validate().valid


def test_units_stand_in_the_schema(package: Path) -> None:
    """Of a wetted area, and of a reading; words are listed."""
    described = json.loads((package / "datapackage.json").read_text("utf-8"))
    fields = {
        (resource["name"], field["name"]): field
        for resource in described["resources"]
        for field in resource.get("schema", {}).get("fields", ())
    }

    assert fields["electrodes", "wetted_area (m^2)"]["unit"] == "m^2"
    assert fields["runs-readings", "voltage (V)"] == {
        "name": "voltage (V)",
        "type": "number",
        "unit": "V",
    }
    assert "whole" in fields["electrodes", "outcome"]["constraints"]["enum"]


def test_no_cell_is_a_formula(package: Path) -> None:
    """No text cell of any table begins as a spreadsheet's formula does; the guard is one apostrophe."""
    for file in (package / "tables").glob("*.csv"):
        for row in frictionless.Resource(str(file)).read_rows():
            for value in row.values():
                assert not (isinstance(value, str) and value.startswith(("=", "+", "@", "\t"))), (
                    value
                )
    assert "'=T9" in (package / "tables/electrodes.csv").read_text("utf-8")


def test_nothing_is_written_over(filled: Path, tmp_path: Path) -> None:
    """Neither a file nor a folder; and a refusal leaves nothing half-made."""
    (tmp_path / "a.zip").write_text("mine")
    (tmp_path / "b").mkdir()
    with BenchFile.open(filled, read_only=True) as bench:
        for name in ("a.zip", "b"):
            with pytest.raises(StoreError, match="there already"):
                export(bench, tmp_path / name)
        with pytest.raises(InputError, match="no field is called"):
            export(bench, tmp_path / "c.zip", withhold=["nots"])

    assert {p.name for p in tmp_path.iterdir()} == {"a.zip", "b"}
    assert (tmp_path / "a.zip").read_text() == "mine"


def test_memory_stays_flat(tmp_path: Path) -> None:
    """Going out and coming in, four times the readings do not need twice the memory."""

    def peaks(count: int) -> tuple[int, int]:
        folder = tmp_path / str(count)
        folder.mkdir()
        with BenchFile.create(folder / "a.aerode", title="x") as bench:
            bench.put_all([Electrode(name=f"T{n}", note="x" * 4000) for n in range(count)])
            tracemalloc.start()
            export(bench, folder / "a.zip")
            out = tracemalloc.get_traced_memory()[1]
            tracemalloc.reset_peak()
            import_package(folder / "b.aerode", folder / "a.zip")
            into = tracemalloc.get_traced_memory()[1]
            tracemalloc.stop()
        return out, into

    peaks(20)
    small, large = peaks(500), peaks(2000)
    assert large[0] < 2 * small[0]
    assert large[1] < 2 * small[1]


# -- withheld -----------------------------------------------------------------------------------


def test_withheld_is_gone_marked_and_counted(filled: Path, tmp_path: Path) -> None:
    """No byte of it is left; counts stand in the answer and in the package; digests stay."""
    with BenchFile.open(filled, read_only=True) as bench:
        answer = export(bench, tmp_path / "out", withhold=["who,why", "note", "files", "tab"])
        digests = {entry.digest for entry in bench.history()}
    text = "".join(
        path.read_text("utf-8") for path in (tmp_path / "out").rglob("*") if path.is_file()
    )

    for gone in ("Ida", "of all", "fold-crimp", "at,voltage", "-1+1"):
        assert gone not in text
    assert not (tmp_path / "out/files").exists()
    assert answer.withheld["who"] == len(digests)
    assert answer.withheld["files"] == 1
    assert answer.withheld["tab"] > 0
    assert answer.withheld_states == len(digests)
    assert not answer.whole
    described = json.loads((tmp_path / "out/datapackage.json").read_text("utf-8"))["bench"]
    assert described["withheld"] == answer.withheld
    assert not described["whole"]
    assert all(digest in text for digest in digests)
    assert frictionless.Package(str(tmp_path / "out/datapackage.json")).validate().valid


def test_withheld_is_no_bench(filled: Path, tmp_path: Path) -> None:
    """It cannot pretend: not where nothing is, not elsewhere, and not with its mark rubbed out."""
    with BenchFile.open(filled, read_only=True) as bench:
        export(bench, tmp_path / "out", withhold=["who"])
    for target in (tmp_path / "new.aerode", shutil.copy(filled, tmp_path / "old.aerode")):
        with pytest.raises(StoreError, match="not whole"):
            import_package(target, tmp_path / "out")
    history = tmp_path / "out/history.jsonl"
    history.write_text(history.read_text("utf-8").replace(',"withheld":["who"]', "", 1), "utf-8")
    with pytest.raises(DamagedError, match="digest"):
        import_package(tmp_path / "new.aerode", tmp_path / "out")
    assert not (tmp_path / "new.aerode").exists()


def test_names_are_not_withheld(filled: Path, tmp_path: Path) -> None:
    """Records refer to each other by them."""
    with BenchFile.open(filled, read_only=True) as bench, pytest.raises(InputError, match="names"):
        export(bench, tmp_path / "out", withhold=["name"])


# -- damaged and hostile ------------------------------------------------------------------------

Spoil = Callable[[list[str]], list[str]]


def _without(index: int) -> Spoil:
    return lambda lines: lines[:index] + lines[index + 1 :]


def _swap(lines: list[str]) -> list[str]:
    return [lines[0], lines[2], lines[1], *lines[3:]]


def _twice(lines: list[str]) -> list[str]:
    return [*lines[:3], lines[2], *lines[3:]]


def _replaced(old: str, new: str, at: int | None = None) -> Spoil:
    def spoil(lines: list[str]) -> list[str]:
        place = at if at is not None else next(n for n, line in enumerate(lines) if old in line)
        assert old in lines[place]
        return [line.replace(old, new) if n == place else line for n, line in enumerate(lines)]

    return spoil


@pytest.mark.parametrize(
    ("spoil", "error", "words"),
    [
        (_without(0), StoreError, "not the history"),
        (_without(5), DamagedError, "missing"),
        (lambda lines: lines[:-1], DamagedError, "too early"),
        (lambda lines: [*lines[:-1], lines[-1][:-30]], DamagedError, "cut off"),
        (_swap, DamagedError, "order was changed"),
        (_twice, DamagedError, "missing, or their order"),
        (_replaced("fold-crimp", "fold-cramp"), DamagedError, "digest"),
        (_replaced('"version":1', '"version":2', 0), NewerFileError, "version 2"),
        (_replaced('"bench":"', '"bench":"x', 0), DamagedError, "identity"),
        (_replaced('"what":"series"', '"what":"serie"'), DamagedError, "no sort of line"),
        (_replaced('"path":"files/', '"path":"../files/'), DamagedError, "not where"),
        (_replaced('"schema":"electrode/3"', '"schema":"run/1"'), DamagedError, "digest"),
        (lambda lines: [lines[0], "[" * 100_000 + "\n", *lines[1:]], DamagedError, "not JSON"),
        (lambda lines: [lines[0], "[]\n", *lines[1:]], DamagedError, "not a JSON object"),
        (lambda lines: [lines[0], '{"what":"revision"}\n', *lines[1:]], DamagedError, "missing"),
    ],
)  # fmt: skip
def test_a_spoilt_history(
    package: Path, tmp_path: Path, spoil: Spoil, error: type[Exception], words: str
) -> None:
    """Each is refused with a reason, and no bench is left behind."""
    copy = tmp_path / "copy"
    shutil.copytree(package, copy)
    lines = (copy / "history.jsonl").read_text("utf-8").splitlines(keepends=True)
    (copy / "history.jsonl").write_text("".join(spoil(lines)), "utf-8")

    with pytest.raises(error, match=words):
        import_package(tmp_path / "new.aerode", copy)
    assert {p.name for p in tmp_path.iterdir()} == {"copy"}


def test_a_spoilt_file(package: Path, tmp_path: Path) -> None:
    """Content that is not the one that was exported; content that is gone."""
    copy = tmp_path / "copy"
    shutil.copytree(package, copy)
    file = next((copy / "files").iterdir())
    file.write_bytes(b"at,voltage\n0,0.8\n")
    with pytest.raises(DamagedError, match="not the one"):
        import_package(tmp_path / "new.aerode", copy)
    file.unlink()
    with pytest.raises(InputError, match="there is no files/"):
        import_package(tmp_path / "new.aerode", copy)
    file.symlink_to(package / "files" / file.name)
    with pytest.raises(InputError, match="a link"):
        import_package(tmp_path / "new.aerode", copy)


def _hostile(package: Path, to: Path, add: Callable[[zipfile.ZipFile], None]) -> Path:
    """A good package with something bad in it."""
    with zipfile.ZipFile(to, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in sorted(p for p in package.rglob("*") if p.is_file()):
            archive.write(path, path.relative_to(package).as_posix())
        add(archive)
    return to


def _link(archive: zipfile.ZipFile) -> None:
    info = zipfile.ZipInfo("files/link")
    info.external_attr = (stat.S_IFLNK | 0o777) << 16
    archive.writestr(info, "/etc/passwd")


def _inner(archive: zipfile.ZipFile) -> None:
    inner = io.BytesIO()
    with zipfile.ZipFile(inner, "w") as other:
        other.writestr("x", "x")
    archive.writestr("files/inner.zip", inner.getvalue())


@pytest.mark.parametrize(
    ("add", "words"),
    [
        (lambda a: a.writestr("../out.txt", "x"), "leads out"),
        (lambda a: a.writestr("files/../../out.txt", "x"), "leads out"),
        (lambda a: a.writestr("/etc/cron.d/x", "x"), "leads out"),
        (lambda a: a.writestr("C:/x", "x"), "leads out"),
        (lambda a: a.writestr(zipfile.ZipInfo("files\\x"), "x"), "leads out"),
        (lambda a: a.writestr("files//x", "x"), "leads out"),
        (lambda a: a.writestr("README.TXT", "x"), "stands twice"),
        (_link, "a link"),
        (_inner, "an archive lies inside"),
        (lambda a: a.writestr("x", "x", compress_type=zipfile.ZIP_LZMA), "unusual way"),
    ],
)  # fmt: skip
def test_a_hostile_archive(
    package: Path, tmp_path: Path, add: Callable[[zipfile.ZipFile], None], words: str
) -> None:
    """Refused before a byte of it is unpacked."""
    path = _hostile(package, tmp_path / "bad.zip", add)

    with pytest.raises(InputError, match=words):
        import_package(tmp_path / "new.aerode", path)
    assert {p.name for p in tmp_path.iterdir()} == {"bad.zip"}


def test_a_small_archive_that_unpacks_to_much(
    package: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By the sizes it declares, before anything is unpacked; the limit is lowered to keep this short."""
    monkeypatch.setattr("aerode.store.archives._ALWAYS", 2**20)
    path = _hostile(package, tmp_path / "bad.zip", lambda a: a.writestr("zeros", bytes(30_000_000)))

    with pytest.raises(InputError, match="would unpack"):
        import_package(tmp_path / "new.aerode", path)


def test_an_archive_in_the_history_file(package: Path, tmp_path: Path) -> None:
    """Packed bytes under an honest name are found by how they begin."""
    copy = tmp_path / "copy"
    shutil.copytree(package, copy)
    (copy / "history.jsonl").write_bytes(b"\x1f\x8b" + b"x" * 100)
    with pytest.raises(InputError, match="an archive lies inside"):
        import_package(tmp_path / "new.aerode", copy)


def test_declared_sizes_that_lie(package: Path, tmp_path: Path) -> None:
    """An entry that unpacks to more than its directory says is cut off with a refusal."""
    path = _hostile(package, tmp_path / "bad.zip", lambda _: None)
    raw = bytearray(path.read_bytes())
    entry = next(e for e in zipfile.ZipFile(path).infolist() if e.filename == "history.jsonl")
    directory = raw.rindex(b"history.jsonl") - 46
    raw[directory + 24 : directory + 28] = (entry.file_size // 2).to_bytes(4, "little")
    path.write_bytes(raw)

    with pytest.raises(AerodeError):
        import_package(tmp_path / "new.aerode", path)
    assert not (tmp_path / "new.aerode").exists()


def test_entries_that_share_their_bytes(package: Path, tmp_path: Path) -> None:
    """Two names in the directory that point at one place: a small file that unpacks to much."""
    path = _hostile(package, tmp_path / "bad.zip", lambda a: a.writestr("z1", "x" * 50))
    raw = path.read_bytes()
    end = raw.rindex(b"PK\x05\x06")
    start = raw.rindex(b"PK\x01\x02")
    more = raw[start:end].replace(b"z1", b"z2")
    count = int.from_bytes(raw[end + 10 : end + 12], "little") + 1
    size = int.from_bytes(raw[end + 12 : end + 16], "little") + len(more)
    tail = bytearray(raw[end:])
    tail[8:10] = tail[10:12] = count.to_bytes(2, "little")
    tail[12:16] = size.to_bytes(4, "little")
    path.write_bytes(raw[:end] + more + bytes(tail))

    with pytest.raises(InputError, match="share the same bytes"):
        import_package(tmp_path / "new.aerode", path)


def test_no_archive_at_all(tmp_path: Path) -> None:
    """Random bytes, an empty file, nothing."""
    (tmp_path / "a.zip").write_bytes(b"not a zip")
    (tmp_path / "b.zip").write_bytes(b"")
    for name in ("a.zip", "b.zip", "c.zip"):
        with pytest.raises(AerodeError, match=r"not a ZIP archive|no such package"):
            import_package(tmp_path / "new.aerode", tmp_path / name)


def test_a_state_with_a_parent_of_another_record(tmp_path: Path) -> None:
    """Digests that agree do not help a history that no bench could have written."""
    with BenchFile.create(tmp_path / "a.aerode", title="x") as bench:
        first = bench.put(Electrode(name="T1", wetted_area=Entry(value=1e-3)))
        forged = first.__class__(
            record="f" * 32, kind="electrode", name="T2", schema=first.schema, at=first.at,
            parents=(first.digest,), doc='{"name":"T2"}',
        ).sealed()  # fmt: skip
        with bench.writing() as ledger, pytest.raises(DamagedError, match="another record"):
            take_in_lines(ledger, [RevisionLine(forged)], UPCASTS, "there")
        assert len(bench.history()) == 2
