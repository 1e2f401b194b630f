"""An address at which nothing is yet, on SQLite and on PostgreSQL."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path

import pytest
import sqlalchemy as sa

# PostgreSQL is an extra: where the machine has none, the same tests run on SQLite alone.
DATABASES = ["sqlite", *(["postgresql"] if shutil.which("initdb") else [])]
SERVER_USER = "nobody" if os.geteuid() == 0 else None


_benches = count()


def _as_server(command: list[str]) -> None:
    """PostgreSQL refuses to run as root."""
    subprocess.run(command, check=True, capture_output=True, user=SERVER_USER, cwd="/")


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    """A PostgreSQL server in a temporary folder, reached by its socket."""
    folder = Path(tempfile.mkdtemp(prefix="pg"))
    if SERVER_USER:
        shutil.chown(folder, SERVER_USER)
    data = str(folder / "data")
    options = f"-c listen_addresses= -c unix_socket_directories={folder} -c fsync=off"
    _as_server(["initdb", "-D", data, "-U", "ida", "--auth=trust", "--no-sync", "-E", "UTF8", "--locale=C"])  # fmt: skip
    _as_server(["pg_ctl", "-D", data, "-w", "-l", str(folder / "log"), "-o", options, "start"])
    yield f"postgresql+psycopg://ida@/postgres?host={folder}"
    _as_server(["pg_ctl", "-D", data, "-w", "-m", "immediate", "stop"])
    shutil.rmtree(folder)


@pytest.fixture(params=DATABASES)
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Callable[[], str]]:
    """A maker of addresses at which nothing is yet."""
    if request.param == "sqlite":
        numbers = count()
        yield lambda: str(tmp_path / f"{next(numbers)}.aerode")
        return
    server: str = request.getfixturevalue("server")
    admin = sa.create_engine(server, isolation_level="AUTOCOMMIT")
    made: list[str] = []
    first = next(_benches) * 1000

    def new() -> str:
        made.append(f"bench{first + len(made)}")
        with admin.connect() as connection:
            connection.exec_driver_sql(f"CREATE DATABASE {made[-1]}")
        return server.replace("/postgres?", f"/{made[-1]}?")

    yield new
    with admin.connect() as connection:
        for name in made:
            connection.exec_driver_sql(f"DROP DATABASE {name} WITH (FORCE)")
    admin.dispose()
