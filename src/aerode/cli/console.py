"""What all verbs share: the bench option, the JSON option, printing, exit codes."""

from __future__ import annotations

import json
import os
import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from collections.abc import Callable, Generator, Iterable

__all__ = ["bench_option", "json_option", "json_text", "lines", "print_answer", "progress", "run"]

F = TypeVar("F", bound="Callable[..., Any]")

DEFAULT_BENCH = "bench.aerode"


def bench_option(function: F) -> F:
    """Add `--bench FILE`, one default for all verbs."""
    return click.option(
        "--bench",
        "-b",
        metavar="FILE",
        default=lambda: os.environ.get("AERODE_BENCH", DEFAULT_BENCH),
        show_default=DEFAULT_BENCH,
        help="The bench file (or set AERODE_BENCH).",
    )(function)


def json_option(function: F) -> F:
    """Add `--json`: the same record for scripts."""
    return click.option("--json", "as_json", is_flag=True, help="Print the whole answer as JSON.")(
        function
    )


def print_answer(answer: Any, text: Iterable[str], *, as_json: bool) -> None:
    """One answer: the record as JSON with `schema` first, or its lines for people.

    Parameters
    ----------
    answer : record
        A record of `aerode.records` whose first field is `schema`.
    text : iterable of str
        The lines for people, each at most 80 columns; the first is the verdict, at most 100.
    as_json : bool
        Print the record instead.
    """
    if as_json:
        from aerode.records.adapter import write_whole

        click.echo(json_text(write_whole(answer)))
        return
    for line in text:
        click.echo(line)


def json_text(answer: Any) -> str:
    """JSON for the output as it is: escaped where it is not UTF-8, so that every reader gets it whole."""
    encoding = (getattr(sys.stdout, "encoding", None) or "utf-8").lower().replace("_", "-")
    escaped = encoding not in {"utf-8", "utf8"}
    return json.dumps(answer, ensure_ascii=escaped, indent=2, allow_nan=False)


def lines(text: str, *, width: int = 80, indent: str = "") -> list[str]:
    """A paragraph broken at `width` columns."""
    import textwrap

    return textwrap.wrap(
        text,
        width=width,
        initial_indent=indent,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )


def _print_refusal(error: Any, arguments: list[str]) -> None:
    if "--json" in arguments:
        faults = [
            {"field": f.field, "what": f.what, "allowed": f.allowed, "raw": f.raw}
            for f in getattr(error, "faults", ())
        ]
        answer = {
            "schema": "aerode.refusal/1",
            "kind": type(error).__name__,
            "what": error.what,
            "where": error.where,
            "allowed": error.allowed,
            "next_step": error.next_step,
            "faults": faults,
        }
        click.echo(json_text(answer))
        return
    for line in f"Refused. {error}".splitlines():
        for part in lines(line) or [""]:
            click.echo(part, err=True)


def _unknown(verb: str) -> int:
    from difflib import get_close_matches

    from aerode.cli import VERBS

    near = get_close_matches(verb, VERBS, n=2)
    click.echo(
        f"There is no verb {verb!r}." + (f" Did you mean: {' or '.join(near)}?" if near else ""),
        err=True,
    )
    for line in lines(f"Verbs: {', '.join(VERBS)}. `aerode --help` says what they do."):
        click.echo(line, err=True)
    return 2


def run(arguments: list[str]) -> int:
    """Run one verb and return its exit code; every refusal is printed, none is a traceback."""
    from importlib import import_module

    from aerode.cli import VERBS
    from aerode.errors import AerodeError

    verb, rest = arguments[0], arguments[1:]
    if verb not in VERBS:
        return _unknown(verb)
    command: click.Command = import_module(VERBS[verb][0]).command
    try:
        result = command.main(args=rest, prog_name=f"aerode {verb}", standalone_mode=False)
    except AerodeError as error:
        _print_refusal(error, arguments)
        return 1
    except click.ClickException as error:
        error.show()
        return 2
    except click.exceptions.Exit as stop:
        return stop.exit_code
    except (click.Abort, KeyboardInterrupt):
        click.echo("Stopped. What was saved before stays saved.", err=True)
        return 1
    except BrokenPipeError:
        sys.stderr.close()
        return 1
    return result if isinstance(result, int) else 0


@contextmanager
def progress(title: str) -> Generator[Callable[[str, float], None]]:
    """A progress line on standard error, with the time left; silent where nobody watches.

    Yields
    ------
    callable
        `step(what, share)`: what is being done, and how much of the whole is done (0 to 1).
    """
    if not sys.stderr.isatty():
        yield lambda what, share: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (
        TextColumn("{task.description}"),
        BarColumn(bar_width=24),
        TimeRemainingColumn(compact=True),
    )
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(title, total=1.0)

        def step(what: str, share: float) -> None:
            bar.update(task, description=what, completed=share)

        yield step
