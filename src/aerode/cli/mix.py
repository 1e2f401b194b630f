"""`aerode mix`: what a mix dries to, and the sheet to weigh it by."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from aerode.cli.console import bench_option, json_option, lines, print_answer

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.cautions import CautionSheet
    from aerode.records.doses import CostLine, DoseSheet, DryPart, Masterbatch, MixAnswer
    from aerode.records.results import Estimate
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.mix import MixQuestion

__all__ = ["command"]

_WIDTH = 80
_NAME = 24


@click.command(
    "mix",
    epilog="""Examples:

  aerode mix T5 --area "9 cm^2" --loading "25 mg/cm^2" --electrodes 8

  aerode mix --new T5 --want "biochar A=rest" --want "PVB solution=15 %"

  aerode mix T5 --area "9 cm^2" --loading "25 mg/cm^2" --sheet T5.html --plate "85 °C"

  aerode mix --new M1 --portion "char=12.0 g" --portion "PVB solution=30 mL"

  aerode mix --new M2 --portion "char=10 g" --want "PVB solution=15 %" """,
)
@click.argument("name", required=False, metavar="[MIX]")
@click.option("--new", "new", metavar="NAME", default="", help="Store a new mix under this name.")
@click.option("--portion", "portions", multiple=True, metavar="NAME=AMOUNT",
              help="What went in, as it is on the shelf (wet): g or mL. Repeat it.")  # fmt: skip
@click.option("--want", "wanted", multiple=True, metavar="NAME=SHARE",
              help="Wanted share of the dry mass, in %; one may be =rest. Beside a --portion its amount follows. Repeat it.")  # fmt: skip
@click.option("--after", default="", metavar="MIX", help="The mix that the new one grew out of.")
@click.option("--note", default="", help="Kept with the new mix.")
@click.option("--area", default="", help='Coated area of one electrode, as in "9 cm^2".')
@click.option("--loading", default="", help='Dry mass per area, as in "25 mg/cm^2".')
@click.option("--electrodes", type=click.IntRange(min=1), default=1, show_default=True,
              help="How many to mix for.")  # fmt: skip
@click.option("--spare", default="10 %", show_default=True,
              help="Extra for what stays in the pot and on the brush.")  # fmt: skip
@click.option("--solids", default="", help='Dry mass over wet mass, as in "18 %": adds solvent.')
@click.option("--scale", default="", help='A scale of the bench, or its step, as in "0.01 g".')
@click.option("--mesh", default="", help="Collector, for the cost.")
@click.option(
    "--room", default="", help="Where it is mixed; the only room on the bench if left out."
)
@click.option("--sheet", "page", default="", metavar="FILE",
              help="Write the bench sheet for printing: cautions, weights, coat, dry, press.")  # fmt: skip
@click.option("--plate", default="", help='Plate temperature planned for the sheet, as in "85 °C".')
@click.option("--acknowledge", "key", default="", metavar="KEY",
              help="Acknowledge one STOP of the sheet; it stays on the page.")  # fmt: skip
@click.option("--reason", default="", help="Why it is done all the same; kept in the history.")
@click.option("--group", default="", metavar="CODE",
              help="In a class: the code that stands in the history in place of a name.")  # fmt: skip
@click.option("--sure", is_flag=True, help="More than half a kilogram at once is meant so.")
@click.option("--notes", is_flag=True, help="Also print purity and what was assumed.")
@bench_option
@json_option
def command(
    name: str | None, new: str, portions: tuple[str, ...], wanted: tuple[str, ...], after: str, note: str,
    area: str, loading: str, electrodes: int, spare: str, solids: str, scale: str, mesh: str, room: str,
    page: str, plate: str, key: str, reason: str, group: str, sure: bool, notes: bool, bench: str, as_json: bool,
) -> None:  # fmt: skip
    """Dry a mix on paper, and dose it back to the scale.

    Wet portions become shares of dry mass and volume with their uncertainty; an area and a
    loading become a dose sheet that says what your scale cannot weigh.
    """
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.mix import MixQuestion, mix_with_cautions, new_mix

    _refuse_wrong_usage(name, new, portions, wanted, after, note)
    if (plate or key or reason) and not page:
        raise click.UsageError("--plate, --acknowledge and --reason go with --sheet.")
    if page and new:
        raise click.UsageError("Store the new mix first; then ask for its --sheet.")
    dosed = bool(area or loading)
    question = MixQuestion(
        area=area, loading=loading, electrodes=electrodes, spare=spare, scale=scale, mesh=mesh,
        solids=solids if dosed or not new else "", sure=sure,
    )  # fmt: skip
    if page and name:
        _print_sheet(
            name, question, room, plate, page, (key, reason, group), bench, as_json=as_json
        )
        return
    with BenchFile.open(bench, read_only=not new) as store:
        if new:
            new_mix(
                store, new, portions=portions, wanted=wanted, solids=solids, after=after, note=note,
                question=question, sure=sure,
            )  # fmt: skip
        found, sheet = mix_with_cautions(store, new or name or "", question, room=room)
        follows = _follows(store, new or name or "")
    headline, *rest = _text(found, notes=notes)
    before = _cautions(sheet, whole=found.dose is not None)
    print_answer(found, [headline, *before, *follows, *rest], as_json=as_json)


def _follows(store: BenchFile, name: str) -> list[str]:
    """How much of each goes in, where some of it follows from a share."""
    from aerode.records.mixes import Mix
    from aerode.usecases.mix_preview_plan import goes_in

    mix = store.find(Mix, name)
    goes = goes_in(mix) if mix else ()
    if not any(one.follows for one in goes):
        return []
    said = [f"{one.amount} {one.of}{' (from its share)' if one.follows else ''}" for one in goes]
    return _folded("Goes in: ", f"{', '.join(said)}.")


def _print_sheet(
    name: str, question: MixQuestion, room: str, plate: str, page: str, said: tuple[str, str, str], bench: str,
    *, as_json: bool,
) -> None:  # fmt: skip
    """Write the bench sheet, after keeping the reason for a STOP where one was given."""
    from aerode.devices.files import write_text
    from aerode.report.sheet_page import sheet_html
    from aerode.store.bench_file import BenchFile, now
    from aerode.usecases.bench_sheet import SheetQuestion, acknowledge_for_sheet, bench_sheet

    asked = SheetQuestion(mix=question, room=room, plate=plate)
    key, reason, group = said
    moment = now()
    with BenchFile.open(bench, read_only=not key) as store:
        if key:
            acknowledge_for_sheet(
                store, name, asked, key, reason, made=moment.isoformat(timespec="seconds"), group=group
            )  # fmt: skip
        sheet = bench_sheet(store, name, asked, moment=moment, ask="the same command with")
    written = write_text(page, sheet_html(sheet))
    text = [sheet.headline, *_cautions(sheet.cautions, whole=True), f"Bench sheet: {written}"]
    print_answer(sheet, text, as_json=as_json)


def _cautions(sheet: CautionSheet, *, whole: bool) -> list[str]:
    """What can hurt, before the weights: whole above a dose sheet, else the hardest in a line or two."""
    if not sheet.cautions:
        return []
    first, *rest = sheet.cautions
    counted = f" {len(rest)} more" if rest else ""
    if not whole:
        return _folded(
            f"{first.level}: ", f'{first.headline}.{counted}: aerode cautions "{sheet.about[0]}"'
        )
    text = _folded(f"{first.level}: ", f"{first.hazard}: {first.headline}. {first.do}")
    for caution in rest[:2]:
        text += _folded(f"{caution.level}: ", f"{caution.hazard}: {caution.headline}.")
    return [*text, f'Figures, limits and sources: aerode cautions "{sheet.about[0]}"', ""]


def _refuse_wrong_usage(
    name: str | None,
    new: str,
    portions: Sequence[str],
    wanted: Sequence[str],
    after: str,
    note: str,
) -> None:
    if name and new:
        raise click.UsageError("Give the name of a mix, or --new and a name for one; not both.")
    if not name and not new:
        raise click.UsageError("Give the name of a mix, or --new NAME to store one.")
    if name and (portions or wanted or after or note):
        raise click.UsageError("--portion, --want, --after and --note go with --new.")


def _text(found: MixAnswer, *, notes: bool) -> list[str]:
    text = [found.headline]
    text += _parts(found)
    text += _folded("Binder: ", f"{found.binder_fill}.")
    text += _folded("Voids:  ", _voids(found))
    text += _folded("Loses:  ", _liquids(found))
    for said in filter(None, map(_purity, found.dry if notes else ())):
        text += _folded("Purity: ", said)
    if found.dose is not None:
        text += _folded("Cost:   ", _cost(found))
        text += _sheet(found.dose)
    for warning in found.warnings:
        text += _folded("Mind:   ", f"{warning}.")
    return text + _assumed(found.assumptions, notes=notes)


def _folded(head: str, body: str) -> list[str]:
    """A paragraph with its first word standing out to the left."""
    folded = lines(body, width=_WIDTH - len(head))
    return [(head if i == 0 else " " * len(head)) + line for i, line in enumerate(folded)]


def _percent(estimate: Estimate) -> str:
    from aerode import units

    if estimate.value is None:
        return "not known"
    spread = estimate.standard_uncertainty
    return units.write(100 * estimate.value, "%", None if spread is None else 100 * spread)


def _short(name: str, width: int = _NAME) -> str:
    return name if len(name) <= width else name[: width - 1] + "…"


def _parts(found: MixAnswer) -> list[str]:
    head = f"  {'dry part':<{_NAME}} {'does':<14} {'of the mass':>16} {'of the volume':>16}"
    text = [head]
    for part in found.dry:
        called = part.of if part.of == part.substance else f"{part.of}: {part.substance}"
        if part.function == "plasticiser":
            called = f"  {part.substance}"
        text.append(
            f"  {_short(called):<{_NAME}} {_short(part.function, 14):<14} "
            f"{_percent(part.mass_fraction):>16} {_percent(part.volume_fraction):>16}"
        )
    return text


def _voids(found: MixAnswer) -> str:
    porosity = found.porosity
    if porosity.value is None:
        return f"not given: {porosity.reason}."
    if porosity.interval_95 is not None:
        low, high = porosity.interval_95
        shown = f"{100 * low:.0f} to {100 * high:.0f} % (95 %)"
    else:
        shown = _percent(porosity)
    text = f"{shown} before pressing, {porosity.basis.value}."
    for film in found.films[:3]:
        if film.porosity.value is not None:
            how = "predicted" if film.porosity.basis.value == "predicted" else "measured"
            text += f" {film.electrode}: {_percent(film.porosity)} {how}."
    return text


def _liquids(found: MixAnswer) -> str:
    from aerode import units

    shown = [
        units.write(one.value, "g", one.standard_uncertainty) + f" {name}"
        for name, one in found.solvents_g.items()
        if one.value is not None
    ]
    stays = units.write(found.dry_mass_g.value or 0.0, "g", found.dry_mass_g.standard_uncertainty)
    on_paper = "" if found.dose is not None or found.weighed else " (on paper, nothing weighed yet)"
    return f"{', '.join(shown) or 'nothing'} on drying; {stays} stays{on_paper}."


def _purity(part: DryPart) -> str:
    """What of a powder is the named substance, and what water takes away."""
    from aerode import units

    said: list[str] = []
    for one, words in ((part.substance_mass_g, "pure"), (part.washes_out_g, "washes out")):
        if one is not None and one.value is not None:
            said.append(f"{units.write(one.value, 'g', one.standard_uncertainty)} {words}")
    return f"{part.of}: {', '.join(said)}." if said else ""


def _cost(found: MixAnswer) -> str:
    whole = found.cost_per_electrode
    by_part: dict[str, float] = {}
    for line in found.cost:
        if line.cost is not None and line.currency == whole.unit:
            by_part[line.part] = by_part.get(line.part, 0.0) + line.cost
    split = ", ".join(f"{part} {_money(cost)}" for part, cost in by_part.items())
    if whole.value is not None:
        return f"{_money(whole.value)} {whole.unit} an electrode ({split})."
    if whole.lower_bound is None:
        return f"{_reason(found.cost)}."
    return f"at least {_money(whole.lower_bound)} {whole.unit} an electrode ({split}); {_reason(found.cost)}."


def _reason(costs: Sequence[CostLine]) -> str:
    missing = [f"{line.of} ({line.reason})" for line in costs if line.cost is None]
    return "cost unknown for " + ", ".join(missing) if missing else "prices in several currencies"


def _money(amount: float) -> str:
    return f"{amount:.2f}" if amount >= 0.1 else f"{amount:.2g}"


def _sheet(dose: DoseSheet) -> list[str]:
    from aerode.usecases.mix_preview_words import dose_digits, on_scale

    title = (
        f"Dose sheet: {dose.electrodes} of {dose.area_cm2:.4g} cm^2 at {dose.loading_mg_cm2:.4g} "
        f"mg/cm^2, {100 * dose.spare:g} % spare; {100 * dose.solids_fraction:.1f} % solids"
    )
    decimals = dose_digits(dose)
    text = ["", *lines(title, width=_WIDTH), f"  scale {dose.scale}"]
    text.append(f"  {'weigh':<{_NAME}} {'g':>9} {'±':>6} {'or mL':>7}")
    for line in dose.lines:
        put = on_scale(line, dose)
        by_itself = line.volume_mL is not None and put.how == line.how
        volume = f"{line.volume_mL:.3g}" if by_itself else ""
        grams = "–" if put.grams is None else f"{put.grams:.{decimals}f}"
        row = (
            f"  {_short(line.of):<{_NAME}} {grams:>9} {_relative(put.relative_uncertainty):>6} "
            f"{volume:>7}  {put.how}"
        )
        text.append(row.rstrip())
    for batch in dose.masterbatches:
        text += _folded("  Masterbatch: ", _batch(batch, decimals))
    if dose.enough_for_electrodes is not None:
        text += _folded(
            "  Or: ", f"mix for {dose.enough_for_electrodes} electrodes at once; then this scale weighs "
            f"every dose to ±{100 * dose.weighable_within:g} %.",
        )  # fmt: skip
    worst = max(dose.composition_error.items(), key=lambda item: abs(item[1]), default=None)
    if worst is not None:
        text.append(
            f"  Rounding moves no share by more than {100 * abs(worst[1]):.2g} points ({worst[0]})."
        )
    return text


def _relative(uncertainty: float) -> str:
    if uncertainty < 5e-4:
        return "<0.1 %"
    if uncertainty > 1.0:
        return ">100 %"
    return f"{100 * uncertainty:.{0 if uncertainty >= 0.1 else 1}f} %"


def _batch(batch: Masterbatch, decimals: int) -> str:
    from aerode.usecases.mix_preview_words import MASTERBATCH_DUST

    parts = " + ".join(f"{grams:.{decimals}f} g {name}" for name, grams in batch.parts_g.items())
    text = f"{parts} ({batch.pots:.1f} pots). {MASTERBATCH_DUST} Take {batch.take_g:.{decimals}f} g of it"
    if batch.carrier_left_g > 0:
        text += f", then only {batch.carrier_left_g:.{decimals}f} g more {batch.carrier}."
    elif batch.adds_liquid_g > 0:
        text += f"; it brings {batch.adds_liquid_g:.{decimals}f} g {batch.carrier} to dry off."
    else:
        text += f" and no more {batch.carrier}."
    return f"{text} {', '.join(batch.of)} then ±{100 * batch.relative_uncertainty:.1f} %."


def _assumed(assumptions: Sequence[str], *, notes: bool) -> list[str]:
    if not assumptions:
        return []
    if not notes:
        count = "One thing was" if len(assumptions) == 1 else f"{len(assumptions)} things were"
        return [f"{count} not measured; --notes says what was taken instead."]
    text = ["Not measured, and what was taken instead:"]
    for note in assumptions:
        text += _folded("  - ", note)
    return text
