"""`aerode serve`: the whole job in a browser on this computer."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from aerode.cli.console import bench_option

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["command"]


@click.command(
    "serve",
    epilog="Example:  aerode serve --bench shed.aerode",
)
@click.option("--port", type=click.IntRange(1024, 65535), default=8642, show_default=True,
              help="Where it answers on this computer; the next free one is taken.")  # fmt: skip
@click.option("--open/--no-open", "show", default=True, show_default=True,
              help="Open the pages in the browser.")  # fmt: skip
@bench_option
def command(port: int, show: bool, bench: str) -> None:
    """Open the pages: the whole job in a browser, on this computer only.

    The link that is printed lets one browser in, once. Press Enter for a fresh link, Ctrl-C to
    stop. What you entered is on the bench, whenever you stop.
    """
    from aerode.web.serving import serve

    serve(_bench(bench), port=port, show=show, say=click.echo)


def _bench(bench: str) -> str:
    """The bench, made new where there is none yet."""
    from pathlib import Path

    from aerode.store.bench_file import BenchFile

    if "://" not in bench and not Path(bench).exists():
        BenchFile.create(bench, title=_title(Path(bench))).close()
        click.echo(f"New bench: {bench}")
    return bench


def _title(path: Path) -> str:
    return path.stem.replace("-", " ").replace("_", " ") or "bench"
