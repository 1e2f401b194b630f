"""`aerode schema`: the JSON Schema of any answer or stored kind."""

from __future__ import annotations

import json

import click

from aerode.cli.console import json_option, print_answer

__all__ = ["command"]


@click.command(
    epilog="Example: aerode schema fit > fit.schema.json    (or: aerode schema electrode)"
)
@click.argument("name", required=False, default="")
@json_option
def command(name: str, as_json: bool) -> None:
    """Print the JSON Schema of an answer (fit, compare, mix) or of a stored kind (electrode).

    Without NAME: the list of all names. A schema is JSON with or without --json.
    """
    from aerode.usecases.bench_schema import schema_names, schema_of

    if name:
        click.echo(json.dumps(schema_of(name), ensure_ascii=False, indent=2))
        return
    answer = schema_names()
    print_answer(answer, [answer.headline, *(f"  {one}" for one in answer.names)], as_json=as_json)
