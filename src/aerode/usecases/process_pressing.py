"""What a press does: force, pressure, how soon the film is warm, and between which plate temperatures."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode import reference, units
from aerode.cautions.heatings import stored_weighings
from aerode.cautions.situation import Heating, Polymer, Situation, Weighings
from aerode.cautions.waits import wait_and_step
from aerode.errors import RangeError, UnitError
from aerode.physics import heating, pressing
from aerode.physics.water import ZERO_CELSIUS
from aerode.records.electrodes import Electrode
from aerode.records.processes import FilmHeat, PressLoad, ProcessAnswer
from aerode.reference.process_figures import process_figure
from aerode.usecases.heated_pieces import scale_step
from aerode.usecases.process import (
    Desk,
    band_of,
    cautions_for,
    ends_of,
    mix_on_file,
    shown_time,
    sources_of,
)
from aerode.usecases.process_window import common_window, sheet_limit, window_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.cautions import Caution
    from aerode.records.processes import PolymerWindow
    from aerode.store.bench_file import BenchFile

__all__ = ["COLD_PRESS", "PressQuestion", "press"]

COLD_PRESS = "it evens the coat and packs its grains closer; plastic or wax does not soften, so it binds no better"
"""What a press without heat does; common practice, no source."""
_ROOM = 298.15


@dataclass(frozen=True, slots=True, kw_only=True)
class PressQuestion:
    """What is asked, as typed; "" where it was not said."""

    mix: str = ""
    piece: str = ""
    """A piece of the bench: brings its mixes, its area and its weighings, where they are not typed."""
    polymers: tuple[str, ...] = ()
    solvents: tuple[str, ...] = ()
    """What the coat was wet with last."""
    sheets: tuple[str, ...] = ()
    """Heat limits of data sheets, as "PVB=150 degC, maker's sheet"."""
    torque: str = ""
    screw: str = ""
    thread: str = "not said"
    lead: str = ""
    foot: str = ""
    clamps: int = 1
    weights: str = ""
    force: str = ""
    gauge: str = ""
    ram: str = ""
    area: str = ""
    plate: str = ""
    dots: int = 0
    start: str = ""
    time: str = ""
    thickness: str = ""
    release: str = ""
    release_of: str = "PTFE"
    plates: int = 2
    weighed: str = ""
    coating: str = ""


def press(question: PressQuestion, bench: BenchFile | None = None) -> ProcessAnswer:
    """Force and pressure, the warming of the film, and the window between softening and the lines.

    Parameters
    ----------
    question : PressQuestion
        As typed.
    bench : BenchFile, optional
        Open; needed where a mix or a piece is named.

    Returns
    -------
    ProcessAnswer
        With `load`, `heat` and `window` filled as far as asked, and the cautions on the heat.

    Raises
    ------
    InputError
        Something typed cannot be taken, or nothing was asked.
    ReferenceDataError
        A polymer that is not on file: unknown plastic is not heated.

    Examples
    --------
    >>> answer = press(PressQuestion(weights="20 kg", area="36 cm^2"))
    >>> round(answer.load.pressure.likely / 1e3, 1)
    54.5
    """
    desk = Desk()
    piece = bench.get(Electrode, question.piece) if bench is not None and question.piece else None
    if piece is not None and piece.wetted_area is not None and not question.area.strip():
        question = replace(question, area=f"{1e4 * piece.wetted_area.value:.9g} cm^2")
    names = [question.mix, *_mixes(piece)]
    mixes = [mix_on_file(bench, n) for n in dict.fromkeys(names) if n] if bench is not None else []
    sheets = (one for mix in mixes for one in mix.sheets)
    question = replace(question, sheets=tuple(dict.fromkeys((*question.sheets, *sheets))))
    polymers = [*question.polymers, *(one for mix in mixes for one in mix.polymers)]
    wet = dict.fromkeys(one for mix in mixes for one in mix.liquids)
    solvents = tuple(question.solvents) or tuple(wet)
    load = _load(question, desk)
    plate = _plate(question, desk)
    heat = None if plate is None else _heat(question, plate, desk)
    window = tuple(window_of(name, question.sheets, desk) for name in dict.fromkeys(polymers))
    if load is None and heat is None and not window:
        raise RangeError(
            "nothing to work out", where="press",
            allowed="a force (--torque, --weights, --force, --gauge), a --plate, a --polymer or a --mix",
        )  # fmt: skip
    low, high = common_window(window, solvents)
    if cold := _cold(load, plate, low):
        desk.warnings.insert(0, cold)
    if piece is not None and (not _mixes(piece) or "" in _mixes(piece)):
        desk.warnings.insert(
            0,
            f"not every layer of {piece.name} names its mix: no heat until it is known what is in it",
        )
    named = question.piece or question.mix
    about = (named,) if named else tuple(dict.fromkeys(polymers)) or ("press",)
    return ProcessAnswer(
        headline=_headline(load, heat, plate, low, high, window),
        process="pressing",
        about=about,
        load=load,
        heat=heat,
        window=window,
        window_low=low,
        window_high=high,
        cautions=_cautions(question, about, polymers, solvents, plate, desk, _dry_of(piece, bench)),
        warnings=tuple(desk.warnings),
        assumed=tuple(desk.assumed),
        sources=_sources(desk, window),
        understood=tuple(desk.understood),
    )


def _mixes(piece: Electrode | None) -> tuple[str, ...]:
    """What the layers of a piece were coated with; "" for one that does not say it."""
    return () if piece is None else tuple(layer.batch or layer.mix for layer in piece.layers)


def _dry_of(
    piece: Electrode | None, bench: BenchFile | None
) -> tuple[Weighings | None, int | None]:
    """The weighings in the log of a piece, and the wait its scale needs in minutes."""
    if piece is None or bench is None:
        return None, None
    return stored_weighings(piece), wait_and_step(piece, scale_step(bench))[0]


def _cold(load: PressLoad | None, plate: float | None, low: float | None) -> str:
    """That this is a cold press and what that means; "" where the plate softens something."""
    warm = "" if low is None else f"; heat begins to bind at {low - ZERO_CELSIUS:.0f} °C"
    if plate is None:
        return (
            f"no plate temperature is given, so this is a cold press: {COLD_PRESS}{warm}"
            if load
            else ""
        )
    if low is None or plate >= low:
        return ""
    return f"a plate of {plate - ZERO_CELSIUS:.0f} °C softens nothing here, so this is a cold press: {COLD_PRESS}{warm}"


def _sources(desk: Desk, window: Sequence[PolymerWindow]) -> tuple[str, ...]:
    named = [k for w in window for k in (w.softens_source, w.line_source) if k]
    sheets = tuple(dict.fromkeys(k for k in named if k.startswith("data sheet: ")))
    return (*sheets, *sources_of(desk.assumed, *(k for k in named if k not in sheets)))


def _diameter(text: str, desk: Desk) -> float | None:
    """Nominal diameter of a thread: "M8", "8 mm", "3/8 in" [m]."""
    metric = re.fullmatch(r"\s*[mM]\s*(\d+(?:[.,]\d+)?)\s*", text)
    if metric:
        desk.understood.append(f"screw: M{metric[1]}, a thread of {metric[1]} mm")
        return float(metric[1].replace(",", ".")) * 1e-3
    return desk.above_zero(text, "m", "screw")


def _load(question: PressQuestion, desk: Desk) -> PressLoad | None:
    force = _force(question, desk)
    if force is None:
        return None
    forces, how = force
    area = desk.above_zero(question.area, "m^2", "area")
    if area is None:
        raise RangeError(
            "the pressed area is missing", where="area", allowed='as in --area "36 cm^2"',
            next_step="the coated patch, where the plates are wider than it",
        )  # fmt: skip
    low, likely, high = (pressing.mean_pressure(f, area, question.clamps) for f in forces)
    least, most = ends_of(
        desk.take(process_figure("plate", "pressure_over_mean"), "pressure at a spot over the mean")
    )
    return PressLoad(
        force=band_of(low * area, likely * area, high * area, "N", "all clamps together"),
        pressure=band_of(low, likely, high, "Pa", "mean over the area"),
        spread=band_of(least * low, None, most * high, "Pa", "at a spot"),
        area=area,
        how=how,
    )


def _force(question: PressQuestion, desk: Desk) -> tuple[tuple[float, float, float], str] | None:
    """Lowest, likely and highest force of one clamp [N], and how it is known."""
    given = [
        word for word in ("torque", "weights", "force", "gauge") if getattr(question, word).strip()
    ]
    if not given:
        return None
    if len(given) > 1:
        raise RangeError(
            f"{' and '.join(given)} are given", where="press", allowed="one of them",
            next_step="keep the one that was read",
        )  # fmt: skip
    if given == ["torque"]:
        return _by_torque(question, desk)
    if given == ["weights"]:
        mass = desk.needed(question.weights, "kg", "weights")
        force = pressing.weight_force(mass)
        return (force, force, force), "weights"
    if given == ["force"]:
        force = desk.needed(question.force, "N", "force")
        return (force, force, force), "force as read"
    pressure = desk.needed(question.gauge, "Pa", "gauge")
    ram = desk.above_zero(question.ram, "m^2", "ram")
    if ram is None:
        raise RangeError(
            "the area of the ram is missing", where="ram", allowed='as in --ram "5 cm^2"',
            next_step="it stands on the jack, or follows from the diameter of its piston",
        )  # fmt: skip
    force = pressing.gauge_force(pressure, ram)
    return (force, force, force), "dial and ram"


def _by_torque(question: PressQuestion, desk: Desk) -> tuple[tuple[float, float, float], str]:
    torque = desk.with_unit(question.torque, "N*m", "torque", '"40 in-lb" or "4.5 N m"')
    diameter = _diameter(question.screw, desk)
    if torque is None or diameter is None:
        raise RangeError(
            "the thread is missing", where="screw", allowed='as in --screw M8 or --screw "3/8 in"',
            next_step="measure across the thread with calipers",
        )  # fmt: skip
    lead = desk.above_zero(question.lead, "m", "lead")
    if lead is None:
        row = desk.take(process_figure("thread", "nut_factor", question.thread), "nut factor", "--thread dry|greased, --lead")  # fmt: skip
        low, high = ends_of(row)
        hard, usual, easy = (
            pressing.clamp_force(torque, k, diameter) for k in (high, (low * high) ** 0.5, low)
        )
        return (hard, usual, easy), f"torque on a thread, {question.thread}"
    foot = desk.read(question.foot, "m", "foot") or 0.0
    row = desk.take(process_figure("thread", "friction_coefficient"), "friction in the screw")
    low, high = ends_of(row)
    hard, usual, easy = (
        pressing.screw_force(
            torque, mean_diameter=diameter - 0.5 * lead, lead=lead, friction=f,
            collar_diameter=foot, collar_friction=f,
        )
        for f in (high, (low * high) ** 0.5, low)
    )  # fmt: skip
    return (hard, usual, easy), "torque on a clamp screw"


def _plate(question: PressQuestion, desk: Desk) -> float | None:
    plate = desk.with_unit(question.plate, "K", "plate", '"85 degC" or "185 F"')
    if plate is not None or not question.dots:
        return plate
    row = process_figure("iron", "sole_plate_temperature", f"dots={question.dots}")
    desk.take(row, f"sole of an iron at {question.dots} dots", "--plate")
    desk.warnings.append(
        "the dots of an iron tell its highest temperature only: measure the plate itself"
    )
    return row.high


def _heat(question: PressQuestion, plate: float, desk: Desk) -> FilmHeat:
    start = desk.above_zero(question.start, "K", "start") or _ROOM
    after = desk.above_zero(question.time, "s", "time")
    thickness = desk.above_zero(question.thickness, "m", "thickness")
    if thickness is None:
        row = desk.take(
            process_figure("coat", "film_thickness"), "thickness with its mesh", "--thickness"
        )
        thin, thick = ends_of(row)
    else:
        thin = thick = thickness
    carries = ends_of(
        desk.take(process_figure("coat", "thermal_conductivity"), "heat through the coat")
    )
    holds = ends_of(
        desk.take(process_figure("coat", "volumetric_heat_capacity"), "heat the coat takes up")
    )
    quick, slow = _to_film(question, desk)
    ends = ((thin, carries[1], holds[0], quick), (thick, carries[0], holds[1], slow))
    times = [
        heating.warm_up_time(
            share=0.95, thickness=t, conductivity=k, heat_capacity=c, resistance=r,
            plates=question.plates,
        )
        for t, k, c, r in ends
    ]  # fmt: skip
    coldest = None
    if after is not None:
        cold = [
            heating.film_temperature(
                after, plate=plate, start=start, thickness=t, conductivity=k, heat_capacity=c,
                resistance=r, plates=question.plates,
            )[0]
            for t, k, c, r in ends
        ]  # fmt: skip
        coldest = band_of(min(cold), None, max(cold), "K", "plane that warms last")
    desk.warnings.append(
        "the film follows within seconds to minutes: what lags is the plate, so measure the plate itself"
    )
    return FilmHeat(
        plate=plate, after=after, coldest=coldest,
        follows_in=band_of(times[0], None, times[1], "s", "95 % of the way to the plate"),
    )  # fmt: skip


def _to_film(question: PressQuestion, desk: Desk) -> tuple[float, float]:
    """Lowest and highest thermal resistance from plate to film [m^2 K/W]."""
    least, most = ends_of(
        desk.take(
            process_figure("contact", "thermal_contact_resistance"), "contact of plate and film"
        )
    )
    sheet = desk.read(question.release, "m", "release sheet") or 0.0
    if sheet <= 0.0:
        return heating.to_the_plate(least), heating.to_the_plate(most)
    row = process_figure(question.release_of, "thermal_conductivity")
    low, high = ends_of(desk.take(row, f"heat through {question.release_of}"))
    return heating.to_the_plate(least, sheet, high), heating.to_the_plate(most, sheet, low)


def _polymer(name: str, limit: tuple[float, str] | None) -> Polymer:
    if limit is None:
        return Polymer(name=name, substance=name)
    return Polymer(name=name, substance=name, sheet_limit=limit[0], sheet=limit[1])


def _cautions(
    question: PressQuestion,
    about: tuple[str, ...],
    polymers: Sequence[str],
    solvents: tuple[str, ...],
    plate: float | None,
    desk: Desk,
    of_piece: tuple[Weighings | None, int | None],
) -> tuple[Caution, ...]:
    """What can hurt at the press; nothing where no plate is hot."""
    if plate is None:
        return ()
    weighings, wait = of_piece
    if question.weighed.strip():
        parts = [p for p in re.split(r"\s*[,;]\s+", question.weighed.strip()) if p]
        if len(parts) != 3:
            raise UnitError(
                f"{question.weighed!r} is not two weighings and a time", where="weighed",
                allowed='as in "12.43 g, 12.42 g, 15 min"',
            )  # fmt: skip
        weighings = Weighings(
            first=desk.needed(parts[0], "kg", "weighed"),
            second=desk.needed(parts[1], "kg", "weighed"),
            interval=desk.needed(parts[2], "s", "time between"),
            coating=desk.above_zero(question.coating, "kg", "coating"),
            area=desk.above_zero(question.area, "m^2", "area"),
        )
    kept = tuple(
        _polymer(name, sheet_limit(reference.resolve(name), question.sheets, desk))
        for name in dict.fromkeys(polymers)
    )
    hot = Heating(
        name="press",
        plate_temperature=plate,
        last_solvents=solvents,
        weighings=weighings,
        wait=wait,
    )
    return cautions_for(Situation(about=about, polymers=kept, heatings=(hot,)))


def _celsius(kelvin: float) -> str:
    return f"{kelvin - ZERO_CELSIUS:.0f} °C"


def _headline(
    load: PressLoad | None,
    heat: FilmHeat | None,
    plate: float | None,
    low: float | None,
    high: float | None,
    window: Sequence[PolymerWindow],
) -> str:
    parts: list[str] = []
    if load is not None and load.pressure.low is not None and load.pressure.high is not None:
        parts.append(_shown_pressure(load.pressure.low, load.pressure.high))
    if window:
        parts.append(_place(plate, low, high))
    if heat is not None and heat.follows_in.high is not None and len(parts) < 2:
        parts.append(f"the film follows the plate within {shown_time(heat.follows_in.high)}")
    text = "; ".join(parts)
    return text[:1].upper() + text[1:]


def _shown_pressure(low: float, high: float) -> str:
    unit, scale = ("MPa", 1e6) if high >= 3e5 else ("kPa", 1e3)
    if high <= 1.001 * low:
        return f"{units.plain(low / scale)} {unit} on average"
    return f"{units.plain(low / scale)} to {units.plain(high / scale)} {unit} on average"


def _place(plate: float | None, low: float | None, high: float | None) -> str:
    if high is None or low is None:
        return "no window: a figure is missing"
    span = f"{_celsius(low)} to {_celsius(high)}"
    if low >= high:
        return f"no window: softens at {_celsius(low)}, line at {_celsius(high)}"
    if plate is None:
        return f"plate window {span}"
    if plate >= high:
        return f"plate {_celsius(plate)} is AT OR ABOVE the line, window {span}"
    if plate < low:
        return f"plate {_celsius(plate)} is below softening, window {span}"
    return f"plate {_celsius(plate)} lies in the window {span}"
