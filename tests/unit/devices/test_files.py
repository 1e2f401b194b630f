"""A written file is the old one or the whole new one."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from aerode.devices.files import make_folder, write_text
from aerode.errors import StoreError


def test_it_is_written_whole(tmp_path: Path) -> None:
    """The text is there, and nothing is left beside it."""
    place = write_text(tmp_path / "a.html", "Ω and more\n")

    assert place.read_text("utf-8") == "Ω and more\n"
    assert os.listdir(tmp_path) == ["a.html"]


def test_a_failure_leaves_the_old_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the disk is full in the middle, the old file is untouched and the refusal says where."""
    place = write_text(tmp_path / "a.html", "old")

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("aerode.devices.files.os.fsync", full)
    with pytest.raises(StoreError, match=r"a\.html"):
        write_text(place, "new")

    assert place.read_text("utf-8") == "old"
    assert os.listdir(tmp_path) == ["a.html"]


def test_a_missing_folder_is_told(tmp_path: Path) -> None:
    """A place that cannot be is refused with what to do."""
    with pytest.raises(StoreError) as refusal:
        write_text(tmp_path / "nowhere" / "a.html", "x")

    assert refusal.value.next_step


def test_a_folder_is_made_with_its_parents(tmp_path: Path) -> None:
    """Making a folder twice is no fault."""
    assert make_folder(tmp_path / "a" / "b").is_dir()
    assert make_folder(tmp_path / "a" / "b").is_dir()
