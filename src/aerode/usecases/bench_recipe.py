"""Write a recipe card of a mix or an electrode: dry basis, steps, tolerances, cautions."""

from __future__ import annotations

from pathlib import Path
from statistics import mean, stdev
from typing import TYPE_CHECKING

from aerode.errors import NotFoundError, StoreError, some_of
from aerode.records.electrodes import Electrode, Layer, Press
from aerode.records.marks import Entry
from aerode.records.materials import MeshCard
from aerode.records.mixes import Batch, Mix
from aerode.records.recipes import (
    CardCaution,
    CardLiquid,
    CardMix,
    CardPart,
    CardStep,
    CardWritten,
    RecipeCard,
)
from aerode.usecases.bench_card_text import card_text
from aerode.usecases.caution_question import CautionQuestion
from aerode.usecases.cautions import what_can_hurt
from aerode.usecases.mix import MixQuestion, what_it_dries_to

if TYPE_CHECKING:
    import os
    from collections.abc import Iterator

    from aerode.records.cautions import CautionSheet
    from aerode.records.doses import DryPart, MixAnswer
    from aerode.records.results import Estimate
    from aerode.store.bench_file import BenchFile

__all__ = ["recipe_card", "write_card"]


def write_card(
    bench: BenchFile, name: str, path: str | os.PathLike[str], *, by: str = "", note: str = ""
) -> CardWritten:
    """Write the card of an electrode or a mix to a new file.

    Raises
    ------
    NotFoundError
        No such electrode and no such mix.
    StoreError
        Something is there already, or it cannot be written.
    """
    card = recipe_card(bench, name, by=by, note=note)
    target = Path(path)
    try:
        with target.open("x", encoding="utf-8", newline="\n") as file:
            file.write(card_text(card))
    except FileExistsError as problem:
        raise StoreError(
            "something is there already, and it is not overwritten", where=str(target),
            next_step="choose another name: --out FILE",
        ) from problem  # fmt: skip
    except OSError as problem:
        raise StoreError(
            f"the card cannot be written: {problem.strerror}", where=str(target)
        ) from problem
    lacking = tuple(_lacking(card))
    headline = f"Wrote the card of {card.of} {card.name}: {target}"
    return CardWritten(headline=headline, path=str(target), card=card, not_on_it=lacking)


def recipe_card(bench: BenchFile, name: str, *, by: str = "", note: str = "") -> RecipeCard:
    """The card of an electrode, or of a mix or a batch of one.

    Names of people, prices, rooms and readings are not on it.

    Parameters
    ----------
    bench : BenchFile
        Open.
    name : str
        Of an electrode, a mix or a batch; an electrode goes first.
    by, note : str
        Who signs, and what they add.

    Returns
    -------
    RecipeCard

    Raises
    ------
    NotFoundError
        No such electrode and no such mix; near names are given.
    """
    electrode = bench.find(Electrode, name)
    if electrode is None:
        return _card_of_mix(bench, name, by, note)
    mixes = {layer.mix: _mix_of(bench, layer) for layer in electrode.layers if layer.mix}
    answers = {mix: what_it_dries_to(bench, pot, MixQuestion()) for mix, pot in mixes.items()}
    return RecipeCard(
        name=name,
        of="electrode",
        by=by,
        state=bench.state(Electrode, name).digest,
        mesh=_mesh_words(bench, electrode.mesh),
        area=_entry(electrode.wetted_area),
        mixes=tuple(_card_mix(mix, answer) for mix, answer in answers.items()),
        steps=tuple(_steps(electrode, answers)),
        cautions=_cautions(what_can_hurt(bench, name)),
        standing_text=what_can_hurt(bench, name).standing_text,
        note=note,
    )


def _card_of_mix(bench: BenchFile, name: str, by: str, note: str) -> RecipeCard:
    if bench.find(Mix, name) is None and bench.find(Batch, name) is None:
        raise NotFoundError(
            f"no electrode and no mix is called {name!r}", where=bench.label,
            allowed=some_of([*bench.names(Electrode), *bench.names(Mix)]) or "nothing yet",
            next_step="`aerode bench show electrode` and `aerode bench show mix` list them",
        )  # fmt: skip
    answer = what_it_dries_to(bench, name, MixQuestion())
    cls = Mix if bench.find(Mix, name) is not None else Batch
    mix = bench.get(Batch, name).mix if cls is Batch else name
    sheet = what_can_hurt(bench, mix, CautionQuestion())
    return RecipeCard(
        name=name, of="mix", by=by, state=bench.state(cls, name).digest,
        mixes=(_card_mix(name, answer),), cautions=_cautions(sheet),
        standing_text=sheet.standing_text, note=note,
    )  # fmt: skip


def _mix_of(bench: BenchFile, layer: Layer) -> str:
    """The pot that a layer was really made of where it is on file, its mix otherwise."""
    return layer.batch if layer.batch and bench.find(Batch, layer.batch) else layer.mix


def _cautions(sheet: CautionSheet) -> tuple[CardCaution, ...]:
    return tuple(
        CardCaution(level=c.level.value, hazard=c.hazard, headline=c.headline, do=c.do)
        for c in sheet.cautions
    )


def _mesh_words(bench: BenchFile, name: str) -> str:
    card = bench.find(MeshCard, name) if name else None
    if card is None:
        return name
    from aerode.usecases.bench_words import shown_fields

    wanted = ("material", "coating", "weave", "wire_diameter", "pitch", "mass_per_area")
    return ", ".join(
        f.value if f.field in {"material", "weave"} else f"{f.field.replace('_', ' ')} {f.value}"
        for f in shown_fields(card)
        if f.field in wanted
    )


# -- mixes --------------------------------------------------------------------------------------


def _card_mix(name: str, answer: MixAnswer) -> CardMix:
    by_lot: dict[str, list[DryPart]] = {}
    for part in answer.dry:
        by_lot.setdefault(part.of, []).append(part)
    return CardMix(
        name=name,
        dry=tuple(_card_part(lot, parts) for lot, parts in by_lot.items()),
        solids_fraction=_estimate(answer.solids_fraction),
        liquids=tuple(_liquids(answer)),
    )


def _card_part(lot: str, parts: list[DryPart]) -> CardPart:
    """A powder; or a solution, whose plasticiser is told as a share of its own dry solids."""
    main = [part for part in parts if part.function != "plasticiser"] or parts
    extra = [part for part in parts if part not in main]
    total = sum(part.mass_fraction.value or 0.0 for part in parts)
    spread = sum((part.mass_fraction.standard_uncertainty or 0.0) ** 2 for part in parts) ** 0.5
    soft = sum(part.mass_fraction.value or 0.0 for part in extra)
    return CardPart(
        material=lot,
        substance=main[0].substance,
        function=main[0].function,
        share=Entry(value=total, standard_uncertainty=spread or None),
        plasticiser=extra[0].substance if extra else "",
        plasticiser_share=Entry(value=soft / total) if extra and total > 0 else None,
    )


def _liquids(answer: MixAnswer) -> Iterator[CardLiquid]:
    masses = {name: one.value or 0.0 for name, one in answer.solvents_g.items()}
    total = sum(masses.values())
    for name, grams in masses.items():
        if grams > 0:
            yield CardLiquid(substance=name, share=Entry(value=grams / total))


def _estimate(found: Estimate) -> Entry | None:
    if found.value is None or not found.value > 0:
        return None
    return Entry(value=found.value, standard_uncertainty=found.standard_uncertainty)


def _entry(entry: Entry | None) -> Entry | None:
    """Value and uncertainty; what was typed stays at home."""
    if entry is None:
        return None
    return Entry(value=entry.value, standard_uncertainty=entry.standard_uncertainty)


# -- steps --------------------------------------------------------------------------------------


def _steps(electrode: Electrode, answers: dict[str, MixAnswer]) -> Iterator[CardStep]:
    for number, layer in enumerate(electrode.layers, 1):
        yield _coat(electrode, number, layer, answers.get(layer.mix))
        times = [coat.drying_time for coat in layer.coats if coat.drying_time]
        if times:
            yield CardStep(do="dry", layer=number, duration=max(times))
    for press in electrode.press:
        yield _press(press)
    if electrode.seal is not None:
        seal = electrode.seal
        gives_off = f"gives off {seal.cure_gives_off} while curing" if seal.cure_gives_off else ""
        yield CardStep(do="seal", means=seal.sealant, duration=seal.cure_time, note=gives_off)
    if electrode.tab is not None:
        tab = electrode.tab
        yield CardStep(do="tab", means=tab.how, resistance=_entry(tab.resistance))
    for state in electrode.storage:
        yield CardStep(do="keep", means=state.state, note="rinsed" if state.rinsed else "")
    if electrode.thickness:
        yield CardStep(do="measure", thickness=_thickness(electrode.thickness))


def _thickness(readings: tuple[float, ...]) -> Entry:
    """The mean of all readings; ± how far places differ, which is what a maker can hold to."""
    return Entry(
        value=mean(readings), standard_uncertainty=stdev(readings) if len(readings) > 1 else None
    )


def _coat(electrode: Electrode, number: int, layer: Layer, answer: MixAnswer | None) -> CardStep:
    return CardStep(
        do="coat", layer=number, role=layer.role.value, mix=layer.mix, means=layer.how,
        coats=len(layer.coats) or None, loading=_loading(electrode, layer, answer),
    )  # fmt: skip


def _loading(electrode: Electrode, layer: Layer, answer: MixAnswer | None) -> Entry | None:
    """Dry mass over area: as weighed for the layer, or as the film of an electrode of one mix gives it."""
    area = electrode.wetted_area
    coats = [coat.dry_mass for coat in layer.coats if coat.dry_mass]
    mass = layer.dry_mass or (
        Entry(value=sum(coats)) if coats and len(coats) == len(layer.coats) else None
    )
    if mass is not None and area is not None and area.value > 0 and mass.value > 0:
        value = mass.value / area.value
        parts = [(e.standard_uncertainty or 0.0) / e.value for e in (mass, area)]
        spread = value * (parts[0] ** 2 + parts[1] ** 2) ** 0.5
        return Entry(value=value, standard_uncertainty=spread or None)
    for film in answer.films if answer is not None and len(electrode.layers) == 1 else ():
        found = film.loading_mg_cm2
        if film.electrode == electrode.name and found.value is not None:
            spread = found.standard_uncertainty
            return Entry(
                value=found.value * 0.01,  # 1 mg/cm² is 0.01 kg/m²
                standard_uncertainty=None if spread is None else spread * 0.01,
            )
    return None


def _press(press: Press) -> CardStep:
    return CardStep(
        do="press",
        means=press.means,
        temperature=_entry(press.plate_temperature),
        duration=press.duration,
        force=_entry(press.force),
        torque=_entry(press.torque),
        firmness=press.firmness.value if press.firmness else "",
        note=f"release: {press.release}" if press.release else "",
    )


def _lacking(card: RecipeCard) -> Iterator[str]:
    """What a reader would ask for."""
    for step in card.steps:
        if step.do == "coat" and step.loading is None:
            yield f"the dry loading of layer {step.layer}"
        if step.do == "press" and step.temperature is None and not step.firmness:
            yield "how warm or how hard it was pressed"
    for mix in card.mixes:
        if mix.solids_fraction is None:
            yield f"how thin {mix.name} was when it was spread"
    if card.of == "electrode" and not card.steps:
        yield "every step: no layer, press or seal is on file"
