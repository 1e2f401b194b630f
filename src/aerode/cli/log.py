"""`aerode log`: a guided run, one line of an old notebook, or a reading filed in ten seconds."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

import click

from aerode.cli.console import bench_option, json_option, lines, print_answer
from aerode.cli.log_table import TABLE_OPTIONS, table_options, take_or_draw

if TYPE_CHECKING:
    from aerode.errors import AerodeError
    from aerode.records.logs import LogAnswer, LogStep
    from aerode.records.marks import Condition
    from aerode.usecases.log_run import GuidedRun
    from aerode.usecases.take_readings import RunAtBench

__all__ = ["command"]

_SORTS = {
    "loads": "load steps",
    "sealed-face": "sealed face",
    "ammeter": "ammeter across the cell",
    "check-cell": "check cell",
}
_HELP = "number, or: back (take the last one back), undo (put it back), yes (the meter shows what was asked about), keep (what was not taken, with its doubt), skip, stop, ? "
_ONCE_MORE = 60.0
"""A load that has not settled after its last planned moment is read again so much later [s]: judgement."""
_WORDS = {"stop", "skip", "back", "undo", "keep", "yes", "?"}


@click.command(
    "log",
    context_settings={"ignore_unknown_options": False},
    epilog="Examples:  aerode log T6     aerode log 0,742 V 15 ohm --note v12     "
    "aerode log T6 0.42 V 15 ohm --plan retro --date 2025-03-12     "
    "aerode log T6 --from day.csv --load R15",
)
@click.argument("words", nargs=-1, metavar="ELECTRODE | READING...")
@click.option("--plan", type=click.Choice(["full", "short", "retro"]), default="full", show_default=True,
              help="full: every resistor, settled; short: three, timed, at most 12 minutes; retro: one old line.")  # fmt: skip
@click.option(
    "--sort",
    type=click.Choice(list(_SORTS)),
    default="loads",
    show_default=True,
    help="What kind of run.",
)
@click.option("--date", default="", help="Day of an old line, as in 2025-03-12 or 12.3.2025.")
@click.option("--note", default="", help="Anything that helps to place it later.")
@click.option("--meter", default="", help="The meter, where the bench has several.")
@click.option("--range", "voltage_range", default="", help="The range or socket it is read on.")
@click.option("--control", is_flag=True, help="This electrode is the control of the day.")
@click.option("--temperature", help='As in "21 °C", or "same".')
@click.option("--salinity", help='As in "31 g/kg", or "same".')
@click.option("--hours-wet", help='Time since first wetting, as in "2 h", or "same".')
@click.option("--charge-before", help='Charge passed before, as in "20 mAh".')
@click.option("--aluminium-charge", help='Charge this aluminium has passed, as in "20 mAh".')
@click.option("--electrolyte-age", help='As in "3 h".')
@click.option("--gap", help='Electrode to aluminium, as in "4 mm", or "same".')
@click.option("--no-questions", is_flag=True, help="Do not ask for conditions that were not given.")
@table_options
@bench_option
@json_option
def command(words: tuple[str, ...], bench: str, as_json: bool, plan: str, sort: str, date: str, note: str,
            meter: str, voltage_range: str, control: bool, no_questions: bool, **typed: Any) -> None:  # fmt: skip
    """Take readings: guided, resistor by resistor, each saved before the next is asked.

    A number alone is filed in the tray of things to be sorted. Ctrl-C loses nothing: the same
    line goes on where it stopped. With --from a table or a long log is read from a file, in
    whatever way it is written; what was understood is shown before it is taken.
    """
    table = {name: typed.pop(name) for name in TABLE_OPTIONS}
    if table["file"] or table["drawn"]:
        take_or_draw(
            bench, words, table, retro=plan == "retro", note=note, meter=meter, control=control,
            conditions=_conditions(typed), as_json=as_json,
        )  # fmt: skip
        return
    if not words:
        raise click.UsageError("name an electrode, or type a reading: aerode log T6")
    from aerode.records.electrodes import Electrode
    from aerode.records.runs import RunPlan, RunSort
    from aerode.store.bench_file import BenchFile, now
    from aerode.usecases.log_reading import file_reading
    from aerode.usecases.log_retro import log_retro
    from aerode.usecases.log_run import resume_or_start

    if _is_reading(words[0]):
        with _open_or_create(bench) as store:
            answer = file_reading(store, words, note=note, moment=now())
            print_answer(answer, _filed(answer), as_json=as_json)
        return
    with BenchFile.open(bench) as store:
        electrode, line = words[0], words[1:]
        store.get(Electrode, electrode)
        if plan == "retro" or line:
            answer = log_retro(store, electrode, line, date=date, note=note, moment=now())
            print_answer(answer, _filed(answer), as_json=as_json)
            return
        conditions = _conditions(typed)
        guided = resume_or_start(
            store,
            electrode,
            sort=RunSort(_SORTS[sort]),
            plan=RunPlan(plan),
            conditions=conditions,
            control=control,
            meter=meter,
            voltage_range=voltage_range,
            clock=now,
        )
        if as_json:
            print_answer(guided.standing(), (), as_json=True)
            return
        _dialogue(_at_bench(guided), ask=not no_questions and not guided.resumed)


def _at_bench(guided: GuidedRun) -> RunAtBench:
    """The run with its timed readings saved one by one; a load that was being watched begins again."""
    from aerode.usecases.take_readings import RunAtBench, run_at_bench

    if not guided.resumed:
        return RunAtBench(guided.bench, guided.run, guided.resistors, guided.clock, by_hand=True)
    at = run_at_bench(guided.bench, guided.run.name, clock=guided.clock)
    at.by_hand = True
    if at.watched is not None:
        click.echo(
            f"{at.watched.load} was being watched when this run stopped: its timed readings begin again."
        )
        at.watched = None
    return at


def _is_reading(word: str) -> bool:
    from aerode import units
    from aerode.errors import UnitError

    try:
        _, rest = units.read_number(word)
        return not rest or any(units.same_kind(rest, unit) for unit in ("V", "A", "ohm"))
    except UnitError:
        return False


def _open_or_create(bench: str):
    from pathlib import Path

    from aerode.store.bench_file import BenchFile

    if "://" in bench or Path(bench).exists():
        return BenchFile.open(bench)
    store = BenchFile.create(bench, title="bench")
    click.echo(f"Made a new bench file, {bench}.", err=True)
    return store


def _conditions(typed: dict[str, str | None]) -> dict[str, Condition]:
    from aerode.usecases.run_conditions import CONDITIONS, condition

    return {
        field: condition(text, CONDITIONS[field][0], field.replace("_", " "))
        for field, text in typed.items()
        if text
    }


def _filed(answer: LogAnswer) -> list[str]:
    text = [answer.headline]
    for taken in answer.taken:
        if taken.doubt:
            text += lines(f"Doubtful: {taken.doubt}. It is kept as typed.", indent="  ")
    if answer.tray:
        typed = " ".join(t.text for t in answer.taken)
        text += lines(
            f"Place it later as a run of its own: aerode log ELECTRODE {typed} --plan retro"
        )
    return text


def _ask_conditions(guided: GuidedRun) -> None:
    from aerode.errors import AerodeError
    from aerode.records.marks import Known
    from aerode.usecases.run_conditions import CONDITIONS, condition

    asked = [
        f
        for f in ("temperature", "salinity", "hours_wet")
        if getattr(guided.run, f).known is Known.MAY_DIFFER
    ]
    if not asked:
        return
    click.echo('Conditions: a value, "same" (same for all of this day), or Enter if not known.')
    for field in asked:
        unit, example = CONDITIONS[field]
        while True:
            text = click.prompt(f"  {example}", default="", show_default=False, prompt_suffix=": ")
            try:
                guided.set_condition(field, condition(text, unit, field.replace("_", " ")))
                break
            except AerodeError as error:
                click.echo(str(error))


def _figures(guided: RunAtBench, step: LogStep, *, sealed: bool) -> str:
    """What to expect, with what it rests on; of a load that comes back, what it checks."""
    from aerode import units
    from aerode.usecases.run_page import expected_words
    from aerode.usecases.run_sealed import without_air_words

    if sealed:
        return without_air_words(guided.bench, guided.run, step)
    said = expected_words(step)
    if step.again or step.load == "open":
        return said if step.expectation in said or step.again else f"{said} ({step.expectation})"
    power = units.plain(1e3 * (step.expected_power or 0.0), 3)
    return f"{said}, {power} mW ({step.expectation})"


def _expectation(guided: RunAtBench, step: LogStep, *, sealed: bool) -> list[str]:
    load = "no load (open)" if step.load == "open" else step.load
    text = [f"Step {step.number} of {step.of}: {load or 'ammeter across the cell'}."]
    expected = (
        _figures(guided, step, sealed=sealed)
        if step.expected_voltage is not None and step.load
        else ""
    )
    if expected:
        text += lines(f"Expect {expected}.", indent="  ")
    if step.moments:
        text.append(
            "  Read at " + ", ".join(f"{m:.0f}" for m in step.moments) + " s after it is on."
        )
    elif step.load:
        text.append(
            "  Read it after two minutes; it should move less than 1 mV in a minute by then."
        )
    if step.warning:
        text += lines(f"Careful: {step.warning}.", indent="  ")
    return text


def _dialogue(guided: RunAtBench, *, ask: bool) -> None:
    from aerode.errors import AerodeError
    from aerode.records.runs import RunSort
    from aerode.usecases.run_cautions import before_a_run
    from aerode.usecases.run_sealed import TAPE_FIRST, tape_off_first

    click.echo(guided.about())
    if not guided.run.readings:
        run = guided.run
        if tape := tape_off_first(guided.bench, run.electrode, run.sort, run=run.name):
            click.echo(tape)
        for told in before_a_run(guided.bench, guided.run.electrode).lines():
            for line in lines(told):
                click.echo(line)
    if ask:
        _ask_conditions(guided)
    for line in lines(
        f"Type the reading ({_HELP.strip()}). Each is saved at once; Ctrl-C loses nothing."
    ):
        click.echo(line)
    sealed = guided.run.sort is RunSort.SEALED_FACE
    if sealed and not guided.run.readings:
        click.echo(f"{TAPE_FIRST}.")
    refused: list[tuple[str, str]] = []
    while (step := guided.next_step()) is not None:
        for line in _expectation(guided, step, sealed=sealed):
            click.echo(line)
        try:
            go_on = _watch(guided, step) if step.moments else _one_step(guided, refused)
        except AerodeError as error:
            _not_taken(error, guided)
            continue
        refused.clear()
        if not go_on:
            break
    if guided.next_step() is None:
        click.echo(guided.finish().headline)
        _what_it_tells(guided)
    else:
        click.echo(
            f"Stopped with {len(guided.remaining())} to go. Go on with: aerode log {guided.run.electrode}"
        )


def _what_it_tells(guided: RunAtBench) -> None:
    """Of a taped air face what it found; of other runs the command that tells it."""
    from aerode.records.runs import RunSort
    from aerode.usecases.run_sealed import found_without_air, tape_off_at_close

    if guided.run.sort is not RunSort.SEALED_FACE:
        click.echo(f'Next: aerode fit "{guided.run.name}"')
        return
    if tape := tape_off_at_close(guided.bench, guided.run):
        click.echo(f"{tape}.")
    said, step = found_without_air(guided.bench, guided.run)
    for line in lines(f"{said}. Next: {step}." if step else f"{said}."):
        click.echo(line)


def _not_taken(error: AerodeError, guided: RunAtBench) -> None:
    for line in f"Not taken. {error}".splitlines():
        for part in lines(line, indent="  "):
            click.echo(part)
    if guided.asked:
        click.echo("  If the meter shows it, type: yes")
    for name in _others(guided):
        click.echo(f"  If {name} was on, type: {name}")


def _others(guided: RunAtBench) -> list[str]:
    """The resistors that may have been on when the last reading was refused, not read yet."""
    from aerode.usecases.log_foretold import was_read

    return [name for name in guided.others if not guided.watched and was_read(guided, name) is None]


def _typed_at_once() -> bool:
    """Whether the readings are typed as they are read; those of a file come without their moments."""
    return sys.stdin.isatty()


def _one_step(guided: RunAtBench, refused: list[tuple[str, str]]) -> bool:
    """One load; False where the person stops. `refused` holds what was typed here and not taken, and why."""
    from aerode.errors import RangeError
    from aerode.usecases.take_readings import keep_anyway, take_at_other

    text = click.prompt("  reading", prompt_suffix="> ").strip()
    if refused and text in _others(guided):
        for line in lines(take_at_other(guided, refused[-1][0], text).headline, indent="  "):
            click.echo(line)
        return True
    if text == "keep" and refused:
        click.echo(f"  {keep_anyway(guided, *refused[-1]).headline} It is doubted: no fit uses it.")
        return True
    guided.sure = text == "yes" and bool(refused) and guided.asked
    if guided.sure:
        text = refused[-1][0]
    if text in _WORDS:
        return _command(guided, text)
    guided.asked, guided.others = False, ()
    guided.waited = guided.since(guided.clock()) if _typed_at_once() else None
    try:
        for line in lines(guided.take(text).headline, indent="  "):
            click.echo(line)
    except RangeError as error:
        refused.append((text, error.what))
        raise
    return True


def _watch(guided: RunAtBench, step: LogStep) -> bool:
    """One load read at set moments, each saved at once; a slip or a question repeats its moment only."""
    from aerode.errors import AerodeError
    from aerode.usecases.take_readings import look_at_load, take_at_other

    typed = ""
    while True:
        place = len(guided.trace())
        moment = step.moments[place] if place < len(step.moments) else guided.trace()[-1][0] + _ONCE_MORE  # fmt: skip
        text = click.prompt(f"  at {moment:.0f} s", prompt_suffix="> ").strip()
        guided.sure = text == "yes" and bool(typed) and guided.asked
        if guided.sure:
            text = typed
        if text == "?":
            click.echo(f"  {_HELP}")
        elif text == "back" and place:
            _one_back(guided)
        elif text in _WORDS:
            guided.watched = None
            return _command(guided, text)
        elif typed and text in _others(guided):
            answer = take_at_other(guided, typed, text, waited=moment)
            for line in lines(answer.headline, indent="  "):
                click.echo(line)
            return True
        else:
            typed, guided.asked, guided.others = text, False, ()
            try:
                answer = look_at_load(guided, text, load=step.load, waited=moment)
            except AerodeError as error:
                _not_taken(error, guided)
                continue
            if place + 1 >= len(step.moments):
                for line in lines(answer.headline, indent="  "):
                    click.echo(line)
            if guided.watched is None:
                return True


def _one_back(guided: RunAtBench) -> None:
    """Take the last timed reading of this load back; the ones before it stay."""
    from dataclasses import replace

    if guided.watched is not None:
        trace = guided.watched.trace[:-1]
        guided.watched = replace(guided.watched, trace=trace) if trace else None
        click.echo("  The last one again:")


def _command(guided: RunAtBench, word: str) -> bool:
    from aerode.usecases.take_readings import put_back, take_last_back

    if word == "stop":
        return False
    if word == "skip":
        click.echo(f"  {guided.skip('left out by hand').headline}")
    elif word == "back":
        click.echo(f"  {take_last_back(guided).headline}")
    elif word == "undo":
        click.echo(f"  {put_back(guided).headline}")
    elif word == "yes":
        click.echo("  Nothing was asked here.")
    elif word == "keep":
        click.echo("  Nothing typed here waits to be kept.")
    else:
        click.echo(f"  {_HELP}")
    return True
