"""`aerode cautions`: what can hurt someone, before the act."""

from __future__ import annotations

import click

from aerode.cli.console import bench_option, json_option, print_answer

__all__ = ["command"]

_APPLIANCES = ["press", "oven", "household oven", "heat gun"]


@click.command(
    "cautions",
    epilog="""Examples:

  aerode cautions T5 --room shed

  aerode cautions "PS in toluene" --room bedroom --area "600 cm^2"

  aerode cautions T5 --plate "85 °C" --weighed "12.43 g, 12.43 g, 15 min" --coating "2.1 g"

  aerode cautions A1 --acknowledge hydrogen.capped.A1 --reason "vented lid fitted" """,
)
@click.argument("item", metavar="MIX|ELECTRODE|CELL")
@click.option(
    "--room", default="", metavar="ROOM", help="The room; the only one on the bench if left out."
)
@click.option("--area", default="", help='Wet surface open to the air, as in "600 cm^2".')
@click.option("--lost", default="", help='What a scale saw evaporate, as in "1.2 g in 10 min".')
@click.option("--plate", default="", help='Plate or oven temperature, as in "85 °C".')
@click.option(
    "--appliance", type=click.Choice(_APPLIANCES), default=None, help="What it is heated with."
)
@click.option("--oven", "closed", default="", help='Free volume vapour is shut into, as in "20 L".')
@click.option("--retained", default="", help='Solvent still in the coat, as in "3 g".')
@click.option("--weighed", default="", help='Two weighings, as in "12.43 g, 12.42 g, 15 min".')
@click.option("--coating", default="", help='Mass of the coating, as in "2.1 g".')
@click.option(
    "--sheet",
    "sheets",
    multiple=True,
    metavar="NAME=FIGURE, SHEET",
    help='Out of a data sheet: "PVB=150 °C, maker 2024" (heat), "thinner=50 ppm, maker 2024" (a day), '
    '"thinner=flash 12 °C, maker 2024". Repeat it.',
)
@click.option("--scale", default="0.01 g", show_default=True, help="Smallest step of the scale.")
@click.option("--series", type=click.IntRange(min=1), default=1, help="Cells in series.")
@click.option("--strings", type=click.IntRange(min=1), default=1, help="Strings in parallel.")
@click.option("--capped", is_flag=True, help="The cell or jar is closed.")
@click.option("--headspace", default="", help='Gas space of a closed cell, as in "0.5 L".')
@click.option("--box", default="", help='Free volume of the box the cells stand in, as in "2 L".')
@click.option("--fused", is_flag=True, help="Each string has its fuse.")
@click.option("--charger", is_flag=True, help="A supply could drive the cell backwards.")
@click.option("--corroded", default="", help='Aluminium lost or gas caught, as in "34 mg in 24 h".')
@click.option("--open-circuit", default="", help='Voltage of one cell at rest, as in "1.62 V".')
@click.option(
    "--target", default="", help='Share of the limit to air down to, as in "25 %".  [default: 50 %]'
)
@click.option("--class", "class_mode", is_flag=True, help="A class: the worst is refused.")
@click.option("--acknowledge", "key", default="", metavar="KEY", help="Acknowledge one caution.")
@click.option("--reason", default="", help="Why it is done all the same; kept in the history.")
@click.option("--group", default="", metavar="CODE",
              help="In a class: the code that stands in the history in place of a name.")  # fmt: skip
@click.option(
    "--read", "read", is_flag=True, help="All FIRST and NOTE were read: fold them from now on."
)
@click.option("--full", is_flag=True, help="Every figure, limit and assumption of each caution.")
@bench_option
@json_option
def command(
    item: str, room: str, area: str, lost: str, plate: str, appliance: str | None, closed: str, retained: str,
    weighed: str, coating: str, scale: str, series: int, strings: int, capped: bool, headspace: str,
    box: str, fused: bool, charger: bool, corroded: str, open_circuit: str, class_mode: bool, key: str, reason: str, group: str, read: bool,
    full: bool, sheets: tuple[str, ...], target: str, bench: str, as_json: bool,
) -> None:  # fmt: skip
    """What can hurt someone in this mix, this room, this press, this cell.

    STOP: do not do it. FIRST: do the named thing before. NOTE: read it. A STOP blocks the bench
    sheet until it is acknowledged with a reason, and stays on the page all the same. It is no
    clearance when little is printed: only what the figures on file can tell stands here.
    """
    from aerode.cautions.reading import sheet_lines
    from aerode.store.bench_file import BenchFile, now
    from aerode.usecases import cautions

    question = cautions.CautionQuestion(
        room=room, area=area, weigh_loss=lost, plate=plate, appliance=appliance or "", closed_volume=closed,
        retained=retained, weighed_twice=weighed, coating=coating, scale=scale, series=series, strings=strings,
        capped=capped, headspace=headspace, box=box, fused=fused, charger=charger, class_mode=class_mode,
        sheets=sheets, target=target, corroded=corroded, open_circuit=open_circuit,
    )  # fmt: skip
    writes = bool(key) or read
    with BenchFile.open(bench, read_only=not writes) as store:
        made = now().isoformat(timespec="seconds")
        if key:
            sheet = cautions.acknowledge(
                store, item, key, reason, made=made, question=question, group=group
            )
        elif read:
            sheet = cautions.mark_read(store, item, made=made, question=question, group=group)
        else:
            sheet = cautions.what_can_hurt(store, item, question)
    print_answer(sheet, sheet_lines(sheet, full=full), as_json=as_json)
