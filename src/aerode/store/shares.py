"""Whether a file lies on a network share, where the locks of a database cannot be relied on.

SQLite's own advice is to keep a database that is written on a disk of the machine that writes it
(sqlite.org/useovernet.html); the write-ahead log needs memory that all writers share
(sqlite.org/wal.html, section 1).
"""

from __future__ import annotations

import os
import re
import sys
from pathlib import Path

from aerode.errors import StoreError

__all__ = ["refuse_share", "share_of"]

_MOUNTS = Path("/proc/self/mounts")
_REMOTE = re.compile(
    r"^(nfs\d?|cifs|smb\d?|smbfs|ncpfs?|afs|ceph|glusterfs|lustre|davfs|afpfs|webdav|"
    r"fuse\.(sshfs|rclone|s3fs|davfs2?|glusterfs|curlftpfs|smbnetfs|gvfsd-fuse))$"
)
_DRIVE_REMOTE = 4
"""What Windows answers for a network drive (GetDriveTypeW)."""


def refuse_share(path: Path) -> None:
    """Refuse to write a bench on a network share.

    Raises
    ------
    StoreError
        With the kind of share, and where a bench can lie.
    """
    kind = share_of(path)
    if kind:
        raise StoreError(
            f"this place is a network share ({kind}): two writers there can spoil the file for each other",
            where=str(path),
            allowed="a folder on a disk of this machine",
            next_step="copy the bench to a folder of this machine; a lab that shares one keeps it in "
            "PostgreSQL: pip install 'aerode[postgres]'",
        )


def share_of(path: Path) -> str:
    """The kind of network share a path lies on; "" for a disk of this machine, or where nothing tells."""
    if sys.platform == "win32":
        return _share_on_windows(str(path.absolute()))
    try:
        return _mounted(os.path.realpath(path.parent), _MOUNTS.read_text("utf-8", "replace"))
    except OSError:
        return ""


def _mounted(folder: str, mounts: str) -> str:
    """The type of the file system that holds a folder, where it is one over a network.

    >>> _mounted("/lab/benches", "nas:/x /lab nfs4 rw 0 0\\n/dev/sda1 / ext4 rw 0 0\\n")
    'nfs4'
    """
    best, kind = "", ""
    for line in mounts.splitlines():
        parts = line.split(" ")
        if len(parts) < 3:
            continue
        place = re.sub(r"\\([0-7]{3})", lambda match: chr(int(match[1], 8)), parts[1])
        inside = place == "/" or folder == place or folder.startswith(f"{place.rstrip('/')}/")
        if inside and len(place) >= len(best):
            best, kind = place, parts[2]
    return kind if _REMOTE.match(kind) else ""


def _share_on_windows(path: str) -> str:
    if path.startswith("\\\\"):
        return "a path that begins with two backslashes"
    import ctypes

    drive_type = getattr(ctypes, "windll").kernel32.GetDriveTypeW  # noqa: B009 - only there on Windows
    return "a network drive" if drive_type(f"{path[:2]}\\") == _DRIVE_REMOTE else ""
