"""Put a mix on the bench, and ask what it dries to and how to weigh it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import InputError, NotFoundError, RecordError, UnitError
from aerode.measure.mix.answer import answer, dried
from aerode.measure.mix.completing import complete
from aerode.measure.mix.dosing import DoseRequest
from aerode.measure.mix.lots import Shelf
from aerode.measure.mix.porosity import film_of
from aerode.measure.mix.published import densities_on_file, density_on_file
from aerode.measure.mix.weighing import Scale
from aerode.records import adapter
from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument, Sort
from aerode.records.marks import Entry
from aerode.records.materials import MeshCard, PowderLot, Solution, SolventLot
from aerode.records.mixes import Batch, Ingredient, Mix, Portion
from aerode.records.places import Bench
from aerode.usecases.believable import impossible_in
from aerode.usecases.caution_question import CautionQuestion, question_of_dose
from aerode.usecases.cautions import refuse_unacknowledged, what_can_hurt
from aerode.usecases.mix_size import ask_of_dose, ask_of_record, refuse_large
from aerode.usecases.off_shelf import gone_words
from aerode.usecases.pot_plan import not_told
from aerode.usecases.typed_area import area_entry
from aerode.usecases.weighed_dry import with_dry_weight

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from aerode.records.cautions import CautionSheet
    from aerode.records.doses import FilmPorosity, MixAnswer
    from aerode.store.bench_file import BenchFile

__all__ = [
    "MixQuestion",
    "mix_with_cautions",
    "new_mix",
    "read_portion",
    "read_wanted",
    "scale_of",
    "shelf_of",
    "what_it_dries_to",
]

_REST = "rest"
_DEFAULT_SCALE = "0.01 g"
_SURE = "--sure (sure=true), if it is meant so"


@dataclass(frozen=True, slots=True, kw_only=True)
class MixQuestion:
    """What is asked of a mix, as typed; "" where it was not said.

    `area` and `loading` belong together and ask for a dose sheet.
    """

    area: str = ""
    loading: str = ""
    electrodes: int = 1
    spare: str = "10 %"
    scale: str = ""
    solids: str = ""
    mesh: str = ""
    sure: bool = False
    """A dose sheet of more than a pot on a table is meant so."""


def shelf_of(bench: BenchFile, more: Iterable[object] = ()) -> Shelf:
    """The shelf of a bench, with the published densities of what stands on it.

    Parameters
    ----------
    bench : BenchFile
        Open.
    more : iterable of records
        Lots that are not stored yet; they take the place of those of the same name.

    Returns
    -------
    Shelf
    """
    ready = list(more)
    powders = [*bench.all(PowderLot), *(lot for lot in ready if isinstance(lot, PowderLot))]
    solutions = [*bench.all(Solution), *(lot for lot in ready if isinstance(lot, Solution))]
    solvents = [*bench.all(SolventLot), *(lot for lot in ready if isinstance(lot, SolventLot))]
    substances = [lot.substance for lot in powders]
    substances += [lot.polymer for lot in solutions]
    substances += [lot.plasticiser_substance for lot in solutions]
    substances += [lot.substance for lot in solvents]
    substances += [part.of for lot in solutions for part in lot.liquid]
    return Shelf.of(powders, solutions, solvents, densities=densities_on_file(substances))


def mix_with_cautions(
    bench: BenchFile, name: str, question: MixQuestion, *, room: str = ""
) -> tuple[MixAnswer, CautionSheet]:
    """What a mix dries to, its dose sheet if one is asked for, and what can hurt in making it.

    Parameters
    ----------
    bench : BenchFile
        Open.
    name : str
        Of a mix or a batch.
    question : MixQuestion
        With an area and a loading it asks for a dose sheet.
    room : str
        Name of the room; the only one on the bench if left out.

    Returns
    -------
    (MixAnswer, CautionSheet)

    Raises
    ------
    StoppedError
        A dose sheet is asked for while a STOP waits for its acknowledgement.
    InputError
        Something typed cannot be taken; the dose is more than a pot on a table, and nobody is sure.
    """
    found = what_it_dries_to(bench, name, question)
    mix = _mix_or_batch(bench, name)
    asked = CautionQuestion(room=room, scale=question.scale or _DEFAULT_SCALE)
    if found.dose is not None:
        asked = question_of_dose(found.dose, asked)
    judge = what_can_hurt if found.dose is None else refuse_unacknowledged
    sheet = judge(bench, f"mix:{mix.name}", asked)
    if found.dose is not None and not question.sure:
        refuse_large(ask_of_dose(bench, found.dose), _SURE)
    said = tuple(
        f"{c.level} {c.hazard}: {c.headline}. {' '.join(one for one in (c.do, c.further) if one)}"
        for c in sheet.cautions
    )
    return replace(found, cautions=said), sheet


def what_it_dries_to(
    bench: BenchFile, name: str, question: MixQuestion, *, cautions: Sequence[str] = ()
) -> MixAnswer:
    """What a mix dries to and, if an area and a loading are asked for, its dose sheet and cost.

    Parameters
    ----------
    bench : BenchFile
        Open.
    name : str
        The mix, or a batch of one as it was really weighed.
    question : MixQuestion
        What is asked, as typed.
    cautions : sequence of str
        Lines of the cautions engine for this mix.

    Returns
    -------
    MixAnswer

    Raises
    ------
    NotFoundError
        No such mix, or a material of it is not on the shelf; near names are given.
    InputError
        Something typed cannot be taken, or a material lacks what is needed.
    """
    batch = bench.find(Batch, name) if bench.find(Mix, name) is None else None
    recipe = bench.find(Mix, batch.mix) if batch is not None else None
    found = _answer(bench, _mix_or_batch(bench, name), question, cautions, recipe)
    if batch is not None and not batch.portions:
        found = replace(found, weighed=False)
    told = not_told(batch, recipe) if batch else ()
    return replace(found, warnings=(*told, *found.warnings)) if told else found


def _mix_or_batch(bench: BenchFile, name: str) -> Mix:
    """A mix; or a batch, with its own portions, else its mix's, beside what its mix wants."""
    batch = bench.find(Batch, name) if bench.find(Mix, name) is None else None
    if batch is None:
        return bench.get(Mix, name)
    recipe = bench.find(Mix, batch.mix)
    planned = recipe.portions if recipe and not recipe.wanted else ()
    return Mix(
        name=batch.name, portions=batch.portions or planned, wanted=recipe.wanted if recipe else (),
        solids_fraction=recipe.solids_fraction if recipe else None,
    )  # fmt: skip


def _answer(
    bench: BenchFile, mix: Mix, question: MixQuestion, cautions: Sequence[str], planned: Mix | None = None,
) -> MixAnswer:  # fmt: skip
    scale, assumed = scale_of(bench, question.scale)
    shelf = shelf_of(bench)
    found = answer(
        mix,
        shelf,
        scale,
        request=_request(question, scale),
        mesh=_mesh(bench, question.mesh),
        currency=_bench(bench).currency,
        films=_films(bench, mix, shelf, scale),
        assumptions=assumed,
        cautions=cautions,
        planned=planned,
    )
    return _with_what_is_gone(bench, found)


def _with_what_is_gone(bench: BenchFile, found: MixAnswer) -> MixAnswer:
    """A dose sheet says of each lot that stands on the shelf no more that it has gone."""
    if found.dose is None:
        return found
    lots: dict[str, object] = {lot.name: lot for cls in (PowderLot, Solution, SolventLot) for lot in bench.all(cls)}  # fmt: skip
    gone = [f"{line.of} is off the shelf ({said})" for line in found.dose.lines
            if (said := gone_words(lots.get(line.of)))]  # fmt: skip
    dose = replace(found.dose, stock_short=(*found.dose.stock_short, *gone))
    return replace(found, dose=dose, warnings=(*gone, *found.warnings)) if gone else found


def new_mix(
    bench: BenchFile,
    name: str,
    *,
    portions: Sequence[str] = (),
    wanted: Sequence[str] = (),
    solids: str = "",
    after: str = "",
    note: str = "",
    who: str = "",
    question: MixQuestion | None = None,
    cautions: Sequence[str] = (),
    sure: bool = False,
) -> MixAnswer:
    """Store a mix from what was typed, and say what it dries to; on a refusal nothing is stored.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    name : str
        A name that no mix has yet.
    portions : sequence of str
        "biochar A=12.0 g", "PVB solution=30 mL"; "solvent:ethanol=5 g" where a name means two things.
    wanted : sequence of str
        Dry mass: "biochar A=70 %"; one of them may be "=rest". Beside portions the amounts of what
        has only a share are worked out.
    solids : str
        Wanted dry mass over wet mass, as in "18 %".
    after : str
        The mix it was changed from.
    note, who : str
        Kept with it.
    question : MixQuestion, optional
        What is asked of it at once.
    cautions : sequence of str
        Lines of the cautions engine for this mix.
    sure : bool
        A mix of more than a pot on a table is meant so.

    Returns
    -------
    MixAnswer

    Raises
    ------
    RecordError
        Its amounts cannot be true.
    InputError
        The name is taken, nothing is in it, or something typed cannot be taken; the amounts and
        shares do not make a whole (`aerode.measure.mix.completing.complete`).
    NotFoundError
        A material is not on the shelf; near names are given.
    """
    if bench.find(Mix, name) is not None:
        raise InputError(
            f"a mix {name!r} is there already", where="--new", allowed="a name that is free",
            next_step=f"take another name, and --after {name!r} if it grew out of that one",
        )  # fmt: skip
    if after:
        bench.get(Mix, after)
    shelf = shelf_of(bench)
    told = [read_portion(text, shelf) for text in portions]
    shares = read_wanted(wanted, shelf)
    whole = complete(told, shares, shelf)
    if not told and not shares:
        raise InputError(
            "the mix holds nothing", where=name, allowed="one portion or one wanted share at least",
            next_step='name what goes in, as in --portion "biochar A=12.0 g"',
        )  # fmt: skip
    plain = {
        "name": name,
        "portions": [adapter.write(portion) for portion in whole.portions],
        "wanted": [adapter.write(share) for share in whole.wanted],
        "rest": list(whole.rest),
        "solids_fraction": adapter.write(_fraction(solids, "--solids")) if solids else None,
        "after": after,
        "note": note,
    }
    mix = adapter.read(Mix, plain, where=f"mix {name!r}")
    if faults := impossible_in(mix):
        raise RecordError("this mix cannot be taken", tuple(faults), where=name)
    if not sure:
        refuse_large(ask_of_record(bench, mix), _SURE)
    found = _answer(bench, mix, question or MixQuestion(), cautions)
    bench.put(mix, why="new mix", who=who)
    return found


def read_portion(text: str, shelf: Shelf) -> Portion:
    """A typed portion: "biochar A=12.0 g", "PVB solution=30 mL".

    Parameters
    ----------
    text : str
        Name, equals sign, mass or volume; a bare number is grams.
    shelf : Shelf
        Where the name stands.

    Returns
    -------
    Portion

    Raises
    ------
    InputError
        No equals sign, or no mass or volume behind it.
    NotFoundError
        No such name; near names are given.
    """
    name, amount = _parts(text, "--portion", "biochar A=12.0 g")
    kind, name = _place(name, shelf, text)
    _, unit = units.read_number(amount)
    by_volume = bool(unit) and units.same_kind(unit.split("±")[0].split("+")[0].strip(), "m^3")
    typed = units.read(amount, "m^3" if by_volume else "kg", field=text)
    entry = Entry(value=typed.value, standard_uncertainty=typed.standard_uncertainty, text=amount)
    if by_volume:
        return Portion(of=name, shelf=kind, volume=entry)
    return Portion(of=name, shelf=kind, mass=entry)


def read_wanted(texts: Sequence[str], shelf: Shelf) -> dict[str, float | None]:
    """Typed wanted shares: "biochar A=70 %", and one "…=rest".

    Parameters
    ----------
    texts : sequence of str
        Name, equals sign, per cent or fraction of the dry mass, or the word rest.
    shelf : Shelf
        Where the names stand.

    Returns
    -------
    dict
        Share by name, in the order typed; None for what is the rest. `aerode.measure.mix.completing`
        makes them whole.

    Raises
    ------
    InputError
        A share cannot be read, or it is one of a solvent.
    NotFoundError
        No such name; near names are given.
    """
    shares: dict[str, float | None] = {}
    for text in texts:
        name, amount = _parts(text, "--want", "biochar A=70 %")
        kind, name = _place(name, shelf, text)
        if kind is Ingredient.SOLVENT:
            raise InputError(
                f"the solvent {name!r} leaves nothing dry", where=text, allowed="powders and solutions",
                next_step="give --solids for how thin it is to be",
            )  # fmt: skip
        is_rest = amount.strip().casefold() == _REST
        before = shares.get(name, 0.0)
        if name in shares and (is_rest or before is None):
            raise InputError(f"{name!r} stands twice, once as the rest", where=text, allowed="once")
        shares[name] = None if is_rest else (before or 0.0) + _fraction(amount, text).value
    return shares


def _parts(text: str, option: str, example: str) -> tuple[str, str]:
    name, sign, amount = text.rpartition("=")
    if not sign or not name.strip() or not amount.strip():
        raise InputError(
            f"{text!r} is not a name and an amount", where=option, allowed=f'as in "{example}"',
            next_step="put an equals sign between them",
        )  # fmt: skip
    return name.strip(), amount.strip()


def _place(name: str, shelf: Shelf, where: str) -> tuple[Ingredient, str]:
    """Shelf and name; a shelf may be said in front of a name, as in solvent:ethanol or solvent ethanol."""
    shelves = {one.value for one in Ingredient}
    kind, colon, rest = name.partition(":")
    if colon and kind.strip() in shelves:
        return Ingredient(kind.strip()), rest.strip()
    first, _, rest = name.partition(" ")
    if first in shelves and shelf.holds(Ingredient(first), rest.strip()):
        return Ingredient(first), rest.strip()
    return shelf.place_of(name, where=where), name


def _fraction(text: str, field: str) -> Entry:
    typed = units.read(text, "", bare=("", "%"), plausible=(0.0, 1.0), field=field)
    return Entry(value=typed.value, standard_uncertainty=typed.standard_uncertainty, text=text)


def _request(question: MixQuestion, scale: Scale) -> DoseRequest | None:
    if not question.area and not question.loading:
        if question.solids:
            raise InputError(
                "a solids fraction needs something to dose", where="--solids",
                allowed="together with --area and --loading", next_step="add both",
            )  # fmt: skip
        return None
    if not question.area or not question.loading:
        lacks = "--loading" if question.area else "--area"
        raise InputError(
            "an area and a loading make a dose sheet together", where=lacks,
            allowed="both, as in 9 cm^2 and 25 mg/cm^2", next_step=f"add {lacks}",
        )  # fmt: skip
    loading = units.read(question.loading, "kg/m^2", field="--loading")
    spare = units.read(question.spare, "", bare=("", "%"), plausible=(0.0, 5.0), field="--spare")
    return DoseRequest(
        area=area_entry(question.area).value,
        loading=loading.value,
        scale=scale,
        electrodes=question.electrodes,
        spare=spare.value,
        solids_fraction=_fraction(question.solids, "--solids").value if question.solids else None,
    )


def _bench(bench: BenchFile) -> Bench:
    found = bench.all(Bench)
    return found[0] if found else Bench(title="bench")


def scale_of(bench: BenchFile, said: str) -> tuple[Scale, tuple[str, ...]]:
    """The scale that was named, else the bench's own, else its coarsest, else a kitchen scale's."""
    known = {i.name: i for i in bench.all(Instrument) if i.sort is Sort.SCALE}
    wanted = said or _bench(bench).scale
    if wanted in known:
        return _with_note(Scale.from_instrument(known[wanted]))
    if wanted:
        return _with_note(_typed_scale(wanted, known))
    scales = [Scale.from_instrument(i) for i in known.values() if i.resolution is not None and i.gone is None]  # fmt: skip
    if len(scales) == 1:
        return _with_note(scales[0])
    if scales:
        coarsest = max(scales, key=lambda s: s.net_uncertainty)
        return coarsest, (
            f"scale: the coarsest of the bench's {len(scales)} is taken ({coarsest.shown})",
        )
    scale = Scale.from_text(_DEFAULT_SCALE)
    return scale, (f"scale: none on the bench, a kitchen scale is taken ({scale.shown})",)


def _with_note(scale: Scale) -> tuple[Scale, tuple[str, ...]]:
    return scale, (f"scale {scale.shown}",) if scale.assumed else ()


def _typed_scale(text: str, known: dict[str, Instrument]) -> Scale:
    try:
        return Scale.from_text(text)
    except UnitError as problem:
        raise NotFoundError(
            f"no scale {text!r} on this bench", where="--scale",
            allowed=", ".join(repr(name) for name in known) or "the step of a scale, as in 0.01 g",
            next_step="name a scale of the bench, or type its smallest step",
        ) from problem  # fmt: skip


def _mesh(bench: BenchFile, said: str) -> MeshCard | None:
    """The mesh that was named, else the only one there is."""
    if said:
        return bench.get(MeshCard, said)
    cards = [card for card in bench.all(MeshCard) if card.gone is None]
    return cards[0] if len(cards) == 1 else None


def _films(bench: BenchFile, mix: Mix, shelf: Shelf, scale: Scale) -> list[FilmPorosity]:
    """Porosity of each electrode that is made of this mix alone."""
    pieces = [
        piece
        for piece in bench.all(Electrode)
        if piece.layers and all(layer.mix == mix.name for layer in piece.layers)
    ]
    if not pieces:
        return []
    composition = dried(mix, shelf, scale)
    found: list[FilmPorosity] = []
    for piece in pieces:
        mesh = bench.find(MeshCard, piece.mesh) if piece.mesh else None
        metal = density_on_file(mesh.material) if mesh is not None else None
        weighed = with_dry_weight(piece)
        found.append(film_of(weighed, composition, scale, mesh=mesh, mesh_density=metal))
    return found
