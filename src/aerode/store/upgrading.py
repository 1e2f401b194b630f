"""Bringing an older bench to the table layout of this program: backup first, all or nothing.

Documents are never touched here: they keep their bytes, and `aerode.store.upcasts` reads them.
A step that changes the tables also writes the new number of the layout into `meta`.
"""

from __future__ import annotations

import shutil
import sqlite3
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa

from aerode.errors import StoreError
from aerode.store import layout
from aerode.store.connecting import Place, connect, refusals, writing

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

__all__ = ["MIGRATIONS", "migrate", "upgrade"]

MIGRATIONS = "aerode.store:migrations"
"""Where the steps lie, as the migration tool names it; works from an installed wheel too."""


def migrate(connection: sa.Connection, *, to: str = "head", more: Sequence[Path] = ()) -> None:
    """Run the migration steps inside the transaction of an open connection.

    Parameters
    ----------
    connection : Connection
        In a writing transaction; leaving it with an error takes everything back.
    to : str
        The step to reach.
    more : sequence of Path
        Further folders with steps.
    """
    from alembic import command
    from alembic.config import Config

    layout.migration.create(connection, checkfirst=True)
    config = Config(attributes={"connection": connection})
    config.set_main_option("script_location", MIGRATIONS)
    config.set_main_option("path_separator", "newline")
    places = [f"{MIGRATIONS}/versions", *(str(folder) for folder in more)]
    config.set_main_option("version_locations", "\n".join(places))
    command.upgrade(config, to)


def upgrade(path: Path, *, more: Sequence[Path] = ()) -> Path:
    """Bring a bench file to the newest layout; the answer is the checked backup that was made first.

    Raises
    ------
    StoreError
        The backup could not be made or is not whole; then nothing was changed.
    """
    backup = _backup(path)
    engine = connect(Place(path, None), read_only=False)
    try:
        with writing(engine, str(path)) as connection:
            migrate(connection, more=more)
    finally:
        engine.dispose()
    return backup


def _backup(path: Path) -> Path:
    """A whole copy beside the file, taken while others may be writing."""
    number = 1
    while (backup := path.with_name(f"{path.stem}.before-upgrade-{number}{path.suffix}")).exists():
        number += 1
    with refusals(str(path)):
        _refuse_full_disk(path)
        source = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)
        copy = sqlite3.connect(backup)
        try:
            source.backup(copy)
            problems = [row[0] for row in copy.execute("PRAGMA integrity_check")]
        finally:
            copy.close()
            source.close()
    if problems != ["ok"]:
        raise StoreError(
            "the backup before the upgrade is not whole, so nothing was changed",
            where=str(backup),
            next_step="check the disk; run `aerode bench check`",
        )
    return backup


def _refuse_full_disk(path: Path) -> None:
    free: Any = shutil.disk_usage(path.parent).free
    if free < 2 * path.stat().st_size:
        raise StoreError(
            "there is no room for a backup, so nothing was changed",
            where=str(path),
            next_step="make room for twice the size of the file",
        )
