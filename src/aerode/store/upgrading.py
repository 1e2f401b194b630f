"""Bringing an older bench to the table layout of this program: backup first, all or nothing.

Documents are never touched here: they keep their bytes, and `aerode.store.upcasts` reads them.
A step that changes the tables also writes the new number of the layout into `meta`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.store import layout
from aerode.store.backups import back_up
from aerode.store.bench_file import BenchFile, now
from aerode.store.connecting import connect, place_of, writing

if TYPE_CHECKING:
    import os
    from collections.abc import Sequence
    from datetime import datetime
    from pathlib import Path

    import sqlalchemy as sa

    from aerode.store.backups import Backup

__all__ = ["MIGRATIONS", "migrate", "needs_upgrade", "upgrade"]

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


def needs_upgrade(bench: BenchFile) -> bool:
    """True if an older version of the program made the tables of an open bench."""
    return bench.layout < layout.LAYOUT


def upgrade(
    path_or_url: str | os.PathLike[str],
    *,
    moment: datetime | None = None,
    folder: Path | None = None,
    more: Sequence[Path] = (),
) -> Backup:
    """Bring a bench to the newest layout; the answer is the checked backup that was made first.

    Parameters
    ----------
    path_or_url : path or str
        The bench.
    moment : datetime, optional
        For the name of the backup; now otherwise.
    folder : Path, optional
        Of the backups; beside the bench otherwise.
    more : sequence of Path
        Further folders with steps.

    Raises
    ------
    DamagedError
        The bench is not whole; then nothing was changed.
    StoreError
        The backup could not be made; then nothing was changed.
    """
    place = place_of(path_or_url)
    with BenchFile.open(path_or_url, read_only=True) as bench:
        backup, _ = back_up(bench, moment=moment or now(), folder=folder, why="before-migration")
    engine = connect(place, read_only=False)
    try:
        with writing(engine, place.label) as connection:
            migrate(connection, more=more)
    finally:
        engine.dispose()
    return backup
