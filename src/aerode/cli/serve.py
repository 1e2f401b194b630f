"""`aerode serve`: the whole job in a browser, on this computer, with one phone beside it, or for a lab."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from aerode.cli.console import bench_option

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["command"]


@click.command(
    "serve",
    epilog="""Examples:

  aerode serve --bench shed.aerode

  aerode serve --phone

  aerode serve --users lab.json --add-user ann --role owner

  aerode serve --lab --host 192.168.1.20 --users lab.json""",
)
@click.option("--port", type=click.IntRange(1024, 65535), default=8642, show_default=True,
              help="Where it answers; the next free one is taken.")  # fmt: skip
@click.option("--open/--no-open", "show", default=True, show_default=True,
              help="Open the pages in the browser.")  # fmt: skip
@click.option("--phone", is_flag=True,
              help="Let one phone on this network in, by a code that opens once; you are asked first.")  # fmt: skip
@click.option("--lab", is_flag=True, help="Answer beyond this computer, to those with a password.")
@click.option("--host", default="127.0.0.1", show_default=True, metavar="ADDRESS",
              help="With --lab: the one address or name it answers under.")  # fmt: skip
@click.option("--users", default="", metavar="FILE", help="With --lab: who may come in.")
@click.option("--add-user", default="", metavar="NAME",
              help="Write one user into --users, and stop; asks for the password.")  # fmt: skip
@click.option("--role", type=click.Choice(["owner", "member", "reader"]), default="member", show_default=True,
              help="Of that user. A reader changes nothing; an owner shows others out.")  # fmt: skip
@bench_option
def command(port: int, show: bool, phone: bool, lab: bool, host: str, users: str, add_user: str,
            role: str, bench: str) -> None:  # fmt: skip
    """Open the pages: the whole job in a browser, on this computer only unless you say otherwise.

    The link that is printed lets one browser in, once. Press Enter for a fresh link, Ctrl-C to
    stop. What you entered is on the bench, whenever you stop.
    """
    if add_user:
        _add_user(users, add_user, role)
        return
    _refuse_half_open(lab=lab, phone=phone, host=host, users=users)
    if phone and not click.confirm(
        "Let one phone on this network in? It will see and change this bench until you stop.",
        default=False,
    ):
        raise click.Abort
    from aerode.web.serving import Lab, serve

    shared = Lab(host=host, users=users) if lab else None
    serve(_bench(bench), port=port, show=show, say=click.echo, phone=phone, lab=shared)


def _refuse_half_open(*, lab: bool, phone: bool, host: str, users: str) -> None:
    """Beyond this computer only with the flag, an address and users: nothing of it by accident."""
    if lab and phone:
        raise click.UsageError("--lab and --phone are two ways; take one.")
    if lab and (not users or host in {"127.0.0.1", "localhost"}):
        raise click.UsageError("--lab needs --host ADDRESS and --users FILE.")
    if not lab and (host not in {"127.0.0.1", "localhost"} or users):
        raise click.UsageError("--host and --users are for a lab: say --lab too.")


def _add_user(users: str, name: str, role: str) -> None:
    if not users:
        raise click.UsageError("--add-user needs --users FILE.")
    from aerode.web.guard.doors import Role
    from aerode.web.guard.users import store_user

    password = click.prompt("Password", hide_input=True, confirmation_prompt=True)
    store_user(users, name, Role(role), password)
    click.echo(f"{name} may come in as {role}; {users} holds the hash, not the password.")


def _bench(bench: str) -> str:
    """The bench, made new where there is none yet."""
    from pathlib import Path

    from aerode.errors import OlderFileError
    from aerode.store.bench_file import BenchFile

    if "://" not in bench and not Path(bench).exists():
        BenchFile.create(bench, title=_title(Path(bench))).close()
        click.echo(f"New bench: {bench}")
        return bench
    try:
        BenchFile.open(bench).close()
    except OlderFileError as refusal:
        click.echo(f"{refusal.where}: {refusal.what}.")
        if not click.confirm("Bring it up to date now? A backup is made first.", default=False):
            raise
        from aerode.usecases.bench_copies import migrate

        click.echo(migrate(bench).headline)
    return bench


def _title(path: Path) -> str:
    return path.stem.replace("-", " ").replace("_", " ") or "bench"
