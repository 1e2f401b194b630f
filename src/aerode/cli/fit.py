"""`aerode fit`: the curve of one run, what it can and cannot tell, where the voltage goes."""

from __future__ import annotations

import math
import sys
from typing import TYPE_CHECKING

import click

from aerode.cli.console import bench_option, json_option, lines, print_answer

if TYPE_CHECKING:
    from pathlib import Path

    from aerode.records.fits import Fit, LossShare
    from aerode.records.results import Estimate

__all__ = ["command"]

_MOST_LINES = 12
_WIDTH = 80


@click.command(
    "fit",
    epilog="""Examples:

  aerode fit readings.csv --area "4 cm^2 +- 3 %" --at "10 mA/cm^2"

  aerode fit "T6 run 1" --bench shed.aerode --json

  aerode fit - --meter "0.5 % + 2 counts of 1 mV" --resistor-tolerance "1 %" < readings.csv""",
)
@click.argument("source", metavar="TABLE|RUN")
@click.option(
    "--area", default="", help='Wetted area, as in "9.54 cm^2 +- 1.2 %"; else no per-area figures.'
)
@click.option("--at", "at", multiple=True, metavar="CURRENT",
              help='Voltage wanted at "10 mA/cm^2" or "20 mA". Repeat it.')  # fmt: skip
@click.option("--meter", default="", metavar="LIMIT",
              help='Limit of error of the voltmeter, as in "0.5 % + 2 counts of 1 mV".')  # fmt: skip
@click.option(
    "--resistor-tolerance",
    default="",
    metavar="PERCENT",
    help='Of resistors that name none, as in "1 %".',
)
@click.option("--lead", default="", metavar="OHM",
              help='Lead and contact that carry the current, as in "0.4 ohm +- 0.05".')  # fmt: skip
@click.option("--column", "columns", multiple=True, metavar="WHAT=HEADING",
              help='Which column of a table is what, as in "voltage=U cell" or "voltage=2". Repeat it.')  # fmt: skip
@click.option("--unit", "units", multiple=True, metavar="WHAT=UNIT",
              help='Unit of a column that names none, as in "voltage=mV". Repeat it.')  # fmt: skip
@click.option(
    "--decimal",
    type=click.Choice([",", "."]),
    help="Decimal mark of a table, where it can be either.",
)
@click.option("--dates", type=click.Choice(["d/m/y", "m/d/y", "y/m/d"]), help="Order of day, month and year in a table.")  # fmt: skip
@click.option(
    "--seed", type=click.IntRange(min=0), default=1, show_default=True, help="Of the dice."
)
@click.option("--notes", is_flag=True, help="Also print readings left out and what was assumed.")
@bench_option
@json_option
def command(
    source: str, area: str, at: tuple[str, ...], meter: str, resistor_tolerance: str, lead: str,
    columns: tuple[str, ...], units: tuple[str, ...], decimal: str | None, dates: str | None, seed: int, notes: bool, bench: str, as_json: bool,
) -> None:  # fmt: skip
    """Fit a polarization curve to one run, with bands.

    TABLE is a file with a column of resistors (or currents) and one of voltages, or - for
    standard input; no bench is needed. RUN is a run of the bench, or an electrode with one run.
    """
    from aerode.usecases.fit import FitQuestion, fit_bench_run, fit_table

    question = FitQuestion(
        area=area, at=at, meter=meter, resistor_tolerance=resistor_tolerance, lead=lead,
        columns=columns, units=units, decimal=decimal or "", dates=dates or "", seed=seed,
    )  # fmt: skip
    path = _file(source)
    if source == "-":
        found = fit_table(_piped(), question, name="standard input")
    elif path is not None:
        found = fit_table(path, question)
    else:
        from aerode.store.bench_file import BenchFile

        with BenchFile.open(bench, read_only=True) as store:
            found = fit_bench_run(store, source, question)
    print_answer(found, _text(found, notes=notes), as_json=as_json)


def _piped() -> str | bytes:
    """Standard input as bytes, so that the reader of tables finds the encoding itself."""
    plain = getattr(sys.stdin, "buffer", None)
    return sys.stdin.read() if plain is None else plain.read()


def _file(source: str) -> Path | None:
    """The path, where the argument is a file or looks like one."""
    from pathlib import Path

    path = Path(source)
    looks_like_one = path.suffix.lower() in {".csv", ".tsv", ".txt", ".dat", ".log"}
    return path if path.is_file() or looks_like_one else None


def _text(found: Fit, *, notes: bool) -> list[str]:
    text = [found.headline]
    parameters = found.parameters
    text += _row("slope", parameters["tafel_slope_V_decade"], scale=1e3, unit="mV per decade")
    per_area = found.wetted_area_cm2.value is not None
    r, i, p = (
        ("area_specific_resistance_ohm_cm2", "limiting_current_density_mA_cm2", "peak_power_density_mW_cm2")
        if per_area
        else ("resistance_ohm", "limiting_current_mA", "peak_power_mW")
    )  # fmt: skip
    named = parameters[r].meaning.split(":", 1)[0]
    text += _row("resistance", parameters[r], tail=f", {named}" if named else "")
    text += _row("limit", parameters[i])
    text += _row("peak power", parameters[p])
    text += _voltages(found)
    text += _losses(found)
    head = 1 if found.warnings else 0
    closing = [_counted(found)]
    for warning in found.warnings[:1]:
        text += _folded("Mind: ", warning, most=2)
    room = _MOST_LINES - len(text) - len(closing)
    for advice in found.advice[: max(1, 2 - head)]:
        folded = _folded("Next: ", advice, most=2)
        if len(folded) <= room:
            text += folded
            room -= len(folded)
    return text + closing + (_notes(found) if notes else [])


def _row(
    name: str, one: Estimate, *, scale: float = 1.0, unit: str = "", tail: str = ""
) -> list[str]:
    from aerode import units

    unit = unit or one.unit
    head = f"  {name:<11}"
    if one.value is not None:
        spread = one.standard_uncertainty
        said = units.write(one.value * scale, "", None if spread is None else spread * scale)
        return [f"{head}{said} {unit}{tail}"]
    if one.lower_bound is not None:
        return [f"{head}above {units.bound(one.lower_bound * scale)} {unit}, not told"]
    return [f"{head}not told: {(one.reason or '').split(';')[0]}"[:_WIDTH]]


def _voltages(found: Fit) -> list[str]:
    from aerode import units

    told = [
        f"{units.write(v.voltage.value, 'V', v.voltage.standard_uncertainty)} at "
        f"{v.current.value:g} {v.current.unit}"
        for v in found.voltage_at
        if v.voltage.value is not None
    ]
    text = lines("; ".join(told[-4:]), width=_WIDTH - 13) if told else []
    text = [f"  {'voltage' if k == 0 else '':<11}{line}" for k, line in enumerate(text)]
    for v in found.voltage_at:
        if v.voltage.value is None and v.current.value is not None:
            reason = (v.voltage.reason or "").split(";")[0]
            text.append(f"  {v.current.value:g} {v.current.unit}: {reason}"[:_WIDTH])
    return text[:3]


def _losses(found: Fit) -> list[str]:
    if not found.losses or found.losses_at is None:
        return []
    said = ", ".join(_share(share) for share in found.losses)
    at = f"{found.losses_at.value:.3g} {found.losses_at.unit}"
    return _folded("  ", f"losses at {at}: {said}", most=2)


def _share(share: LossShare) -> str:
    from aerode import units

    one = share.voltage
    if one.value is not None:
        spread = one.standard_uncertainty
        return f"{share.loss} {units.write(one.value * 1e3, 'mV', None if spread is None else 1e3 * spread)}"
    top = one.interval_95[1] if one.interval_95 is not None else 0.0
    return f"{share.loss} below {math.ceil(1e3 * top)} mV"


def _counted(found: Fit) -> str:
    used = sum(p.used for p in found.points)
    left = len(found.points) - used
    out = f", {left} left out" if left else ""
    return f"{used} readings used{out}; {len(found.assumptions)} assumptions (--notes lists them)"


def _notes(found: Fit) -> list[str]:
    text: list[str] = []
    for point in found.points:
        if not point.used:
            what = point.text or point.load or "a reading"
            text += _folded("- ", f"{what}: {point.why_not}")
    for said in (*found.warnings[1:], *found.advice[1:], *found.assumptions):
        text += _folded("- ", said)
    return text


def _folded(head: str, body: str, *, most: int = 99) -> list[str]:
    folded = lines(body, width=_WIDTH - len(head))
    if len(folded) > most:
        folded = [*folded[: most - 1], folded[most - 1][: _WIDTH - len(head) - 1] + "…"]
    return [(head if k == 0 else " " * len(head)) + line for k, line in enumerate(folded)]
