"""`aerode symptom`: what is seen, its likely causes in order, and the test that splits them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from aerode.cli.console import bench_option, json_option, lines, print_answer

if TYPE_CHECKING:
    from aerode.records.symptoms import SymptomAnswer, SymptomLine

__all__ = ["command"]

_WIDTH = 80


@click.command(
    "symptom",
    epilog="""Examples:

  aerode symptom                          all of them

  aerode symptom "voltage falls when loaded"

  aerode symptom "wet air face" --on T1 --showed "tissue gained 0.3 g in the middle" --cause 1""",
)
@click.argument("seen", nargs=-1, metavar="[WHAT IS SEEN]")
@click.option("--on", default="", metavar="ELECTRODE", help="Electrode or cell it is seen on.")
@click.option("--showed", default="", help="What the test showed: kept with the electrode.")
@click.option("--cause", default="", help="Which cause it was: its number, or other words.")
@click.option("--run", "run", default="", help="The run in which it was seen.")
@click.option("--note", default="", help="Kept with it.")
@bench_option
@json_option
def command(
    seen: tuple[str, ...], on: str, showed: str, cause: str, run: str, note: str, bench: str,
    as_json: bool,
) -> None:  # fmt: skip
    """What is seen -> likely causes in order -> the one test that splits them, with its minutes.

    Common practice of the bench, no source. With --showed or --cause the answer is kept with the
    electrode.
    """
    from aerode.usecases.symptom import SymptomNote, keep_answer, what_it_may_be

    text = " ".join(seen)
    if showed or cause:
        if not (on and text):
            raise click.UsageError("--showed and --cause go with a symptom and --on ELECTRODE.")
        from aerode.store.bench_file import BenchFile, now

        with BenchFile.open(bench) as store:
            at = now().isoformat(timespec="seconds")
            kept = SymptomNote(symptom=text, on=on, showed=showed, cause=cause, run=run, note=note)
            answer = keep_answer(store, kept, at=at)
    elif on:
        from aerode.store.bench_file import BenchFile

        with BenchFile.open(bench, read_only=True) as store:
            answer = what_it_may_be(text, store, on)
    else:
        answer = what_it_may_be(text)
    print_answer(answer, _text(answer), as_json=as_json)


def _folded(head: str, body: str) -> list[str]:
    """A paragraph with its first word standing out to the left."""
    folded = lines(body, width=_WIDTH - len(head))
    return [(head if i == 0 else " " * len(head)) + line for i, line in enumerate(folded)]


def _text(answer: SymptomAnswer) -> list[str]:
    text = [answer.headline]
    if not answer.asked:
        for row in answer.rows:
            text += _folded(f"  {row.key}: ", row.seen)
        return [*text, "One of them: aerode symptom KEY. Common practice, no source."]
    if not answer.sure:
        for row in answer.rows:
            text += lines(row.hazard, width=_WIDTH) if row.hazard else []
            text += _folded(f"  {row.key}: ", row.seen)
        return [*text, "One of them: aerode symptom KEY. Common practice, no source."]
    text += _row(answer.rows[0])
    if len(answer.rows) > 1:
        text += _folded("Or:      ", "; ".join(row.key for row in answer.rows[1:]))
    for old in answer.before[-3:]:
        what = f"{old.at[:10]} {old.symptom}: {old.cause or 'cause open'}"
        text += _folded("Before:  ", f"{what}{'; ' + old.showed if old.showed else ''}")
    return text


def _row(row: SymptomLine) -> list[str]:
    text = lines(row.hazard, width=_WIDTH) if row.hazard else []
    text += _folded("Seen:    ", row.seen)
    text += _folded(
        "Test:    ",
        f"{row.test} ({row.minutes / 60:g} h)"
        if row.minutes >= 120
        else f"{row.test} ({row.minutes:g} min)",
    )
    for number, (cause, tells) in enumerate(zip(row.causes, row.tells, strict=True), start=1):
        text += _folded(f"  {number}      ", f"{cause}, if {tells}")
    text += _folded("Keep:    ", row.keep)
    return [*text, "Common practice of the bench, no source."]
