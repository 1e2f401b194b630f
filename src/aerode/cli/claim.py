"""`aerode claim`: what is to be shown, by how much, with how many builds, and what those can reach."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from aerode import units
from aerode.cli.console import bench_option, json_option, lines, print_answer

if TYPE_CHECKING:
    from aerode.records.comparisons import ClaimOutlook
    from aerode.records.places import Claim

__all__ = ["command"]


@click.command(
    "claim",
    epilog='Example:  aerode claim "less binder" --factor binder --at "0.45 V" --margin "10 %" '
    '--builds 8 --question "Does less binder give more current?"',
)
@click.argument("name")
@click.option("--question", default="", help="The question, in one sentence.")
@click.option("--factor", default="", help='The factor it is about; "" compares recipes.')
@click.option("--at", metavar="POINT", help='Common point: "0.45 V" or "2 mA/cm^2".')
@click.option("--margin", metavar="RATIO", help='Smallest difference worth having: "10 %" or 1.1.')
@click.option("--builds", type=click.IntRange(min=1), help="Electrodes to be built, in all.")
@click.option("--looks", type=click.IntRange(min=1), default=1, show_default=True,
              help="How often you will look at the result while building goes on.")  # fmt: skip
@click.option("--spread", metavar="SHARE", help='Spread between builds, as in "12 %".')
@click.option(
    "--new-factor", is_flag=True, help="The factor is one that no electrode here has yet."
)
@click.option("--note", default="", help="Anything that belongs to it.")
@click.option("--try", "trial", is_flag=True, help="Only print what it can reach; keep nothing.")
@bench_option
@json_option
def command(name: str, bench: str, as_json: bool, question: str, factor: str, at: str | None, margin: str | None,
            builds: int | None, looks: int, spread: str | None, new_factor: bool, note: str, trial: bool) -> None:  # fmt: skip
    """Say what is to be shown BEFORE building, and see which verdicts that can reach.

    The claim is kept with its date; `aerode compare` judges under it. A name that is on the
    bench already, given alone, is shown again.
    """
    from pathlib import Path

    from aerode.measure.comparison import typed
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.claim import outlook_of, state_claim

    told = any((question, factor, at, margin, builds, note))
    wanted = None if spread is None else typed.share_from_text(spread, "spread")
    if trial and not Path(bench).exists():
        answer = state_claim(None, _claim(name, question, factor, at, margin, builds, looks, note),
                             spread=wanted, keep=False)  # fmt: skip
        print_answer(answer, _lines(answer), as_json=as_json)
        return
    with BenchFile.open(bench) as store:
        if told or trial:
            claim = _claim(name, question, factor, at, margin, builds, looks, note)
            answer = state_claim(store, claim, spread=wanted, keep=not trial, new_factor=new_factor)
        else:
            answer = outlook_of(store, name)
    print_answer(answer, _lines(answer), as_json=as_json)


def _claim(name: str, question: str, factor: str, at: str | None, margin: str | None, builds: int | None,
           looks: int, note: str) -> Claim:  # fmt: skip
    from datetime import datetime

    from aerode.measure.comparison import typed
    from aerode.records.adapter import read
    from aerode.records.places import Claim

    voltage, density = (None, None) if at is None else typed.point_from_text(at)
    entered = {
        "name": name,
        "question": question or name,
        "factor": factor,
        "at": voltage if voltage is not None else density,
        "response": "voltage at a current density"
        if density is not None
        else "current density at a cell voltage",
        "margin": 1.10 if margin is None else typed.margin_from_text(margin),
        "builds": builds,
        "looks": looks,
        "made": datetime.now().astimezone().date().isoformat(),
        "note": note,
    }
    return read(Claim, entered, where=f"claim {name}")


def _lines(answer: ClaimOutlook) -> list[str]:
    said = [answer.headline]
    entries = [_what(answer)]
    for row, show, equal in zip(
        answer.reach, answer.builds_to_show, answer.builds_to_equal, strict=True
    ):
        entries.append(
            f"At a spread of {units.per_cent(row.spread)} ({row.spread_basis}): {row.detail}. To show a ratio of "
            f"{answer.margin:.3g}: {_count(show)} a side; to find equals equivalent: {_count(equal)}."
        )
    entries += [f"Note: {text}." for text in answer.warnings]
    entries += [f"Next: {text}." for text in answer.next_steps]
    if answer.stored:
        entries.append(f'Kept as claim "{answer.claim}".')
    for entry in entries:
        said += lines(entry, indent="  ")
    return said


def _what(answer: ClaimOutlook) -> str:
    point = ""
    if answer.at is not None:
        density = answer.at_unit != "V"
        point = f" at {0.1 * answer.at:.3g} mA/cm^2" if density else f" at {answer.at:.3g} V"
    about = f" of {answer.factor}" if answer.factor else ""
    looks = "one look" if answer.looks == 1 else f"{answer.looks} looks"
    return f"{answer.question} (effect{about}{point}; worth having from {100 * answer.margin - 100:.3g} %; {looks})"


def _count(builds: int | None) -> str:
    return "more than 1000" if builds is None else f"{builds} builds"
