"""`aerode demo`: the whole job on an invented bench, and how near the answer came to the hidden truth."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from aerode.cli.console import json_option, lines, print_answer

if TYPE_CHECKING:
    from collections.abc import Iterator

    from aerode.records.comparisons import Comparison, Effect
    from aerode.records.demos import DemoAnswer

__all__ = ["command"]


@click.command("demo", epilog="Example:  aerode demo --out out")
@click.option(
    "--out",
    default="out",
    show_default=True,
    metavar="FOLDER",
    help="Where the bench file and the report go.",
)
@click.option(
    "--seed",
    default=1,
    show_default=True,
    type=click.IntRange(min=0),
    help="Another seed is another invented bench.",
)
@json_option
def command(out: str, seed: int, as_json: bool) -> None:
    """Run the whole job on an invented bench: eight electrodes, their readings, the verdicts, a report.

    The bench is drawn at random with planted faults; what is true of it is kept out of the bench
    file, so the answer can be scored.
    """
    from aerode.cli.console import progress
    from aerode.devices.files import write_text
    from aerode.report.page import html
    from aerode.store.bench_file import now
    from aerode.usecases.demo import run_demo

    with progress("demo") as step:
        made = run_demo(out, seed=seed, clock=now, step=step)
        write_text(made.report_file, html(made.report))
    print_answer(made.answer, _lines(made.answer), as_json=as_json)


def _lines(answer: DemoAnswer) -> Iterator[str]:
    from aerode.measure.telling import (
        next_act,
        quantity_of,
        rests_on,
        warmth_first,
        what_it_may_be_instead,
        who_leads,
    )

    comparison = answer.comparison
    yield answer.headline
    yield from lines(
        f"Invented bench (seed {answer.seed}): nothing here is real. [..] is a 95 % interval."
    )
    if answer.caution is not None:
        yield from lines(
            f"{answer.caution.level}: {answer.caution.headline}. {answer.caution.do.split('. ')[0]}."
        )
    yield from _table(comparison)
    yield from lines(what_it_may_be_instead(comparison))
    yield from lines(warmth_first(comparison))
    yield from lines(rests_on(comparison))
    leads = who_leads(comparison).replace("shown to be best", "shown best")
    yield from lines(leads.replace(f"the {quantity_of(comparison)} of", "that of"))
    yield from lines(answer.fall)
    for effect in comparison.effects:
        if not effect.asked:
            yield from lines(_effect(effect))
    yield from _needed(comparison)
    for refused in comparison.refused[:1]:
        yield from lines(
            f"Refused: {refused.run}: {refused.why.split(':')[0].split(';')[0]}; read again."
        )
    if act := next_act(comparison):
        yield from lines(f"Next on this bench: {act}.")
    yield from lines(
        f"Predicted: aerode next, {answer.next_batch}; aerode size, a beacon of {answer.battery}."
    )
    yield from lines(
        f"Here the truth is known: values off by {100 * answer.rms_log_error:.1f} %, order "
        f"{answer.rank_agreement:.2f} of 1 (ammeter {answer.ammeter_rank_agreement:.2f})."
    )
    yield f"Report: {answer.report_file}"
    yield f"Look around: aerode bench show --bench {answer.bench_file}"
    yield 'Your own: aerode fit readings.csv --area "9 cm^2"  (resistance_ohm,voltage_V)'


def _table(comparison: Comparison) -> Iterator[str]:
    """One row for each electrode, best first: both numbers, both places, what befell it."""
    from aerode.measure.telling import fair_order, places

    pieces = {p.electrode: p for p in comparison.pieces}
    loud = places(
        {p.electrode: p.ammeter_mA for p in comparison.pieces if p.ammeter_mA is not None}
    )
    leaks = {w.electrode: w for w in comparison.leaks if w.first_wet is not None}
    unit = comparison.value_unit.replace("^2", "²")
    yield f"      {'recipe, in %':<13} {'ammeter (place)':<17} fair: {unit} at {comparison.at:g} {comparison.at_unit} (place)"
    for place, name in enumerate(fair_order(comparison), start=1):
        piece = pieces[name]
        spread = (
            f" ± {piece.fair.standard_uncertainty:.2f}" if piece.fair.standard_uncertainty else ""
        )
        meter = f"{piece.ammeter_mA or 0:5.1f} mA ({loud[name]})" if name in loud else ""
        leak = leaks.get(name)
        befell = f"  leaked, {leak.last_dry or 0:g} to {leak.first_wet:g} h" if leak else ""
        yield f"  {name:<3} {piece.recipe:<13} {meter:<17} {piece.fair.value or 0:.2f}{spread} ({place}){befell}"
    builds = comparison.build_spread.value
    scatter = "" if builds is None else f"; repeat builds scatter by {builds:.0f} %"
    yield f"  ± is one standard uncertainty of measuring{scatter}."


def _effect(effect: Effect) -> str:
    if effect.ratio is None or effect.interval_95 is None:
        return f"{effect.factor}: {effect.reason}"
    low, high = effect.interval_95
    return f"{effect.factor} {effect.low} → {effect.high}: {effect.ratio:.2f} [{low:.2f}, {high:.2f}] times, {effect.verdict}"


def _needed(comparison: Comparison) -> Iterator[str]:
    from aerode.records.comparisons import Verdict

    waiting = [
        e
        for e in comparison.effects
        if e.builds_per_arm_needed and e.verdict not in {Verdict.SHOWN, Verdict.SHOWN_SMALL}
    ]
    if waiting:
        nearest = min(waiting, key=lambda e: e.builds_per_arm_needed or 0)
        yield from lines(
            f"To show {nearest.factor}, if truly that small: {nearest.builds_per_arm_needed} builds per setting."
        )
