"""A change as people say it: "thickness +200 um", "binder +20 %", "saturation 50 %"."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from aerode import units
from aerode.errors import CannotTellError, InputError, RangeError
from aerode.measure.porous.change_words import as_typed

if TYPE_CHECKING:
    from aerode.measure.porous.recipe import Layer

__all__ = ["CHANGEABLE", "Change", "Changeable", "changed", "read_change", "setting"]

Floats = NDArray[np.float64]
Values = dict[str, Floats]
_Move = Callable[[Values, Floats, "Layer"], None]

_LEAST_VOID = 0.02  # judgement: less void than this counts as filled
_SAME = 1e-12  # numerical


@dataclass(frozen=True, slots=True, kw_only=True)
class Changeable:
    """Something of an electrode that can be asked about.

    Parameters
    ----------
    unit : str
        SI unit; "" for a plain number or share.
    bare : str
        Unit of a number typed without one.
    shown : str
        Unit to show it in.
    low, high : float [unit]
        What can be asked for.
    means : str
        What is kept and what follows, in words.
    now : callable
        Drawn inputs and layer to the value as it is, shape (m,).
    move : callable
        Writes the new value into drawn inputs.
    """

    unit: str
    bare: str
    shown: str
    low: float
    high: float
    means: str
    now: Callable[[Values, Layer], Floats]
    move: _Move


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One change, read.

    Parameters
    ----------
    what : str
        A key of `CHANGEABLE`.
    amount : float
        New value [unit], step [unit], or factor [1].
    kind : str
        "to", "by" or "times".
    text : str
        As typed.
    understood : str
        How it was read.
    """

    what: str
    amount: float
    kind: str
    text: str
    understood: str


def _plain(name: str) -> tuple[Callable[[Values, Layer], Floats], _Move]:
    def now(values: Values, _: Layer) -> Floats:
        return values[name]

    def move(values: Values, new: Floats, _: Layer) -> None:
        values[name] = new

    return now, move


def _factor(name: str) -> tuple[Callable[[Values, Layer], Floats], _Move]:
    """Something that is only known relative to itself: 1 before."""

    def now(values: Values, _: Layer) -> Floats:
        return values.get(name, np.ones_like(values["thickness"]))

    def move(values: Values, new: Floats, _: Layer) -> None:
        values[name] = new

    return now, move


def _pressed(values: Values, new: Floats, _: Layer) -> None:
    """Another porosity at the same mass: the layer is pressed, or swells."""
    solid = values["thickness"] * (1.0 - values["porosity"])
    values["porosity"] = new
    values["thickness"] = solid / (1.0 - new)


def _mass_factor(share: float, new: Floats) -> Floats:
    """By how much the mass of one part grows, all others kept, for another dry mass share."""
    return np.asarray(new / (1.0 - new) * (1.0 - share) / share)


def _binder(values: Values, new: Floats, layer: Layer) -> None:
    """Another binder share on the same skeleton of grains: the binder takes of the void."""
    grown = _mass_factor(_had(layer.binder_mass_share, "binder", layer), new)
    solid = 1.0 - values["porosity"]
    grains = solid * (1.0 - values["binder share"])
    binder = solid * values["binder share"] * grown
    void = 1.0 - grains - binder
    if float(np.median(void)) < _LEAST_VOID:
        raise CannotTellError(
            "so much binder fills the voids between the grains",
            where=layer.item,
            allowed="less binder than fills the voids: no gas gets in beyond it",
            next_step="`aerode mix` shows how the binder stands to the voids",
        )
    values["porosity"] = np.maximum(void, _LEAST_VOID)
    share = binder / (grains + binder)
    others = (1.0 - share) / (1.0 - values["binder share"])
    values["conductor share"] = values["conductor share"] * others
    values["carbon share"] = values["carbon share"] * others
    values["binder share"] = share


def _conductor(values: Values, new: Floats, layer: Layer) -> None:
    """Another share of conductor, all other masses kept, in a layer of the same thickness and voids."""
    grown = _mass_factor(_had(layer.conductor_mass_share, "conductor", layer), new)
    more = values["conductor share"] * (grown - 1.0)
    for name in ("binder share", "carbon share", "conductor share"):
        values[name] = values[name] / (1.0 + more)
    values["conductor share"] = values["conductor share"] * grown


def _had(share: float, what: str, layer: Layer) -> float:
    if not 0.0 < share < 1.0:
        raise CannotTellError(
            f"there is no {what} in it to change",
            where=layer.item,
            allowed="a part that the mix holds, with its function on the shelf",
        )
    return share


def _mass_share(name: str) -> Callable[[Values, Layer], Floats]:
    return lambda values, layer: np.full_like(values["thickness"], getattr(layer, name))


_THICK, _SATURATION, _TORTUOUS = (
    _plain("thickness"),
    _plain("saturation"),
    _plain("extra tortuosity"),
)
_AIR, _FILM, _GRAIN = _plain("still air"), _plain("film transfer"), _plain("grain radius")
_LIQUID, _ACTIVITY, _CONDUCTS = (
    _plain("liquid conductivity"),
    _factor("activity"),
    _factor("conduction"),
)
_VOID = _plain("porosity")[0]

CHANGEABLE: dict[str, Changeable] = {
    "thickness": Changeable(
        unit="m", bare="mm", shown="mm", low=1e-5, high=5e-3, now=_THICK[0], move=_THICK[1],
        means="more or fewer coats of the same layer: porosity and recipe kept, loading follows",
    ),  # judgement
    "porosity": Changeable(
        unit="", bare="", shown="%", low=0.05, high=0.95, now=_VOID, move=_pressed,
        means="pressed harder or less at the same mass: the thickness follows",
    ),  # judgement
    "saturation": Changeable(
        unit="", bare="", shown="%", low=0.01, high=0.99, now=_SATURATION[0], move=_SATURATION[1],
        means="share of the pores that liquid fills; gas paths, liquid paths, wetted area and film follow",
    ),  # judgement
    "binder": Changeable(
        unit="", bare="", shown="%", low=0.001, high=0.8, now=_mass_share("binder_mass_share"), move=_binder,
        means="dry mass share of binder, plasticiser and wax; the skeleton of grains is kept, binder takes of its voids",
    ),  # judgement
    "conductor": Changeable(
        unit="", bare="", shown="%", low=0.001, high=0.9, now=_mass_share("conductor_mass_share"), move=_conductor,
        means="dry mass share of the conductor; all other masses, thickness and porosity kept",
    ),  # judgement
    "conduction": Changeable(
        unit="", bare="", shown="", low=1e-3, high=1e4, now=_CONDUCTS[0], move=_CONDUCTS[1],
        means="electronic conductivity of the layer, relative to what it is",
    ),  # judgement
    "activity": Changeable(
        unit="", bare="", shown="", low=1e-3, high=1e4, now=_ACTIVITY[0], move=_ACTIVITY[1],
        means="exchange current, relative to what it is: a better catalyst or more of its surface",
    ),  # judgement
    "tortuosity": Changeable(
        unit="", bare="", shown="", low=1.0, high=20.0, now=_TORTUOUS[0], move=_TORTUOUS[1],
        means="detour of the pores on top of what the porosity says",
    ),  # judgement
    "grain": Changeable(
        unit="m", bare="um", shown="um", low=1e-9, high=1e-3, now=_GRAIN[0], move=_GRAIN[1],
        means="radius of the wet grains; their amount and surface activity kept",
    ),  # judgement
    "film": Changeable(
        unit="1/s", bare="1/s", shown="1/s", low=0.01, high=1e6, now=_FILM[0], move=_FILM[1],
        means="transfer of oxygen through the wet film",
    ),  # judgement
    "still air": Changeable(
        unit="m", bare="mm", shown="mm", low=1e-5, high=0.1, now=_AIR[0], move=_AIR[1],
        means="still air in front of the air face: a fan makes it thin",
    ),  # judgement
    "electrolyte conductivity": Changeable(
        unit="S/m", bare="S/m", shown="S/m", low=0.01, high=200.0, now=_LIQUID[0], move=_LIQUID[1],
        means="conductivity of the liquid alone; its oxygen kept",
    ),  # judgement
}  # fmt: skip


def read_change(text: str) -> Change:
    """A typed change.

    Parameters
    ----------
    text : str
        What, then a step with a sign ("thickness +200 um"), a share of itself with a sign
        ("binder +20 %"), or the new value ("saturation 50 %"); or as one says it ("200 um thicker",
        "20 % more binder", "flooded by half").

    Returns
    -------
    Change

    Raises
    ------
    InputError
        Nothing of that name can be changed (the near ones are named), or no number.
    RangeError
        A number that cannot be.

    Examples
    --------
    >>> read_change("thickness +200 um").understood
    'thickness by +0.2 mm'
    >>> read_change("binder +20 %").understood
    'binder times 1.2'
    >>> read_change("saturation 50 %").understood
    'saturation to 50 %'
    """
    what, amount = _split(as_typed(text), text)
    known = CHANGEABLE[what]
    signed = amount[:1] in "+-−" and bool(amount)
    relative = signed and amount.rstrip().endswith("%")
    times = amount[:1] in "x×"
    if relative or times:
        factor = _times(amount, text, relative=relative)
        return Change(
            what=what, amount=factor, kind="times", text=text, understood=f"{what} times {factor:g}"
        )
    value = _value(amount.replace("−", "-"), known, text)
    kind = "by" if signed else "to"
    if kind == "to" and not known.low <= value <= known.high:
        per_cent = known.shown == "%" and known.low <= value / 100.0 <= known.high  # by definition
        raise RangeError(
            f"{text!r} cannot be", where="--change",
            allowed=f"{_shown(known.low, known)} to {_shown(known.high, known)}",
            next_step=f"with its sign: {what} {value:g} %" if per_cent else "",
        )  # fmt: skip
    step = "+" if kind == "by" and value >= 0 else ""
    return Change(what=what, amount=value, kind=kind, text=text,
                  understood=f"{what} {kind} {step}{_shown(value, known)}")  # fmt: skip


def setting(what: str, value: float) -> Change:
    """The change to a value, for a sweep.

    Parameters
    ----------
    what : str
        A key of `CHANGEABLE`.
    value : float [its unit]

    Returns
    -------
    Change
    """
    said = f"{what} {_shown(value, CHANGEABLE[what])}"
    return Change(what=what, amount=value, kind="to", text=said, understood=said)


def _shown(value: float, known: Changeable) -> str:
    if known.shown == "%":
        return f"{100 * value:.4g} %"
    return f"{units.convert(value, known.unit, known.shown):.4g} {known.shown}".strip()


def _split(read: str, text: str) -> tuple[str, str]:
    words = read.replace("=", " ").split()
    for count in range(min(2, len(words)), 0, -1):
        name = " ".join(words[:count]).casefold()
        if name in CHANGEABLE:
            rest = " ".join(words[count:])
            if not rest:
                break
            return name, rest
    first = words[0].casefold() if words else ""
    near = get_close_matches(first, CHANGEABLE, n=2, cutoff=0.5)
    if first in CHANGEABLE:
        raise InputError(f"{text!r} says what, but not how much", where="--change",
                         allowed='as in "thickness +200 um" or "saturation 50 %"')  # fmt: skip
    hint = f"; did you mean {' or '.join(near)}?" if near else ""
    raise InputError(
        f"{text!r} names nothing that this model can change{hint}",
        where="--change",
        allowed=", ".join(CHANGEABLE),
        next_step="what a new catalyst or another powder does is not computed: build it and measure",
    )


def _times(amount: str, text: str, *, relative: bool) -> float:
    plain = amount.replace("−", "-").rstrip("% ").lstrip("x×")
    number, unit = units.read_number(plain)
    if unit:
        raise InputError(f"{text!r} cannot be read", where="--change",
                         allowed='a share of itself, as in "binder +20 %" or "activity x2"')  # fmt: skip
    factor = 1.0 + number / 100.0 if relative else number
    if not 0.0 < factor < 1e4:  # judgement: a slip beyond it
        raise RangeError(f"{text!r} leaves nothing", where="--change", allowed="more than -100 %")
    return factor


def _value(amount: str, known: Changeable, text: str) -> float:
    """A share may be typed as 50 % or 0.5; what carries a unit is read in it."""
    bare = (known.bare,) if known.bare else ()
    return units.read(amount, known.unit, bare=bare, field=text).value


def changed(values: Mapping[str, Floats], layer: Layer, changes: tuple[Change, ...]) -> Values:
    """Drawn inputs after changes, one after the other.

    Parameters
    ----------
    values : mapping of str to ndarray, shape (m,)
    layer : Layer
    changes : tuple of Change

    Returns
    -------
    dict of str to ndarray, shape (m,)

    Raises
    ------
    RangeError
        At the middle of the draws the change leads outside what can be.
    CannotTellError
        There is nothing of the kind in the mix, or binder fills the voids.
    """
    new = {name: np.array(value, dtype=np.float64) for name, value in values.items()}
    for one in changes:
        known = CHANGEABLE[one.what]
        now = known.now(new, layer)
        wanted = {
            "to": np.full_like(now, one.amount),
            "by": now + one.amount,
            "times": now * one.amount,
        }[one.kind]
        middle = float(np.median(wanted))
        if not known.low * (1.0 - _SAME) <= middle <= known.high * (1.0 + _SAME):
            raise RangeError(
                f"{one.text!r} leads to {_shown(middle, known)}",
                where="--change",
                allowed=f"{_shown(known.low, known)} to {_shown(known.high, known)}",
            )
        known.move(new, np.clip(wanted, known.low, known.high), layer)
    return new
