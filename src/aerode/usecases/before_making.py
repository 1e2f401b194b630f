"""What to read on a form before a pot is weighed, a piece is coated, or plates are heated."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.errors import AerodeError
from aerode.records.electrodes import Electrode, Layer
from aerode.records.mixes import Batch, Mix
from aerode.usecases.caution_question import CautionQuestion
from aerode.usecases.cautions import what_can_hurt
from aerode.usecases.coat_vapour import WHOLE_POT, counts_amounts
from aerode.usecases.electrode_page_acts import typed_press
from aerode.usecases.electrode_page_heat import HeatLine, heat_lines
from aerode.usecases.mix_preview import look_at_mix
from aerode.usecases.unlikely_pieces import cautions_past, cautions_wet
from aerode.usecases.usual_words import BEFORE_MAKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from aerode.records.cautions import Caution, CautionSheet
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.mix import MixQuestion

__all__ = ["BeforeMaking", "before_electrode", "before_pot", "before_press"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BeforeMaking:
    """The cautions of the mixes that are named, and what a plate may do to them."""

    sheets: tuple[tuple[str, CautionSheet], ...] = ()
    """Each mix with all that can hurt in handling it wet."""
    counted: str = ""
    """Whose amount the cautions on vapour count, where they are shown for one piece."""
    usual: tuple[str, ...] = ()
    """The usual words, where no mix that can be judged is named."""
    heat: tuple[HeatLine, ...] = ()
    """How warm a plate may be, mix by mix."""
    past: tuple[Caution, ...] = ()
    """What the typed plates would do: past a line of what is in the layer, or on a coat that may be wet."""

    def headline(self, name: str) -> str:
        """The verdict of the sheet of a mix, without its name."""
        said = next(sheet.headline for mix, sheet in self.sheets if mix == name)
        return said.removeprefix(f"{name}: ").removesuffix(".")


def _sheet(bench: BenchFile, mix: str, batch: Batch | None, room: str) -> CautionSheet | None:
    portions = batch.portions if batch else ()
    try:
        return what_can_hurt(bench, f"mix:{mix}", CautionQuestion(room=room, portions=portions))
    except AerodeError:
        return None


def before_pot(
    bench: BenchFile, mix: str, dose: MixQuestion | None = None, *, room: str = ""
) -> BeforeMaking:
    """What to read before a pot of a mix is weighed.

    Parameters
    ----------
    bench : BenchFile
        Open.
    mix : str
        Its name; "" or a strange one where it is not said yet.
    dose : MixQuestion, optional
        The dose sheet that is followed: the cautions are for its amounts, as the page of the mix says them.
    room : str
        The room; the only one on the bench if left out.

    Returns
    -------
    BeforeMaking
        The cautions of the mix; the usual words where it cannot be judged.
    """
    sheet: CautionSheet | None = None
    if mix and bench.find(Mix, mix) is not None:
        try:
            sheet = look_at_mix(bench, mix, dose, room=room).sheet if dose else None
        except AerodeError:
            sheet = None
        sheet = sheet or _sheet(bench, mix, None, room)
    return BeforeMaking(sheets=((mix, sheet),)) if sheet else BeforeMaking(usual=BEFORE_MAKING)


def before_electrode(
    bench: BenchFile, texts: Mapping[str, str], *, made: bool = False, room: str = ""
) -> BeforeMaking:
    """What to read before a piece is coated and heated, from its form as far as it is filled.

    Parameters
    ----------
    bench : BenchFile
        Open.
    texts : mapping of str to str
        "layers.0.mix", "layers.0.batch", "press.0.plate_temperature" and so on, each with its unit.
    made : bool
        It stands on the bench already: of its mixes only what heat may do is said.
    room : str
        The room; the only one on the bench if left out.

    Returns
    -------
    BeforeMaking
    """
    layers = _layers(bench, texts)
    piece = Electrode(name="the piece", layers=tuple(layers))
    rows = _rows(texts, "press")
    past = [c for row in rows for c in before_press(bench, piece, row)]
    past += [
        c for row in rows if (one := typed_press(row)[0]) for c in cautions_wet(bench, piece, one)
    ]
    told = BeforeMaking(
        heat=heat_lines(bench, piece), past=tuple({c.key + c.headline: c for c in past}.values())
    )
    if made:
        return told
    named: dict[str, Batch | None] = {}
    for layer in layers:
        batch = bench.find(Batch, layer.batch) if layer.batch else None
        mix = batch.mix if batch else layer.mix
        if mix and bench.find(Mix, mix) is not None:
            named.setdefault(mix, batch)
    sheets = [(mix, sheet) for mix, batch in named.items() if (sheet := _sheet(bench, mix, batch, room))]  # fmt: skip
    usual = () if sheets else BEFORE_MAKING
    counted = f"{WHOLE_POT}." if any(counts_amounts(sheet) for _, sheet in sheets) else ""
    return BeforeMaking(
        sheets=tuple(sheets), counted=counted, usual=usual, heat=told.heat, past=told.past
    )


def before_press(
    bench: BenchFile, electrode: Electrode, texts: Mapping[str, str]
) -> tuple[Caution, ...]:
    """What a pressing that is being typed would do; empty where it passes no line or cannot be read yet.

    Parameters
    ----------
    bench : BenchFile
        Open.
    electrode : Electrode
        The piece.
    texts : mapping of str to str
        "plate_temperature", "means" and so on, each with its unit.

    Returns
    -------
    tuple of Caution
        The lines of which it is asked before it is stored; whether the coat is dry is told by
        `cautions_wet`, which its page shows before anything is typed.
    """
    press, _ = typed_press(texts)
    return cautions_past(bench, electrode, press) if press is not None else ()


def _rows(texts: Mapping[str, str], stem: str) -> list[dict[str, str]]:
    """The rows of a list of the form that hold anything, in their order."""
    rows: dict[int, dict[str, str]] = {}
    for path, text in texts.items():
        head, _, rest = path.removeprefix(f"{stem}.").partition(".")
        if path.startswith(f"{stem}.") and head.isdecimal() and text.strip():
            rows.setdefault(int(head), {})[rest] = text
    return [rows[number] for number in sorted(rows)]


def _layers(bench: BenchFile, texts: Mapping[str, str]) -> list[Layer]:
    """The layers whose mix or pot stands on the bench."""
    found: list[Layer] = []
    for row in _rows(texts, "layers"):
        mix, batch = row.get("mix", "").strip(), row.get("batch", "").strip()
        mix = mix if mix and bench.find(Mix, mix) is not None else ""
        batch = batch if batch and bench.find(Batch, batch) is not None else ""
        if mix or batch:
            found.append(Layer(mix=mix, batch=batch))
    return found
