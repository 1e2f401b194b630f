"""The bench sheet of a mix: weights for the scale, then coat, dry and press, with the cautions on top."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.cautions.reading import folded_keys
from aerode.errors import InputError
from aerode.records.bench_sheets import BenchSheet
from aerode.records.mixes import Mix
from aerode.records.places import Bench
from aerode.records.reports import SourceLine
from aerode.usecases.bench_sheet_parts import coat, dry, press_part, put_away, stir, weigh
from aerode.usecases.caution_question import CautionQuestion, question_of_dose
from aerode.usecases.cautions import acknowledge, refuse_unacknowledged
from aerode.usecases.labels import label_says
from aerode.usecases.mix import MixQuestion, scale_of, what_it_dries_to
from aerode.usecases.mix_preview_words import plain_notes
from aerode.usecases.mix_size import ask_of_dose, refuse_large
from aerode.version import VERSION

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from aerode.records.cautions import CautionSheet
    from aerode.records.doses import DoseSheet, MixAnswer
    from aerode.records.places import Room
    from aerode.store.bench_file import BenchFile

__all__ = ["SheetQuestion", "acknowledge_for_sheet", "bench_sheet"]

_IDLE = re.compile(
    r"^(?P<lot>.+?): (?P<what>density of [^,]+|oil absorption) not (?:measured|known), "
)
"""A figure that is used for voids and cost, and not for a weight."""
_KEY = re.compile(r"\[([a-z0-9_]+)\]")


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetQuestion:
    """What is asked of a bench sheet, as typed.

    `mix` needs an area and a loading; a plate temperature plans a hot press, "" a cold one.
    """

    mix: MixQuestion
    room: str = ""
    plate: str = ""
    sheets: tuple[str, ...] = ()
    """Figures of data sheets, as in "PVB=150 °C, maker 2024"."""
    class_mode: bool = False


def _dosed(bench: BenchFile, name: str, question: SheetQuestion) -> tuple[MixAnswer, DoseSheet]:
    found = what_it_dries_to(bench, name, question.mix)
    if found.dose is None:
        raise InputError(
            "a bench sheet needs something to dose", where="--sheet",
            allowed='an area and a loading, as in --area "9 cm^2" --loading "25 mg/cm^2"',
            next_step="add both",
        )  # fmt: skip
    return found, found.dose


def _asked(dose: DoseSheet, question: SheetQuestion) -> CautionQuestion:
    """The question to the caution engine: what will be weighed, over the whole wet area, and the plate."""
    asked = CautionQuestion(
        room=question.room,
        plate=question.plate,
        sheets=question.sheets,
        class_mode=question.class_mode,
    )
    return question_of_dose(dose, asked)


def acknowledge_for_sheet(
    bench: BenchFile, name: str, question: SheetQuestion, key: str, reason: str, *, made: str, who: str = "",
    group: str = "",
) -> CautionSheet:  # fmt: skip
    """Keep the reason for printing a sheet in spite of a STOP; the STOP stays on the sheet.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    name : str
        Of the mix.
    question : SheetQuestion
        The sheet that is to be printed: the figure of the STOP is kept with the reason.
    key : str
        Of the STOP.
    reason : str
        In words.
    made : str
        Moment, ISO 8601.
    who : str
        Who.
    group : str
        The code of the group, where a class is at work: it stands in place of any name.

    Returns
    -------
    CautionSheet

    Raises
    ------
    InputError
        No such caution, a STOP without a reason, or in a class no code of a group.
    """
    _, dose = _dosed(bench, name, question)
    return acknowledge(
        bench, f"mix:{name}", key, reason, made=made, question=_asked(dose, question), who=who,
        group=group,
    )  # fmt: skip


def bench_sheet(
    bench: BenchFile, name: str, question: SheetQuestion, *, moment: datetime, ask: str = ""
) -> BenchSheet:
    """Everything for one sheet of paper, or a refusal while a STOP waits for its reason.

    Parameters
    ----------
    bench : BenchFile
        Open.
    name : str
        Of a mix.
    question : SheetQuestion
        Area, loading, number of pieces, scale, room, plate.
    moment : datetime
        When it is made.
    ask : str
        The command that asked, for the refusal.

    Returns
    -------
    BenchSheet
        Equal inputs give equal sheets.

    Raises
    ------
    StoppedError
        A STOP that nobody has acknowledged as it stands now.
    InputError
        Nothing to dose, something typed cannot be taken, or it is more than a pot on a table and nobody
        is sure.
    """
    found, dose = _dosed(bench, name, question)
    sheet = refuse_unacknowledged(bench, f"mix:{name}", _asked(dose, question), ask=ask)
    if not question.mix.sure:
        refuse_large(ask_of_dose(bench, dose), "--sure, if it is meant so")
    scale, _ = scale_of(bench, question.mix.scale)
    parts = (
        weigh(dose),
        stir(dose),
        coat(dose),
        dry(bench, found, dose, scale, _warmth(bench, question.room)),
        press_part(bench, found, question.plate, question.sheets),
        put_away(),
    )
    own = next(iter(bench.all(Bench)), None)
    counted = f"{dose.electrodes} electrode{'s' if dose.electrodes > 1 else ''}"
    return BenchSheet(
        headline=f"{name}: {counted} of {dose.area_cm2:.4g} cm² at {dose.loading_mg_cm2:.4g} mg/cm²",
        mix=name,
        says=label_says(name, bench.state(Mix, name).record, "mix"),
        bench=own.title if own else "bench",
        room=question.room or (room.name if (room := _only_room(bench)) else ""),
        scale=dose.scale,
        cautions=sheet,
        folded=folded_keys(sheet),
        parts=tuple(p for p in parts if p.weights or p.steps or p.tables),
        assumptions=_taken_instead(found.assumptions),
        sources=_sources(sheet),
        made=moment.date().isoformat(),
        version=VERSION,
    )


def _taken_instead(notes: Sequence[str]) -> tuple[str, ...]:
    """What was assumed, with the figures that move no weight told together."""
    idle = [match for note in notes if (match := _IDLE.match(note))]
    lots = ", ".join(dict.fromkeys(match["lot"] for match in idle))
    words = [word for word in ("density", "oil absorption") if any(word in m["what"] for m in idle)]
    together = f"{' and '.join(words)} of {lots}: from tables or assumed, they move no weight on this sheet"
    others = plain_notes([note for note in notes if not _IDLE.match(note)])
    return (*others, together) if idle else others


def _only_room(bench: BenchFile) -> Room | None:
    from aerode.records.places import Room

    rooms = bench.all(Room)
    return rooms[0] if len(rooms) == 1 else None


def _warmth(bench: BenchFile, name: str) -> str:
    """The temperature of the room as it could be typed, "" where nobody read it."""
    from aerode.records.places import Room

    room = bench.find(Room, name) if name else _only_room(bench)
    value = room.temperature.value if room is not None else None
    return "" if value is None else f"{value:.2f} K"


def _sources(sheet: CautionSheet) -> tuple[SourceLine, ...]:
    """Each source of the cautions once, by its key."""
    found: dict[str, SourceLine] = {}
    for caution in sheet.cautions:
        for text in caution.source:
            match = _KEY.search(text)
            key = match[1] if match else text
            line = SourceLine(key=key, reference=text, unverified="unverified" in text)
            found.setdefault(key, line)
    return tuple(found.values())
