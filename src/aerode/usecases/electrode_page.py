"""One electrode as its page shows it: what it is, whether measured, what became of it, what is next."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import AerodeError, UnitError
from aerode.measure.mix.answer import dried
from aerode.measure.mix.porosity import film_of
from aerode.measure.mix.published import density_on_file
from aerode.measure.run_readings import remaining_loads, taken_readings
from aerode.quantities import Basis
from aerode.records.electrodes import Cell, Electrode, Press, RecipeState
from aerode.records.materials import MeshCard
from aerode.records.runs import RunSort
from aerode.records.symptoms import Symptom
from aerode.usecases.bench_units import amount, on_steps
from aerode.usecases.cautions import CautionQuestion, what_can_hurt
from aerode.usecases.coat_vapour import coat_vapour
from aerode.usecases.electrode_page_dryness import dryness_of, scale_step
from aerode.usecases.electrode_page_heat import HeatLine, heat_lines, hurt_title, solvent_mixes
from aerode.usecases.electrode_page_list import area_words, load_runs, measured_words, runs_of
from aerode.usecases.electrode_page_minds import coat_minds, mix_of_coat, too_cool
from aerode.usecases.electrode_page_next import PieceNext, next_for_piece
from aerode.usecases.electrode_page_thickness import thickness_map
from aerode.usecases.heated_pieces import coated_since
from aerode.usecases.mix import scale_of, shelf_of
from aerode.usecases.mix_preview_words import share_words
from aerode.usecases.press_start import usual_start
from aerode.usecases.process_dryness import BEFORE_THE_PRESS
from aerode.usecases.unlikely_mesh import doubts_of_piece
from aerode.usecases.unlikely_pieces import cautions_wet
from aerode.usecases.weighed_dry import with_dry_weight

if TYPE_CHECKING:
    from aerode.records.cautions import Caution, CautionSheet
    from aerode.records.doses import FilmPorosity
    from aerode.records.processes import ProcessAnswer
    from aerode.records.runs import Run
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.coat_vapour import CoatVapour
    from aerode.usecases.electrode_page_thickness import ThicknessMap

__all__ = ["CoatRow", "ElectrodeLook", "Fact", "PressRow", "RunRow", "look_at_electrode"]


@dataclass(frozen=True, slots=True)
class Fact:
    """One fact, and what it rests on or what it would buy."""

    term: str
    said: str
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatRow:
    """One pass of the brush or blade."""

    number: str
    wet: str
    dry: str
    drying: str
    weighed: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PressRow:
    """One pressing or other heating in a sentence."""

    said: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RunRow:
    """One run of it."""

    name: str
    sort: str
    started: str
    readings: int
    open: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ElectrodeLook:
    """All that the page of an electrode shows."""

    electrode: Electrode
    identity: str
    headline: str
    """Whether it was measured, and what became of it."""
    what: str
    """What it is."""
    facts: tuple[Fact, ...]
    coats: tuple[CoatRow, ...]
    weighings: tuple[str, ...]
    at_odds: tuple[str, ...]
    """Weights of the piece, its mesh and its coats that do not fit one another."""
    coat_minds: tuple[str, ...]
    """Coats whose dry and wet mass do not fit their mix."""
    dryness: ProcessAnswer | None
    dry_gate: str
    """What is still needed to tell whether it is dry enough to heat; "" where `dryness` tells it."""
    dry_wait: int
    """Minutes that have to lie between two weighings for this scale and this coat."""
    presses: tuple[PressRow, ...]
    press_minds: tuple[str, ...]
    """Plates that were too cool to soften what binds."""
    heat: tuple[HeatLine, ...]
    """What a plate may do to it, said before it is heated."""
    press_start: str
    """How hard and how long people begin with, for its area."""
    before_heat: tuple[Caution, ...]
    """That a coat with solvent is not known to be dry, said above the form of a pressing."""
    wet: tuple[CoatVapour, ...]
    """Mixes of its layers whose cautions on vapour hold while it is wet, with what is on this piece."""
    thickness: ThicknessMap | None
    sheet: CautionSheet | None
    hurt_title: str
    """Before what these cautions are to be read, as heat and water stand by now."""
    no_sheet: str
    runs: tuple[RunRow, ...]
    measured: bool
    cells: tuple[str, ...]
    symptoms: tuple[Symptom, ...]
    following: PieceNext
    """The next act on it: the same as the first page says."""
    states: tuple[str, ...]
    """Other states of the same piece of matter."""


def look_at_electrode(bench: BenchFile, name: str, *, room: str = "") -> ElectrodeLook:
    """One electrode with everything that hangs on it.

    Parameters
    ----------
    bench : BenchFile
        Open.
    name : str
        Its name.
    room : str
        The room whose cautions are shown; the only one on the bench if left out.

    Returns
    -------
    ElectrodeLook

    Raises
    ------
    NotFoundError, ConflictError
        No electrode of that name; it stands in two states that a person has to settle first.
    """
    revision = bench.state(Electrode, name)
    electrode: Electrode = bench.read(revision)
    runs = runs_of(bench, name)
    measured = any(run.sort is RunSort.LOADS and run.readings for run in runs)
    cells = tuple(cell.name for cell in bench.all(Cell, of=name))
    dry, step = dryness_of(bench, electrode), scale_step(bench)
    heat = heat_lines(bench, electrode)
    again = coated_since(bench, electrode)
    sheet, no_sheet = _sheet(bench, name, room)
    return ElectrodeLook(
        electrode=electrode,
        identity=revision.record,
        headline=_headline(electrode, runs),
        what=_what(electrode),
        facts=_facts(bench, electrode),
        coats=_coats(electrode, step),
        at_odds=tuple(one.ask for one in doubts_of_piece(bench, electrode)),
        coat_minds=coat_minds(bench, electrode),
        weighings=_weighings(electrode, step),
        dryness=_after_the_press(dry.answer) if electrode.press and not again else dry.answer,
        dry_gate=dry.gate,
        dry_wait=dry.wait,
        presses=tuple(_press(press) for press in electrode.press),
        press_minds=too_cool(electrode, heat),
        heat=heat,
        press_start=usual_start(electrode.wetted_area.value if electrode.wetted_area else None),
        before_heat=cautions_wet(bench, electrode, Press(means="a hot press")),
        wet=tuple(
            coat_vapour(bench, electrode, mix, room=room) for mix in solvent_mixes(bench, electrode)
        ),
        thickness=thickness_map(name, electrode.thickness) if electrode.thickness else None,
        sheet=sheet,
        hurt_title=hurt_title(
            electrode,
            wetted=any(run.readings or run.observations for run in runs),
            coated_since=again,
        ),
        no_sheet=no_sheet,
        runs=tuple(_run(run) for run in runs),
        measured=measured,
        cells=cells,
        symptoms=_symptoms(bench, name, cells),
        following=next_for_piece(bench, electrode),
        states=_states(bench, electrode),
    )


def _after_the_press(answer: ProcessAnswer | None) -> ProcessAnswer | None:
    """What two weighings said of the coat, without what was to be read before the press: that is done."""
    if answer is None:
        return None
    kept = (one for one in answer.warnings if one != BEFORE_THE_PRESS)
    return replace(answer, warnings=tuple(kept))


def _what(electrode: Electrode) -> str:
    what = electrode.recipe or {
        RecipeState.MIX: "recipe not noted",
        RecipeState.BOUGHT: "a bought piece, its recipe not known",
        RecipeState.BLANK: "a blank: the same carbon, binder and mesh, no catalyst",
        RecipeState.BARE_MESH: "bare mesh",
    }.get(electrode.recipe_state, electrode.recipe_state.value)
    parts = [what, area_words(electrode) or "area not measured yet"]
    if electrode.control:
        parts.append("the control")
    return ", ".join(parts)


def _headline(electrode: Electrode, runs: list[Run]) -> str:
    taken = measured_words(runs)
    seen = f" ({electrode.outcome_note})" if electrode.outcome_note else ""
    fate = f"{electrode.outcome.value}{seen}"
    return f"{taken}, {fate}" if load_runs(runs) else f"{fate}, {taken}"


def _film(bench: BenchFile, electrode: Electrode) -> FilmPorosity | str:
    """Loading and porosity, or why there are none."""
    mix = mix_of_coat(bench, electrode)
    if mix is None:
        return "the one mix of its coat is not on the bench"
    mesh = bench.find(MeshCard, electrode.mesh) if electrode.mesh else None
    metal = density_on_file(mesh.material) if mesh is not None else None
    scale, _ = scale_of(bench, "")
    try:
        composition = dried(mix, shelf_of(bench), scale)
        weighed = with_dry_weight(electrode)
        return film_of(weighed, composition, scale, mesh=mesh, mesh_density=metal)
    except AerodeError as error:
        return error.what


def _facts(bench: BenchFile, electrode: Electrode) -> tuple[Fact, ...]:
    facts: list[Fact] = []
    area = area_words(electrode)
    how = electrode.wetted_area.how if electrode.wetted_area else ""
    facts.append(
        Fact("Wetted area", area or "not measured", how or ("" if area else "every fair number is per area"))
    )  # fmt: skip
    film = _film(bench, electrode)
    if isinstance(film, str):
        facts.append(Fact("Dry loading", "not known", film))
    else:
        loading, porosity = film.loading_mg_cm2, film.porosity
        said = "not known"
        if loading.value is not None:
            spread = loading.standard_uncertainty
            said = units.write(loading.value, "mg/cm^2", spread).replace("^2", "²")
        predicted = loading.basis is Basis.PREDICTED
        note = f"{loading.basis.value}: {loading.meaning}" if predicted else loading.reason or ""
        if not note and with_dry_weight(electrode) is not electrode:
            note = f"{loading.basis.value}: the constant weight of the piece less its mesh"
        facts.append(Fact("Dry loading", f"about {said}" if predicted else said, note))
        note = porosity.reason or porosity.basis.value
        facts.append(Fact("Voids of the film", share_words(porosity), note))
    layers = [
        f"{layer.role.value}: {layer.batch or layer.mix or 'not noted'}, {layer.how}"
        for layer in electrode.layers
    ]
    if layers:
        facts.append(Fact("Layers, from the gas side", "; ".join(layers)))
    facts += [
        Fact(key.capitalize(), value if isinstance(value, str) else f"{value:g}", "varied on purpose")
        for key, value in electrode.factors.items()
    ]  # fmt: skip
    facts += _built(electrode)
    return tuple(facts)


def _built(electrode: Electrode) -> list[Fact]:
    """Mesh, tab, edge, day, note: only what was entered."""
    found: list[Fact] = []
    if electrode.mesh:
        found.append(Fact("Mesh", electrode.mesh))
    if electrode.mesh_mass is not None:
        bare = electrode.mesh_mass
        grams = amount(bare.value, "kg", bare.standard_uncertainty)
        found.append(Fact("Bare mesh alone", bare.text or grams, bare.how))
    if electrode.tab:
        ohms = electrode.tab.resistance
        joint = amount(ohms.value, "ohm", ohms.standard_uncertainty) if ohms else ""
        found.append(Fact("Tab", electrode.tab.how, joint))
    if electrode.seal:
        found.append(Fact("Edge", electrode.seal.sealant, electrode.seal.cure_gives_off))
    found += [
        Fact(f"Kept {state.since[:10]}".strip(), state.state, "rinsed" if state.rinsed else "")
        for state in electrode.storage
    ]
    if electrode.made:
        found.append(Fact("Made", electrode.made[:10]))
    if electrode.note:
        found.append(Fact("Note", electrode.note))
    return found


def _grams(mass: float | None, step: float | None) -> str:
    return "" if mass is None else on_steps(mass, "kg", step)


def _minutes(time: float | None) -> str:
    return "" if time is None else amount(time, "s")


def _coats(electrode: Electrode, step: float | None) -> tuple[CoatRow, ...]:
    several = len(electrode.layers) > 1
    return tuple(
        CoatRow(
            number=f"{place}.{number}" if several else str(number),
            wet=_grams(coat.wet_mass, step),
            dry=_grams(coat.dry_mass, step),
            drying=_minutes(coat.drying_time),
            weighed=", ".join(_grams(one.mass, one.resolution or step) for one in coat.weighings),
            note=coat.note,
        )
        for place, layer in enumerate(electrode.layers, start=1)
        for number, coat in enumerate(layer.coats, start=1)
    )


def _weighings(electrode: Electrode, step: float | None) -> tuple[str, ...]:
    said: list[str] = []
    for one in electrode.weighings:
        text = _grams(one.mass, one.resolution or step)
        if one.beside:
            text += f" with {', '.join(one.beside)}"
        if one.after is not None:
            text += f", {_minutes(one.after)} after the one before"
        elif one.at:
            text += f", {one.at[:16].replace('T', ' ')}"
        said.append(text)
    return tuple(said)


def _read_back(text: str, unit: str) -> str:
    """A weight that was typed for a force, as it was taken; "" for any other text.

    >>> _read_back("20 kg", "N"), _read_back("2 kN", "N")
    ('20 kg is about 196 N: a weight of 20 kg', '')
    """
    try:
        taken = units.read(text, unit).understood
    except UnitError:
        return ""
    return taken if "a weight of" in taken else ""


def _press(press: Press) -> PressRow:
    said = [press.means or (press.appliance.value if press.appliance else "press")]
    if press.plate_temperature is not None:
        plate = press.plate_temperature
        said.append(plate.text or amount(plate.value, "K"))
    if press.duration is not None:
        said.append(f"for {_minutes(press.duration)}")
    for entry, unit in ((press.force, "N"), (press.torque, "N*m")):
        if entry is not None:
            said.append(_read_back(entry.text, unit) or entry.text or amount(entry.value, unit, entry.standard_uncertainty))  # fmt: skip
    if press.firmness is not None:
        said.append(press.firmness.value)
    if press.release:
        said.append(f"on {press.release}")
    return PressRow(said=", ".join(said), note=press.note)


def _sheet(bench: BenchFile, name: str, room: str) -> tuple[CautionSheet | None, str]:
    try:
        return what_can_hurt(bench, f"electrode:{name}", CautionQuestion(room=room)), ""
    except AerodeError as error:
        return None, f"{error.what}. {error.next_step}".strip()


def _run(run: Run) -> RunRow:
    return RunRow(
        name=run.name,
        sort=run.sort.value,
        started=run.started[:16].replace("T", " "),
        readings=len(taken_readings(run)) or len(run.observations),
        open=bool(remaining_loads(run)) and not run.finished,
    )


def _symptoms(bench: BenchFile, name: str, cells: tuple[str, ...]) -> tuple[Symptom, ...]:
    return tuple(
        one for one in bench.all(Symptom) if one.electrode == name or (one.cell and one.cell in cells)
    )  # fmt: skip


def _states(bench: BenchFile, electrode: Electrode) -> tuple[str, ...]:
    """Names under which the same piece stands on the bench, newest first, the piece itself last."""
    near = [one.name for one in bench.saying(Electrode, "build", electrode.piece)]
    first = electrode.build
    if first and first not in near and bench.find(Electrode, first) is not None:
        near.append(first)
    return tuple(name for name in near if name != electrode.name)
