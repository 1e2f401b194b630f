"""What differs between the recipes that were read by their own record: dry shares as weighed, and the pressing."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import AerodeError
from aerode.measure.mix.composition import compose
from aerode.records.materials import PowderLot, Solution
from aerode.records.mixes import Batch, Mix
from aerode.usecases.mix import scale_of, shelf_of
from aerode.usecases.next_mixes import active_layers, lot_for, plate_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from aerode.records.electrodes import Electrode, Press
    from aerode.store.bench_file import BenchFile

    Pieces = Mapping[str, Sequence[Electrode]]

__all__ = ["MOST_FACTORS", "OnRecord", "factors_on_record"]

MOST_FACTORS = 5  # judgement
"""Taken at once: with more, few builds tell none of them."""
_BEYOND = 2.0 * math.sqrt(2.0)  # judgement
"""A difference of two is one beyond so many standard uncertainties of each: twice that of the difference."""
_LEAST_SHARE = 0.001  # judgement
"""Shares are written to a tenth of a per cent at best."""
_STEPS = (0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1)


@dataclass(frozen=True, slots=True, kw_only=True)
class OnRecord:
    """The factors that the record tells, each with the setting of every recipe.

    Parameters
    ----------
    settings : dict of factor to (dict of recipe to setting)
        As they are written: "12 %", "85 °C"; those that differ most first, shares before the pressing.
    rest : tuple of str
        Lots that give way to the others and are no factor.
    unsaid : tuple of str
        In words what differs, or may, and cannot be taken.
    """

    settings: dict[str, dict[str, str]] = field(default_factory=dict[str, dict[str, str]])
    rest: tuple[str, ...] = ()
    unsaid: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Told:
    """One number of each recipe with its standard uncertainty, and how it is written."""

    value: dict[str, float]
    uncertainty: dict[str, float]

    @property
    def reach(self) -> float:
        return max(self.value.values()) - min(self.value.values())

    @property
    def differs(self) -> bool:
        return self.reach > _BEYOND * max(self.uncertainty.values()) and self.reach > 0.0


def factors_on_record(bench: BenchFile, pieces: Pieces, typed: Sequence[str] = ()) -> OnRecord:
    """What differs between recipes by the weighings of their pots and the settings of their presses.

    Parameters
    ----------
    bench : BenchFile
    pieces : mapping of recipe to its electrodes
        Those that were read.
    typed : sequence of str
        Factors that people entered: what they are about is not told twice.

    Returns
    -------
    OnRecord
        A share differs where its highest and its lowest lie further apart than twice the standard
        uncertainty of their difference. What a mix calls its rest gives way; where none does, the lot
        with the largest share of those that differ.
    """
    shares, unsaid = _shares(bench, pieces)
    lots: dict[str, PowderLot | Solution] = {
        lot.name: lot for cls in (PowderLot, Solution) for lot in bench.all(cls)
    }
    about = {lot_for(name, lots, shares) for name in typed}
    differing = {name: told for name, told in shares.items() if told.differs}
    rest = _rest(bench, pieces, differing)
    kept = sorted(
        (name for name in differing if name not in rest and name not in about),
        key=lambda name: -differing[name].reach,
    )
    found = {name: _written_shares(differing[name]) for name in kept}
    found = {name: those for name, those in found.items() if len(set(those.values())) > 1}
    plate_typed = bool(plate_of(dict.fromkeys(typed, "1 °C")))
    for name, those, why in _pressing(pieces):
        if name in typed or (name == _PLATE and plate_typed):
            continue
        if why:
            unsaid.append(why)
        elif those:
            found[name] = those
    return OnRecord(
        settings=found, rest=tuple(name for name in rest if found), unsaid=tuple(unsaid)
    )


def _shares(bench: BenchFile, pieces: Pieces) -> tuple[dict[str, _Told], list[str]]:
    """Dry share of every lot in every recipe; a recipe without a mix takes all shares out."""
    each: dict[str, dict[str, tuple[float, float]]] = {}
    lacking: list[str] = []
    for recipe, those in pieces.items():
        found = [told for one in those if (told := _of_piece(bench, one))]
        if found:
            names = dict.fromkeys(name for told in found for name in told)
            each[recipe] = {name: _mean([told.get(name, (0.0, 0.0)) for told in found]) for name in names}  # fmt: skip
        else:
            lacking.append(recipe)
    if lacking:
        many = len(lacking) > 1
        said = f"what {', '.join(lacking)} {'are' if many else 'is'} mixed of is not on record: no share is taken"
        return {}, [said]
    names = list(dict.fromkeys(name for told in each.values() for name in told))
    nothing = (0.0, 0.0)
    return {
        name: _Told(
            {recipe: told.get(name, nothing)[0] for recipe, told in each.items()},
            {recipe: told.get(name, nothing)[1] for recipe, told in each.items()},
        )
        for name in names
    }, []


def _mean(told: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Mean share of several pots; the scale and the lots are the same, so their errors are not averaged out."""
    return sum(v for v, _ in told) / len(told), max(u for _, u in told)


def _of_piece(bench: BenchFile, piece: Electrode) -> dict[str, tuple[float, float]]:
    """Dry shares of the active layer with their uncertainties: as weighed, or as wanted where they agree."""
    for layer in active_layers(piece):
        pot = bench.find(Batch, layer.batch) if layer.batch else None
        name = pot.mix if pot else layer.mix
        mix = bench.find(Mix, name) if name else None
        portions = (pot.portions if pot else ()) or (mix.portions if mix else ())
        wanted = {share.of: share.fraction for share in mix.wanted} if mix else {}
        if not portions:
            if wanted:
                return {of: (share, 0.0) for of, share in wanted.items()}
            continue
        try:
            found = compose(portions, shelf_of(bench), scale_of(bench, "")[0], where=name)
        except AerodeError:
            continue
        told = {
            of: (share, found.share_uncertainty(of)) for of, share in found.dry_shares().items()
        }
        return {
            of: (wanted[of] if of in wanted and abs(wanted[of] - v) <= 2.0 * u else v, u)
            for of, (v, u) in told.items()
        }
    return {}


def _rest(bench: BenchFile, pieces: Pieces, differing: Mapping[str, _Told]) -> tuple[str, ...]:
    """What gives way: as the mixes say, else the largest of what differs; never all of it."""
    said = {
        name
        for those in pieces.values()
        for one in those
        for layer in active_layers(one)
        if (mix := bench.find(Mix, layer.mix) if layer.mix else None) is not None
        for name in mix.rest
    }
    named = tuple(name for name in differing if name in said)
    if not named and len(differing) > 1:
        named = (max(differing, key=lambda name: sum(differing[name].value.values())),)
    return named if len(named) < len(differing) else ()


def _written_shares(told: _Told) -> dict[str, str]:
    """Shares in per cent, rounded to what the weighing tells."""
    most = max(told.uncertainty.values())
    step = next((one for one in _STEPS if one >= most), _STEPS[-1])
    step = max(min(step, 0.25 * told.reach), _LEAST_SHARE)
    return {
        recipe: f"{units.plain(100.0 * step * round(value / step), 3)} %"
        for recipe, value in told.value.items()
    }


_PLATE = "plate temperature"


def _of_press(get: Callable[[Press], float | None]) -> Callable[[Electrode], float | None]:
    """The setting of the last pressing of a piece that names one."""

    def told(piece: Electrode) -> float | None:
        return next((v for press in reversed(piece.press) if (v := get(press)) is not None), None)

    return told


def _entry(name: str) -> Callable[[Press], float | None]:
    return lambda press: None if getattr(press, name) is None else getattr(press, name).value


def _thickness(piece: Electrode) -> float | None:
    return sum(piece.thickness) / len(piece.thickness) if piece.thickness else None


def _error_of(piece: Electrode, name: str) -> float:
    """Standard uncertainty of what is told of a piece: as entered, or the scatter of its readings."""
    if name == "thickness" and len(piece.thickness) > 1:
        middle = _thickness(piece) or 0.0
        return math.sqrt(
            sum((t - middle) ** 2 for t in piece.thickness) / (len(piece.thickness) - 1)
        )
    key = {_PLATE: "plate_temperature", "press force": "force", "press torque": "torque"}.get(name)
    entries = [getattr(press, key) for press in piece.press if getattr(press, key)] if key else []
    return max((entry.standard_uncertainty or 0.0 for entry in entries), default=0.0)


_NUMBERS: tuple[tuple[str, Callable[[Electrode], float | None], str, str], ...] = (
    (_PLATE, _of_press(_entry("plate_temperature")), "K", "°C"),
    ("press time", _of_press(lambda press: press.duration), "s", "min"),
    ("press force", _of_press(_entry("force")), "N", "N"),
    ("press torque", _of_press(_entry("torque")), "N*m", "N*m"),
    ("thickness", _thickness, "m", "mm"),
)
"""What of the making is a number: its name, where it stands, its unit in SI and on the bench."""


def _pressing(pieces: Pieces) -> list[tuple[str, dict[str, str], str]]:
    """Each setting of the making that differs: its name, the text of every recipe, or why it cannot be taken."""
    found: list[tuple[str, dict[str, str], str]] = []
    for name, get, unit, shown in _NUMBERS:
        told = {recipe: [v for one in those if (v := get(one)) is not None] for recipe, those in pieces.items()}  # fmt: skip
        if not any(told.values()):
            continue
        lacking = [recipe for recipe, values in told.items() if not values]
        if lacking:
            found.append(
                (name, {}, f"{name} is not on record for {', '.join(lacking)}: it is not taken")
            )
            continue
        means = {recipe: sum(values) / len(values) for recipe, values in told.items()}
        scatter = _scatter(told.values())
        errors = {r: max(scatter, *(_error_of(one, name) for one in those)) for r, those in pieces.items()}  # fmt: skip
        if _Told(means, errors).differs:
            texts = {r: f"{units.plain(units.convert(v, unit, shown), 3)} {shown}" for r, v in means.items()}  # fmt: skip
            if len(set(texts.values())) > 1:
                found.append((name, texts, ""))
    firm = {r: {p.firmness.value for one in those for p in one.press if p.firmness} for r, those in pieces.items()}  # fmt: skip
    words = {word for those in firm.values() for word in those}
    if len(words) == 2 and all(len(those) == 1 for those in firm.values()):
        found.append(
            ("firmness of the press", {r: next(iter(those)) for r, those in firm.items()}, "")
        )
    elif len(words) > 1:
        found.append(("firmness of the press", {}, "the firmness of the press differs, but not as two words of one each for every recipe: it is not taken"))  # fmt: skip
    return found


def _scatter(told: Iterable[Sequence[float]]) -> float:
    """Standard deviation between pieces of one recipe, pooled; 0 where none has two."""
    groups = [list(values) for values in told if len(values) > 1]
    squares = sum((v - sum(g) / len(g)) ** 2 for g in groups for v in g)
    freedom = sum(len(g) - 1 for g in groups)
    return math.sqrt(squares / freedom) if freedom else 0.0
