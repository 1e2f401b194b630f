"""`aerode schema`: the JSON Schema of any answer or stored kind."""

from __future__ import annotations

import json

import click

__all__ = ["command"]


@click.command(
    epilog="Example: aerode schema fit > fit.schema.json    (or: aerode schema electrode)"
)
@click.argument("name", required=False, default="")
def command(name: str) -> None:
    """Print the JSON Schema of an answer (fit, compare, mix) or of a stored kind (electrode).

    Without NAME: the list of all names.
    """
    from aerode.usecases.bench_schema import schema_names, schema_of

    if name:
        click.echo(json.dumps(schema_of(name), ensure_ascii=False, indent=2))
        return
    for line in schema_names():
        click.echo(line)
