"""What is done to an electrode at the bench: a coat, a weighing, a pressing, thicknesses, what became of it."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import TYPE_CHECKING, TypeVar, cast

from aerode.errors import ChangedError, FieldFault, RecordError, some_of
from aerode.records import adapter
from aerode.records.electrodes import (
    Coat,
    Electrode,
    Layer,
    Outcome,
    Press,
    StorageState,
    Weighing,
)
from aerode.usecases.believable import THICKEST, press_faults
from aerode.usecases.bench_fields import plain_record
from aerode.usecases.bench_units import on_steps
from aerode.usecases.changing import change_record
from aerode.usecases.electrode_page_dryness import scale_step
from aerode.usecases.unlikely_mesh import ask_of_mesh, likelier_mesh
from aerode.usecases.unlikely_pieces import ask_of_coat, ask_of_press

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from aerode.records.marks import Entry
    from aerode.store.bench_file import BenchFile

__all__ = [
    "Acted",
    "add_coat",
    "add_press",
    "add_weighing",
    "later_state",
    "set_outcome",
    "set_thickness",
    "typed_press",
]

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Acted:
    """The electrode as it is now; or every field that cannot be taken, or what is asked first: nothing was stored."""

    record: Electrode | None = None
    faults: tuple[FieldFault, ...] = ()
    ask: str = ""
    """What somebody has to be sure of first; sent back word for word it is a yes."""
    mesh: tuple[str, ...] = ()
    """What the bare mesh likelier was, where the question is about it: sent back, it is put right as well."""


def _read(cls: type[T], texts: Mapping[str, str]) -> tuple[T | None, tuple[FieldFault, ...]]:
    """A record from the texts of a form; blank fields are left out."""
    filled = {key: text.strip() for key, text in texts.items() if text.strip()}
    plain, found = plain_record(cls, filled)
    if found:
        return None, tuple(fault for _, fault in found)
    try:
        return adapter.read(cls, plain, where=cls.__name__.lower()), ()
    except RecordError as error:
        return None, tuple(error.faults)


def _empty(field: str, what: str, allowed: str) -> Acted:
    return Acted(faults=(FieldFault(field, what, allowed, ""),))


def _kept(bench: BenchFile, name: str, change: Callable[[Electrode], Electrode], why: str) -> Acted:
    """The newest state, changed and stored: what others added meanwhile stays."""
    return Acted(record=change_record(bench, Electrode, name, change, why=why))


def _only(texts: Mapping[str, str], *names: str) -> dict[str, str]:
    return {name: texts[name] for name in names if name in texts}


def _is_sure(texts: Mapping[str, str], ask: str) -> bool:
    """Whether this very question was answered with yes; how its lines were broken does not matter."""
    return texts.get("sure", "").split() == ask.split()


def add_coat(bench: BenchFile, name: str, texts: Mapping[str, str], *, at: str) -> Acted:
    """One more pass of the brush or blade.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    name : str
        Of the electrode.
    texts : mapping
        "layer" (its place, from 1), "wet_mass", "dry_mass", "drying_time", "note", as typed; "sure"
        the question that is answered with yes.
    at : str
        Moment, ISO 8601.

    Returns
    -------
    Acted
        With the question of dryness open again: what was weighed before says nothing of this coat.
    """
    coat, faults = _read(Coat, _only(texts, "wet_mass", "dry_mass", "drying_time", "note"))
    if coat is None:
        return Acted(faults=faults)
    if coat == Coat():
        return _empty(
            "wet_mass", "the coat has no mass yet", "its wet or its dry mass, as in 0.42 g"
        )
    place = texts.get("layer", "").strip()
    electrode = bench.get(Electrode, name)
    number = int(place) if place.isdecimal() else max(1, len(electrode.layers))
    if not 1 <= number <= max(1, len(electrode.layers)):
        return _empty("layer", f"there is no layer {number}", f"1 to {len(electrode.layers)}")
    if (ask := ask_of_coat(electrode, coat)) and not _is_sure(texts, ask):
        return Acted(ask=ask)
    return _kept(bench, name, lambda one: _with_coat(one, number - 1, replace(coat, at=at)), "coat")


def _with_coat(electrode: Electrode, place: int, coat: Coat) -> Electrode:
    """The coat behind the others; what was weighed before it is told by the note of the coat before.

    A wet coat opens the question of dryness again: no weighing of an earlier coat may stand where the
    cautions look for an answer. The numbers themselves stay in the history.
    """
    layers = list(electrode.layers or (Layer(),))
    before = layers[place].coats
    if before and electrode.weighings:
        weighed = ", ".join(
            on_steps(one.mass, "kg", one.resolution)
            + (f" with {' and '.join(one.beside)}" if one.beside else "")
            for one in electrode.weighings
        )
        said = f"piece weighed after it: {weighed}"
        last = replace(before[-1], note="; ".join(filter(None, (before[-1].note, said))))
        before = (*before[:-1], last)
    layers[place] = replace(layers[place], coats=(*before, coat))
    return replace(electrode, layers=tuple(layers), weighings=())


def add_weighing(bench: BenchFile, name: str, texts: Mapping[str, str], *, at: str) -> Acted:
    """One weighing of the whole piece while it dries; two of them tell whether it is dry enough.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    name : str
        Of the electrode.
    texts : mapping
        "mass", and "after" (time since the weighing before) where it was not weighed just now;
        "beside" the names of the like pieces that lay on the scale with it; "sure" the question that
        is answered with yes; "mesh" what the bare mesh of `name` was, where it is to be put right.
    at : str
        Moment, ISO 8601.

    Returns
    -------
    Acted
        Of `name`; the weighing stands in the log of every piece that was on the scale. One that does not
        fit the bare mesh or the wet coats is asked about first.
    """
    if not texts.get("mass", "").strip():
        return _empty("mass", "the mass is missing", "the whole piece, as in 12.43 g")
    weighing, faults = _read(Weighing, _only(texts, "mass", "after", "note"))
    if weighing is None:
        return Acted(faults=faults)
    beside, strange = _beside(bench, name, texts.get("beside", ""))
    if strange:
        return Acted(faults=strange)
    on_scale = (name, *beside)
    weighing = replace(weighing, at=at, resolution=scale_step(bench))

    def weighed(one: Electrode) -> Electrode:
        others = tuple(other for other in on_scale if other != one.name)
        return replace(one, weighings=(*one.weighings, replace(weighing, beside=others)))

    mended, wrong = _mended_mesh(texts.get("mesh", ""))
    if wrong:
        return Acted(faults=wrong)

    def put_right(one: Electrode) -> Electrode:
        return weighed(one if mended is None else replace(one, mesh_mass=mended))

    before = bench.get(Electrode, name)
    after = put_right(before)
    if (ask := ask_of_mesh(bench, after, before)) and not _is_sure(texts, ask):
        return Acted(ask=ask, mesh=likelier_mesh(bench, after, before))
    why = "weighing" if mended is None else "weighing, and its bare mesh put right"
    kept = _kept(bench, name, put_right, why)
    for piece in beside:
        _kept(bench, piece, weighed, "weighing")
    return kept


def _mended_mesh(text: str) -> tuple[Entry | None, tuple[FieldFault, ...]]:
    """The weight of the bare mesh as it is put right; None where nothing is."""
    piece, faults = _read(Electrode, {"name": "piece", "mesh_mass": text})
    return (None, faults) if piece is None else (piece.mesh_mass, ())


def _beside(
    bench: BenchFile, name: str, text: str
) -> tuple[tuple[str, ...], tuple[FieldFault, ...]]:
    """The names of a typed list, without the piece itself; a fault where one is not on the bench."""
    known = bench.names(Electrode)
    typed = [one.strip() for one in re.split(r"[,;]", text) if one.strip()]
    strange = [one for one in typed if one not in known]
    if not strange:
        return tuple(one for one in dict.fromkeys(typed) if one != name), ()
    others = [one for one in known if one != name]
    near = get_close_matches(strange[0], others, n=len(others) or 1, cutoff=0.0)
    allowed = f"names of electrodes, with commas between: {some_of(near, 5)}" if near else "no other electrode is on the bench"  # fmt: skip
    return (), (FieldFault("beside", f"there is no electrode {strange[0]!r}", allowed, text),)


def typed_press(texts: Mapping[str, str]) -> tuple[Press | None, tuple[FieldFault, ...]]:
    """A pressing from the fields of its form; None with the faults where one cannot be read."""
    fields = (
        "appliance", "plate_temperature", "duration", "force", "torque", "firmness", "means",
        "release", "closed_volume", "extraction", "note",
    )  # fmt: skip
    return _read(Press, _only(texts, *fields))


def add_press(bench: BenchFile, name: str, texts: Mapping[str, str]) -> Acted:
    """One more pressing or other heating, with the fields of its record as typed.

    "sure" is the question that is answered with yes: a plate past a line of the layer is asked about
    with its caution before it stands there as done.
    """
    press, faults = typed_press(texts)
    if press is None:
        return Acted(faults=faults)
    if press == Press():
        return _empty("means", "nothing is said of the pressing", "with what, how hot, how long")
    if asked := press_faults(press):
        return Acted(faults=tuple(asked))
    ask = ask_of_press(bench, bench.get(Electrode, name), press)
    if ask and not _is_sure(texts, ask):
        return Acted(ask=ask)
    return _kept(bench, name, lambda one: replace(one, press=(*one.press, press)), "pressing")


def set_thickness(bench: BenchFile, name: str, readings: list[str]) -> Acted:
    """The thickness at several places, in the order of the places; blank ones are left out.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    name : str
        Of the electrode.
    readings : list of str
        "0.31 mm" at each place.

    Returns
    -------
    Acted
        Faults are named by the place: "thickness.2".
    """
    places = [place for place, text in enumerate(readings) if text.strip()]
    if not places:
        return _empty("thickness.0", "no thickness was typed", "one place at least, as in 0.31 mm")
    plain, found = plain_record(
        Electrode, {"name": name, "thickness": [readings[p] for p in places]}
    )
    if found:
        faults = [
            replace(f, field=f"thickness.{places[cast('int', path[1])]}") for path, f in found
        ]
        return Acted(faults=tuple(faults))
    values: tuple[float, ...] = tuple(plain["thickness"])
    wrong = [
        p for p, value in zip(places, values, strict=True) if not 0.0 < value <= THICKEST + 1e-9
    ]
    if wrong:
        return _empty(
            f"thickness.{wrong[0]}",
            "no electrode has such a thickness",
            f"above 0, at most {1e3 * THICKEST:g} mm",
        )
    return _kept(bench, name, lambda one: replace(one, thickness=values), "thickness")


def set_outcome(bench: BenchFile, name: str, outcome: str, seen: str) -> Acted:
    """What became of the piece. A failed one stays in the analysis."""
    try:
        fate = Outcome(outcome)
    except ValueError:
        return _empty(
            "outcome", f"{outcome!r} is no outcome", ", ".join(one.value for one in Outcome)
        )
    return _kept(
        bench, name, lambda one: replace(one, outcome=fate, outcome_note=seen.strip()), "outcome"
    )


def later_state(
    bench: BenchFile, name: str, *, new: str, state: str, rinsed: bool, note: str, at: str
) -> Acted:
    """The same piece after a wash, a second press, a rest: a new name, the same piece of matter.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    name : str
        Of the electrode as it was.
    new : str
        The name of its later state.
    state : str
        What was done: "washed in warm water".
    rinsed : bool
        Whether water or solvent went over it.
    note : str
        Kept with the state.
    at : str
        Moment, ISO 8601.

    Returns
    -------
    Acted
        Thickness, mass and weighings are left open: they may have changed and have to be read again.
    """
    new, state = new.strip(), state.strip()
    faults: list[FieldFault] = []
    if not new:
        faults.append(FieldFault("new", "the later state needs a name", f"as in {name} washed", ""))
    elif bench.find(Electrode, new) is not None:
        faults.append(FieldFault("new", f"this bench has an electrode called {new!r} already", "another name", new))  # fmt: skip
    if not state:
        faults.append(FieldFault("state", "what was done is missing", "washed, pressed again, dried", ""))  # fmt: skip
    if faults:
        return Acted(faults=tuple(faults))
    before = bench.get(Electrode, name)
    kept = StorageState(state=state, since=at, rinsed=rinsed, note=note.strip())
    try:
        adapter.read(Electrode, {"name": new}, where="electrode")
    except RecordError as error:
        return Acted(faults=tuple(replace(fault, field="new") for fault in error.faults))
    record = replace(
        before, name=new, build=before.piece, storage=(*before.storage, kept), thickness=(),
        mass=None, weighings=(), retained_solvent=None, photos=(), control=False,
    )  # fmt: skip
    try:
        bench.put_onto(record, "", why=f"{state}, a later state of {name}")
    except ChangedError:  # another program gave the name away meanwhile: asked again
        return later_state(bench, name, new=new, state=state, rinsed=rinsed, note=note, at=at)
    return Acted(record=record)
