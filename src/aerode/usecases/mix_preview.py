"""What a mix would dry to while it is typed: the same answer as once it is stored."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeVar, cast

from aerode.errors import AerodeError, FieldFault, InputError
from aerode.records.electrodes import Electrode
from aerode.records.mixes import Batch, Mix
from aerode.usecases.caution_question import CautionQuestion, question_of_dose
from aerode.usecases.cautions import what_can_hurt
from aerode.usecases.mix import MixQuestion, what_it_dries_to
from aerode.usecases.mix_preview_rows import TypedMix, read_mix
from aerode.usecases.mix_size import ask_of_dose, refuse_large

if TYPE_CHECKING:
    from aerode.records.cautions import CautionSheet
    from aerode.records.doses import MixAnswer
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.bench_sheet import SheetQuestion

__all__ = ["MixLook", "MixPreview", "cautions_of_sheet", "look_at_mix", "preview_mix"]

T = TypeVar("T")
_NEWEST = 200
"""Among how many of the newest electrodes those of a mix are looked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MixPreview:
    """What a typed mix dries to and what can hurt in making it; nothing of it is stored."""

    found: MixAnswer | None = None
    sheet: CautionSheet | None = None
    mix: Mix | None = None
    """The mix that would be stored."""
    faults: tuple[FieldFault, ...] = ()
    refusal: str = ""
    """Why it cannot be worked out, where each field by itself can be read."""
    told: str = ""
    """Which amounts or shares follow the others."""
    ask: str = ""
    """How amounts and shares disagree: which holds is asked before it is stored."""


class _AsIf:
    """The bench as it would be with one mix more, and with few electrodes looked at.

    Asked for that mix, it answers with the draft. Of the electrodes only the newest are handed out:
    how the coats of a mix turned out is told by them, and a bench of thousands stays quick.
    """

    def __init__(self, bench: BenchFile, mix: Mix | None = None, *, pieces: int = 0) -> None:
        self._bench, self._mix, self._pieces = bench, mix, pieces

    def find(self, cls: type[T], name: str) -> T | None:
        """A record by its name."""
        if self._mix is not None and cls is Mix and name == self._mix.name:
            return cast("T", self._mix)
        return self._bench.find(cls, name)

    def get(self, cls: type[T], name: str) -> T:
        """A record by its name."""
        if self._mix is not None and cls is Mix and name == self._mix.name:
            return cast("T", self._mix)
        return self._bench.get(cls, name)

    def all(self, cls: type[T], *, of: str | None = None) -> list[T]:
        """Every record of a kind."""
        if cls is Electrode:
            return self._bench.latest(cls, count=self._pieces) if self._pieces else []
        return self._bench.all(cls, of=of)

    def names(self, cls: type) -> list[str]:
        """All names of a kind."""
        return self._bench.names(cls)


def preview_mix(
    bench: BenchFile, typed: TypedMix, question: MixQuestion | None = None, *, room: str = ""
) -> MixPreview:
    """What a typed mix would dry to, what it would cost, and what can hurt; nothing is stored.

    Parameters
    ----------
    bench : BenchFile
        Open.
    typed : TypedMix
        The texts of the form.
    question : MixQuestion, optional
        With an area and a loading the cost of an electrode is told too.
    room : str
        The room; the only one on the bench if left out.

    Returns
    -------
    MixPreview
        The same answer that the stored mix would give.
    """
    draft = read_mix(bench, typed)
    if draft.mix is None:
        return MixPreview(faults=draft.faults)
    as_if = cast("BenchFile", _AsIf(bench, draft.mix))
    try:
        found = what_it_dries_to(as_if, draft.mix.name, question or MixQuestion())
        sheet = what_can_hurt(as_if, f"mix:{draft.mix.name}", CautionQuestion(room=room))
    except AerodeError as error:
        return MixPreview(refusal=f"{error.what}. {error.next_step}".strip().rstrip("."))
    return MixPreview(found=found, sheet=sheet, mix=draft.mix, told=draft.told, ask=draft.ask)


@dataclass(frozen=True, slots=True, kw_only=True)
class MixLook:
    """A stored mix or batch as a page shows it."""

    found: MixAnswer
    sheet: CautionSheet
    stopped: bool = False
    """The weights are held back: a STOP waits for its acknowledgement."""
    ask: str = ""
    """The weights are held back: they are more than a pot on a table, and nobody was sure."""
    fault: str = ""
    """Why no dose sheet could be made of what was typed."""


def look_at_mix(
    bench: BenchFile, name: str, question: MixQuestion, *, batch: str = "", room: str = ""
) -> MixLook:
    """What a stored mix dries to, its dose sheet if one is asked for, and what can hurt.

    Parameters
    ----------
    bench : BenchFile
        Open.
    name : str
        The mix.
    question : MixQuestion
        With an area and a loading it asks for a dose sheet.
    batch : str
        A pot of it, as it was really weighed.
    room : str
        The room; the only one on the bench if left out.

    Returns
    -------
    MixLook
        Without weights while a STOP waits; with the reason where what was typed cannot be taken.

    Raises
    ------
    NotFoundError
        No such mix or batch, or a material of it is not on the shelf.
    InputError
        A material lacks what is needed.
    """
    fault, near = "", cast("BenchFile", _AsIf(bench, pieces=_NEWEST))
    try:
        found = what_it_dries_to(near, batch or name, question)
    except AerodeError as error:
        if question == MixQuestion():
            raise
        fault = f"{error.what}. Allowed: {error.allowed}" if error.allowed else error.what
        found = what_it_dries_to(near, batch or name, MixQuestion())
    asked = CautionQuestion(room=room, portions=bench.get(Batch, batch).portions if batch else ())
    if found.dose is not None:
        asked = question_of_dose(found.dose, asked)
    sheet = what_can_hurt(bench, f"mix:{name}", asked)
    stopped = bool(sheet.waiting) and found.dose is not None
    ask = ask_of_dose(bench, found.dose) if found.dose is not None and not question.sure else ""
    shown = replace(found, dose=None) if stopped or ask else found
    return MixLook(found=shown, sheet=sheet, stopped=stopped, ask=ask, fault=fault)


def cautions_of_sheet(bench: BenchFile, name: str, question: SheetQuestion) -> CautionSheet:
    """The cautions that a bench sheet would carry, whether or not a STOP still waits.

    Parameters
    ----------
    bench : BenchFile
        Open.
    name : str
        Of the mix.
    question : SheetQuestion
        The sheet that is to be printed: area and loading have to be in it.

    Returns
    -------
    CautionSheet

    Raises
    ------
    InputError
        Nothing to dose, or something typed cannot be taken; `where` is "sure" where it is more than a
        pot on a table.
    """
    dose = what_it_dries_to(cast("BenchFile", _AsIf(bench)), name, question.mix).dose
    if dose is None:
        raise InputError("a bench sheet needs something to dose", where="area", allowed="an area and a loading",
                         next_step="type both")  # fmt: skip
    if not question.mix.sure:
        refuse_large(ask_of_dose(bench, dose), "say that it is meant so")
    asked = CautionQuestion(
        room=question.room,
        plate=question.plate,
        sheets=question.sheets,
        class_mode=question.class_mode,
    )
    return what_can_hurt(bench, f"mix:{name}", question_of_dose(dose, asked))
