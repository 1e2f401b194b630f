"""What the process questions share: reading what was typed, what was assumed, what a mix brings along."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from aerode import properties, reference, units
from aerode.cautions.engine import assess
from aerode.errors import AerodeError, RangeError, ReferenceDataError, UnitError
from aerode.records.materials import PowderLot, Solution
from aerode.records.processes import Assumed, Band
from aerode.reference import PublishedRow, Status
from aerode.reference.process_figures import process_sources
from aerode.usecases.mix import MixQuestion, what_it_dries_to
from aerode.usecases.typed_area import sides_multiplied

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from aerode.cautions.situation import Situation
    from aerode.records.cautions import Caution
    from aerode.records.doses import MixAnswer
    from aerode.store.bench_file import BenchFile

__all__ = [
    "Desk",
    "MixOnFile",
    "band_of",
    "cautions_for",
    "ends_of",
    "is_published",
    "mix_on_file",
    "shares_of",
    "shown_time",
    "sources_of",
]

_BINDERS = {"binder", "wet-proofer", "plasticiser"}


@dataclass(slots=True)
class Desk:
    """Where typed texts become numbers: it keeps how each was understood, and what was assumed."""

    understood: list[str] = field(default_factory=list[str])
    assumed: list[Assumed] = field(default_factory=list[Assumed])
    warnings: list[str] = field(default_factory=list[str])

    def read(self, text: str, unit: str, what: str, bare: Sequence[str] = ()) -> float | None:
        """A typed text in `unit`, None for an empty one."""
        return self.typed(text, unit, what, bare).value if text.strip() else None

    def typed(
        self, text: str, unit: str, what: str, bare: Sequence[str] = (),
        plausible: tuple[float, float] | None = None,
    ) -> units.Typed:  # fmt: skip
        """The same with its uncertainty, for a text that is there."""
        asked = sides_multiplied(text) if unit == "m^2" else text
        typed = units.read(asked, unit, bare=bare, plausible=plausible, field=what)
        self.understood.append(f"{what}: {typed.understood}")
        return typed

    def above_zero(self, text: str, unit: str, what: str, bare: Sequence[str] = ()) -> float | None:
        """The same, refused where it is not above zero."""
        value = self.read(text, unit, what, bare)
        if value is not None and not value > 0.0:
            raise RangeError(f"{what} is {value:g}", where=what, allowed="above zero")
        return value

    def needed(self, text: str, unit: str, what: str, bare: Sequence[str] = ()) -> float:
        """The same for something that must be there."""
        value = self.above_zero(text, unit, what, bare)
        if value is None:
            raise RangeError(f"{what} is missing", where=what, allowed="a number with its unit")
        return value

    def with_unit(self, text: str, unit: str, what: str, example: str) -> float | None:
        """A number that must carry its unit, since a slip between two of them could hurt someone."""
        if text.strip() and not units.read_number(text)[1]:
            raise UnitError(
                f"{text!r} has no unit", where=what, allowed=f"a number with its unit, as in {example}",
                next_step="type the unit: °C and °F, or N m and in-lb, are far apart",
            )  # fmt: skip
        return self.above_zero(text, unit, what)

    def take(self, row: PublishedRow, what: str, give: str = "") -> PublishedRow:
        """Note that a figure was taken because nothing was given."""
        self.assumed.append(
            Assumed(
                what=what, taken=row.shown, source=row.source, status=row.status.value, give=give
            )
        )
        return row

    def say(self, what: str, taken: str, give: str = "", source: str = "common_practice") -> None:
        """Note an assumption that rests on no row."""
        self.assumed.append(Assumed(what=what, taken=taken, source=source, give=give))


@dataclass(frozen=True, slots=True, kw_only=True)
class MixOnFile:
    """What a mix of the bench brings along: liquids by mass share, solids, polymers, voids."""

    answer: MixAnswer
    liquids: dict[str, float]
    solids_fraction: float | None
    polymers: tuple[str, ...]
    porous: bool | None
    porosity: float | None
    solids_density: float | None
    sheets: tuple[str, ...] = ()
    """Heat limits of the data sheets of its lots, as "PVB=423.15 K, maker 2024"."""
    limits_at: tuple[tuple[str, str, str], ...] = ()
    """(polymer, kind, lot) of each, where the limit of its data sheet is entered."""


def mix_on_file(bench: BenchFile, name: str) -> MixOnFile:
    """What a mix of the bench brings along.

    Parameters
    ----------
    bench : BenchFile
        Open.
    name : str
        Of a mix or a batch.

    Returns
    -------
    MixOnFile

    Raises
    ------
    NotFoundError, InputError
        As for the mix itself.
    """
    answer = what_it_dries_to(bench, name, MixQuestion())
    masses = {n: e.value for n, e in answer.solvents_g.items() if e.value}
    total = sum(masses.values())
    fill = answer.pigment_volume_over_critical.value
    polymers = [
        part.substance for part in answer.dry if part.function in _BINDERS - {"plasticiser"}
    ]
    bound = [(part.of, part.substance) for part in answer.dry if part.substance in polymers]
    lots = [(polymer, *_lot(bench, of)) for of, polymer in bound]
    return MixOnFile(
        answer=answer,
        sheets=tuple(text for polymer, _, lot in lots if (text := _sheet(polymer, lot))),
        limits_at=tuple(
            (polymer, kind, lot.name) for polymer, kind, lot in lots if lot is not None
        ),
        liquids={n: m / total for n, m in masses.items()} if total else {},
        solids_fraction=answer.solids_fraction.value,
        polymers=tuple(dict.fromkeys(polymers)),
        porous=None if fill is None else fill > 1.0,
        porosity=answer.porosity.value,
        solids_density=_mean_density(answer),
    )


def _lot(bench: BenchFile, name: str) -> tuple[str, Solution | PowderLot | None]:
    """The kind of a lot and the lot; None where it is not on the bench."""
    jar = bench.find(Solution, name)
    return ("solution", jar) if jar is not None else ("powder", bench.find(PowderLot, name))


def _sheet(polymer: str, lot: Solution | PowderLot | None) -> str:
    """The heat limit of its data sheet as it is typed; "" where none is entered."""
    sheet = lot.data_sheet if lot is not None else None
    if sheet is None or sheet.heat_limit is None:
        return ""
    return f"{polymer}={sheet.heat_limit.value:.9g} K, {f'{sheet.title} {sheet.date}'.strip() or 'not named'}"


def _mean_density(answer: MixAnswer) -> float | None:
    """Density of all dry solids together [kg/m^3], from the published one of any part."""
    for part in answer.dry:
        mass, volume = part.mass_fraction.value, part.volume_fraction.value
        try:
            found = properties.lookup(part.substance, "density").quantity.value
        except AerodeError:
            continue
        if found and mass and volume:
            return found * volume / mass
    return None


def shares_of(texts: Iterable[str]) -> dict[str, float]:
    """Liquids as typed, "ethanol" or "toluene=0.6", by mass share.

    Parameters
    ----------
    texts : iterable of str
        As typed.

    Returns
    -------
    dict
        Name on file to share, adding up to 1.

    Raises
    ------
    ReferenceDataError
        A liquid that is not on file.
    RangeError
        Shares that are not above zero.

    Examples
    --------
    >>> shares_of(["ethanol=3", "water=1"])
    {'ethanol': 0.75, 'water': 0.25}
    """
    found: dict[str, float] = {}
    for text in texts:
        name, mark, share = text.partition("=")
        value = units.read(share, "", field="solvent").value if mark else 1.0
        if not value > 0.0:
            raise RangeError(f"a share of {value:g}", where="solvent", allowed="above zero")
        found[reference.resolve(name)] = value
    total = sum(found.values())
    return {name: value / total for name, value in found.items()}


def band_of(
    low: float | None, likely: float | None, high: float | None, unit: str, meaning: str = ""
) -> Band:
    """A band of the answer, predicted."""
    return Band(low=low, likely=likely, high=high, unit=unit, meaning=meaning)


def ends_of(row: PublishedRow) -> tuple[float, float]:
    """Both ends of a figure that may be a range or one value [unit of the row].

    Raises
    ------
    ReferenceDataError
        A row that gives only a bound, or numbers of an equation.

    Examples
    --------
    >>> from aerode.reference.process_figures import process_figure
    >>> ends_of(process_figure("PTFE", "thermal_conductivity"))
    (0.25, 0.25)
    """
    low = row.value if row.low is None else row.low
    high = row.value if row.high is None else row.high
    if low is None or high is None:
        raise ReferenceDataError("this row carries no two ends", where=row.where, allowed="a range")
    return low, high


def cautions_for(situation: Situation) -> tuple[Caution, ...]:
    """What can hurt in it, hardest first."""
    return assess(situation)


def sources_of(assumed: Iterable[Assumed], *keys: str) -> tuple[str, ...]:
    """The sources behind an answer as "key: text", each once.

    Examples
    --------
    >>> sources_of([], "nayar_2014")[0].startswith("nayar_2014: K. G. Nayar")
    True
    """
    named = [key for key in (*keys, *(a.source for a in assumed)) if key]
    found: list[str] = []
    for key in dict.fromkeys(named):
        entry = process_sources().get(key) or reference.source(key)
        found.append(f"{key}: {str(entry).removeprefix(': ')}")
    return tuple(found)


_UNITS = ((90.0, 1.0, "s"), (90.0 * 60.0, 60.0, "min"), (48.0 * 3600.0, 3600.0, "h"))


def shown_time(seconds: float) -> str:
    """A time for people, two digits.

    Examples
    --------
    >>> shown_time(45.0), shown_time(600.0), shown_time(1e4), shown_time(1e6)
    ('45 s', '10 min', '2.8 h', '12 days')
    """
    if seconds < 1.0:
        return "under 1 s"
    for limit, unit, name in _UNITS:
        if seconds < limit:
            return f"{_two(seconds / unit)} {name}"
    return f"{_two(seconds / 86400.0)} days"


def _two(value: float) -> str:
    return f"{value:.0f}" if value >= 9.95 else f"{value:.1f}".removesuffix(".0")


def is_published(row: PublishedRow | None) -> bool:
    """False for a figure from memory or practice, and for none."""
    return row is not None and row.status is not Status.UNVERIFIED
