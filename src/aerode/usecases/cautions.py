"""Ask what can hurt someone in a mix, a press, a cell; acknowledge a STOP; refuse to go on without."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from aerode.cautions.engine import caution_sheet
from aerode.cautions.heatings import heatings_of
from aerode.cautions.reading import require_acknowledged, sheet_lines
from aerode.cautions.situation import Heating, Situation
from aerode.cautions.views import (
    ShelfView,
    air_of,
    cell_view,
    mix_view,
    recipe_is_known,
)
from aerode.cautions.waits import wait_and_step
from aerode.errors import InputError, NotFoundError, some_of
from aerode.records.cautions import Acknowledgement, CautionLevel, CautionSheet
from aerode.records.electrodes import Appliance, Cell, Electrode, Press
from aerode.records.materials import (
    Aluminium,
    Electrolyte,
    MeshCard,
    PowderLot,
    Solution,
    SolventLot,
)
from aerode.records.mixes import Batch, Mix, Portion
from aerode.records.places import People, Room
from aerode.usecases.caution_question import (
    CautionQuestion,
    read_or_none,
    target_of,
    typed_cell,
    typed_heating,
    typed_sheets,
    typed_weigh_loss,
    with_sheets,
)
from aerode.usecases.group_codes import code_for, is_class
from aerode.usecases.heated_pieces import coated_since, scale_step

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.cautions.views import MixView
    from aerode.store.bench_file import BenchFile

__all__ = [
    "CautionQuestion",
    "acknowledge",
    "caution_lines",
    "judge",
    "mark_read",
    "mesh_metal",
    "refuse_unacknowledged",
    "situation_of",
    "situation_of_press",
    "what_can_hurt",
]

_ITEMS = (Mix, Electrode, Cell)


def _shelf(bench: BenchFile) -> ShelfView:
    return ShelfView.of(bench.all(PowderLot), bench.all(Solution), bench.all(SolventLot))


def _mix_view(bench: BenchFile, mix: Mix, portions: Sequence[Portion]) -> MixView:
    return mix_view(portions or mix.portions, [share.of for share in mix.wanted], _shelf(bench))


def _joined(views: Sequence[MixView]) -> MixView:
    from aerode.cautions.views import MixView

    return MixView(
        tuple(x for v in views for x in v.liquids),
        tuple(x for v in views for x in v.powders),
        tuple(x for v in views for x in v.polymers),
        tuple(x for v in views for x in v.sheets),
    )


def _of_mix(bench: BenchFile, mix: Mix, question: CautionQuestion) -> Situation:
    pot = _mix_view(bench, mix, question.portions)
    heatings: tuple[Heating, ...] = ()
    if question.plate.strip() or question.appliance:
        wet = tuple(q.substance or q.name for q in pot.liquids)
        planned = Heating(name=question.appliance or "press", last_solvents=wet)
        heatings = (typed_heating(planned, question),)
    return Situation(
        about=(mix.name,),
        liquids=pot.liquids,
        open_area=read_or_none(question.area, "m^2", "area"),
        weigh_loss=typed_weigh_loss(question),
        powders=pot.powders,
        polymers=pot.polymers,
        sheets=pot.sheets,
        heatings=heatings,
    )


def _layers(bench: BenchFile, electrode: Electrode) -> tuple[MixView, bool]:
    """What the layers are made of, and whether every one of them is known."""
    views: list[MixView] = []
    known = recipe_is_known(electrode)
    for layer in electrode.layers:
        batch = bench.find(Batch, layer.batch) if layer.batch else None
        mix = bench.find(Mix, batch.mix if batch else layer.mix) if batch or layer.mix else None
        if mix is None and not (batch and batch.portions):
            known = False
            continue
        portions = batch.portions if batch else ()
        views.append(
            _mix_view(bench, mix, portions) if mix else mix_view(portions, (), _shelf(bench))
        )
    return _joined(views), known


def _appliance(text: str) -> Appliance | None:
    """What it will be heated with, as typed; None where nothing was said."""
    if not text:
        return None
    try:
        return Appliance(text)
    except ValueError as problem:
        raise InputError(
            f"nothing to heat with is called {text!r}", where="appliance",
            allowed=", ".join(str(one) for one in Appliance),
        ) from problem  # fmt: skip


def _of_electrode(
    bench: BenchFile, electrode: Electrode, question: CautionQuestion, room: Room | None
) -> Situation:
    pot, known = _layers(bench, electrode)
    wet = tuple(q.substance or q.name for q in pot.liquids)
    if not electrode.press and (question.plate.strip() or question.appliance):
        kind = _appliance(question.appliance)
        planned = Press(appliance=kind, means="" if kind else "press")
        electrode = replace(electrode, press=(planned,))
    heatings = heatings_of(electrode, wet, room, coated_since=coated_since(bench, electrode))
    wait, _ = wait_and_step(electrode, scale_step(bench))
    heatings = tuple(replace(h, wait=wait) for h in heatings)
    dry = pot.bound()
    return Situation(
        about=(electrode.name,),
        powders=dry.powders,
        polymers=dry.polymers,
        sheets=dry.sheets,
        recipe_known=known,
        heatings=tuple(typed_heating(h, question) for h in heatings),
    )


def mesh_metal(bench: BenchFile, electrode: Electrode) -> str:
    """The metal of its mesh: of the card of that name, else the name as it was typed."""
    card = bench.find(MeshCard, electrode.mesh) if electrode.mesh else None
    return card.material if card is not None else electrode.mesh


def _of_cell(bench: BenchFile, cell: Cell, question: CautionQuestion) -> Situation:
    electrode = bench.find(Electrode, cell.electrode)
    pot = _layers(bench, electrode)[0].bound() if electrode else None
    plan = cell_view(
        cell,
        bench.find(Electrolyte, cell.electrolyte) if cell.electrolyte else None,
        bench.find(Aluminium, cell.aluminium) if cell.aluminium else None,
    )
    plan = replace(plan, collector=mesh_metal(bench, electrode) if electrode else "")
    return Situation(
        about=(cell.name,),
        powders=pot.powders if pot else (),
        polymers=pot.polymers if pot else (),
        sheets=pot.sheets if pot else (),
        cells=(typed_cell(plan, question),),
    )


def _item(bench: BenchFile, item: str) -> Mix | Electrode | Cell:
    """The mix, electrode or cell of this name; "mix:T5" where the name alone could be two things."""
    kind, mark, name = item.partition(":")
    for cls in _ITEMS:
        if mark and kind.casefold() == cls.__name__.casefold():
            return bench.get(cls, name.strip())
    found = [held for cls in _ITEMS if (held := bench.find(cls, item)) is not None]
    if len(found) == 1:
        return found[0]
    if found:
        kinds = [type(held).__name__.lower() for held in found]
        raise InputError(
            f"{item!r} is a {' and a '.join(kinds)}",
            where="ITEM",
            allowed=", ".join(f"{k}:{item}" for k in kinds),
            next_step="say which one",
        )
    names = [n for cls in _ITEMS for n in bench.names(cls)]
    raise NotFoundError(
        f"no mix, electrode or cell {item!r} on this bench",
        where="ITEM",
        allowed=some_of(names) or "nothing is there yet",
        next_step="name one of those",
    )


def _room(bench: BenchFile, name: str) -> Room | None:
    """The room named, else the only one on the bench, else none."""
    if name:
        return bench.get(Room, name)
    rooms = bench.all(Room)
    return rooms[0] if len(rooms) == 1 else None


def situation_of(bench: BenchFile, item: str, question: CautionQuestion) -> Situation:
    """What is about to be done with a mix, an electrode or a cell, from the records of the bench.

    Parameters
    ----------
    bench : BenchFile
        Open.
    item : str
        Name of a mix, an electrode or a cell; "cell:A1" where a name could be two things.
    question : CautionQuestion
        What is said beside the records.

    Returns
    -------
    Situation
        With the room named, or the only one on the bench, or none.

    Raises
    ------
    NotFoundError
        No such item or room.
    InputError
        Something typed cannot be taken, or the name means two things.
    """
    record, room = _item(bench, item), _room(bench, question.room)
    if isinstance(record, Mix):
        found = _of_mix(bench, record, question)
    elif isinstance(record, Electrode):
        found = _of_electrode(bench, record, question, room)
    else:
        found = _of_cell(bench, record, question)
    people = set(room.people) if room else set[People]()
    in_class = question.class_mode or People.CLASS in people
    return replace(
        found,
        polymers=with_sheets(found.polymers, question),
        sheets=(*found.sheets, *typed_sheets(question)),
        target_share=target_of(question, found.target_share),
        air=air_of(room),
        children=in_class or People.CHILDREN in people,
        class_mode=in_class,
        pregnancy=People.PREGNANCY in people,
    )


def situation_of_press(bench: BenchFile, electrode: Electrode, press: Press) -> Situation:
    """What one pressing of a piece would be, said before the act.

    Parameters
    ----------
    bench : BenchFile
        Open; its only room counts.
    electrode : Electrode
        The piece; its other pressings are left out.
    press : Press
        Being planned, or being entered.

    Returns
    -------
    Situation
    """
    piece = replace(electrode, press=(press,))
    found = _of_electrode(bench, piece, CautionQuestion(), _room(bench, ""))
    return replace(found, heatings=tuple(replace(one, done=False) for one in found.heatings))


def judge(bench: BenchFile, situation: Situation) -> CautionSheet:
    """The caution sheet of any situation, with what was acknowledged on this bench.

    Parameters
    ----------
    bench : BenchFile
        Open; only its acknowledgements are read.
    situation : Situation
        As another use-case has made it (a battery design, a process plan).

    Returns
    -------
    CautionSheet
    """
    return caution_sheet(situation, bench.all(Acknowledgement))


def what_can_hurt(
    bench: BenchFile, item: str, question: CautionQuestion | None = None
) -> CautionSheet:
    """Every caution on a mix, an electrode or a cell in a room, hardest first.

    Parameters
    ----------
    bench : BenchFile
        Open.
    item : str
        Name of a mix, an electrode or a cell.
    question : CautionQuestion, optional
        What is said beside the records.

    Returns
    -------
    CautionSheet

    Raises
    ------
    NotFoundError
        No such item or room.
    InputError
        Something typed cannot be taken.
    """
    return judge(bench, situation_of(bench, item, question or CautionQuestion()))


def caution_lines(
    bench: BenchFile, item: str, question: CautionQuestion | None = None, *, full: bool = False
) -> list[str]:
    """The same as lines for people, the verdict first and the standing text last."""
    return sheet_lines(what_can_hurt(bench, item, question), full=full)


def refuse_unacknowledged(
    bench: BenchFile, item: str, question: CautionQuestion | None = None, *, ask: str = ""
) -> CautionSheet:
    """The sheet to print above a bench sheet, or a refusal while a STOP waits.

    Parameters
    ----------
    bench : BenchFile
        Open.
    item : str
        What the bench sheet is for.
    question : CautionQuestion, optional
        What is said beside the records.
    ask : str
        The command that asked, for the refusal.

    Returns
    -------
    CautionSheet
        With every STOP still on it, acknowledged.

    Raises
    ------
    StoppedError
        A STOP that nobody has acknowledged as it stands now.
    """
    sheet = what_can_hurt(bench, item, question)
    require_acknowledged(sheet, ask)
    return sheet


def _record(sheet: CautionSheet, key: str, reason: str, made: str) -> Acknowledgement:
    caution = next((c for c in sheet.cautions if c.key == key), None)
    if caution is None:
        raise InputError(
            f"no caution {key!r} on this sheet",
            where="acknowledge",
            allowed=", ".join(c.key for c in sheet.cautions) or "there is none",
            next_step="name one of those",
        )
    if caution.level is CautionLevel.STOP and len(reason.split()) < 2:
        raise InputError(
            "a STOP is acknowledged only with a reason in words",
            where="reason",
            allowed="why it is done all the same, and what stands in for what is missing",
            next_step='add --reason "..."',
        )
    return Acknowledgement(
        name=f"{', '.join(caution.about)}: {caution.key}"[:80],
        caution=caution.key,
        about=caution.about,
        reason=reason.strip() or "read",
        made=made,
        level=caution.level,
        figure=caution.figure,
        limit=caution.limit,
    )


def acknowledge(
    bench: BenchFile,
    item: str,
    key: str,
    reason: str,
    *,
    made: str,
    question: CautionQuestion | None = None,
    who: str = "",
    group: str = "",
) -> CautionSheet:
    """Put a reason for going on in spite of a STOP into the history, or mark a caution as read.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    item : str
        What the caution is about.
    key : str
        Key of the caution.
    reason : str
        In words; needed for a STOP.
    made : str
        Moment, ISO 8601.
    question : CautionQuestion, optional
        As it was when the caution was read: the figure is kept with the reason.
    who : str
        Who.
    group : str
        The code of the group, where a class is at work: it stands in place of any name.

    Returns
    -------
    CautionSheet
        The STOP is still on it.

    Raises
    ------
    InputError
        No such caution, a STOP without a reason, or in a class no code of a group.
    """
    sheet = what_can_hurt(bench, item, question)
    who = _who(bench, item, question, who, group)
    bench.put(_record(sheet, key, reason, made), why=f"acknowledged {key}", who=who)
    return what_can_hurt(bench, item, question)


def _who(
    bench: BenchFile, item: str, question: CautionQuestion | None, who: str, group: str
) -> str:
    """Who stands in the history: in a class the code of the group, and never a name."""
    asked = question or CautionQuestion()
    if is_class(bench, class_mode=asked.class_mode, room=asked.room):
        return code_for(group, item)
    return who


def mark_read(
    bench: BenchFile,
    item: str,
    *,
    made: str,
    question: CautionQuestion | None = None,
    who: str = "",
    group: str = "",
) -> CautionSheet:
    """Mark every FIRST and NOTE of an item as read: from now on each folds to one line.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    item : str
        What they are about.
    made : str
        Moment, ISO 8601.
    question : CautionQuestion, optional
        What is said beside the records.
    who : str
        Who.
    group : str
        The code of the group, where a class is at work: it stands in place of any name.

    Returns
    -------
    CautionSheet
        A STOP is never marked as read.

    Raises
    ------
    InputError
        In a class no code of a group.
    """
    sheet = what_can_hurt(bench, item, question)
    who = _who(bench, item, question, who, group)
    read = [
        _record(sheet, c.key, "read", made)
        for c in sheet.cautions
        if c.level is not CautionLevel.STOP
    ]
    if read:
        bench.put_all(read, why="cautions read", who=who)
    return what_can_hurt(bench, item, question)
