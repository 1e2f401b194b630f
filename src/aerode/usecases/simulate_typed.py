"""What is typed at `simulate`, read at the desk that all questions share: inputs, settings, the current asked about."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import InputError, RangeError
from aerode.measure.porous.answer import Sweep
from aerode.measure.porous.bands import Band, Form
from aerode.measure.porous.changes import CHANGEABLE, read_change
from aerode.measure.porous.recipe import input_units
from aerode.quantities import Basis

if TYPE_CHECKING:
    from aerode.usecases.process import Desk

__all__ = ["current_of", "known_of", "sweep_of"]

_AT = "2 mA/cm^2"
_MOST_STEPS = 60


def known_of(texts: tuple[str, ...], desk: Desk) -> dict[str, Band]:
    """Inputs that are known better than the bench says.

    Parameters
    ----------
    texts : tuple of str
        "saturation = 30 to 60 %", "thickness = 0.42 mm +- 0.02", "electrons = 3.5".
    desk : Desk
        Keeps how each was understood.

    Returns
    -------
    dict of str to Band

    Raises
    ------
    InputError
        No such input (all are named), or no number.
    RangeError
        Ends that do not rise.

    Examples
    --------
    >>> from aerode.usecases.process import Desk
    >>> band = known_of(("saturation = 30 to 60 %",), Desk())["saturation"]
    >>> band.low, band.high
    (0.3, 0.6)
    """
    return dict(_known(text, desk) for text in texts)


def _known(text: str, desk: Desk) -> tuple[str, Band]:
    name, sign, amount = text.partition("=")
    name = name.strip().casefold()
    plan = input_units()
    if not sign or name not in plan:
        raise InputError(
            f"{text!r} names no input of the model", where="--known", allowed=", ".join(plan),
            next_step='type it as in "saturation = 30 to 60 %"',
        )  # fmt: skip
    kept, bare = plan[name]
    unit = "V" if kept == "V/decade" else kept.replace("²", "^2").replace("³", "^3")

    def read(part: str) -> units.Typed:
        return desk.typed(part, unit, f"--known {name}", (bare,) if bare else ())

    ends = amount.split(" to ")
    if len(ends) != 2:
        typed = read(amount.strip())
        spread = typed.standard_uncertainty or 0.0
        return name, Band.bell(typed.value, spread, kept, Basis.ASSUMED, "typed")
    first, last = (end.strip() for end in ends)
    # the unit behind the second end is that of both
    if not units.read_number(first)[1]:
        first = f"{first} {units.read_number(last)[1]}"
    low, high = read(first).value, read(last).value
    if not low < high:
        raise RangeError(f"{text!r} does not rise", where="--known", allowed="low to high")
    form = Form.EVEN_IN_LOG if low > 0.0 and high > 3.0 * low else Form.EVEN  # judgement
    return name, Band(low=low, high=high, form=form, unit=kept, basis=Basis.ASSUMED,
                      source="typed")  # fmt: skip


def current_of(text: str, desk: Desk) -> float:
    """The current density asked about [A/m²]; 2 mA/cm² where nothing is typed.

    Parameters
    ----------
    text : str
    desk : Desk

    Returns
    -------
    float [A/m^2]

    Raises
    ------
    RangeError
        Not above zero.
    """
    bare = ("mA/cm^2",)
    if not text.strip():
        return units.read(_AT, "A/m^2").value
    found = desk.above_zero(text, "A/m^2", "--at", bare)
    assert found is not None
    return found


def sweep_of(vary: str, low: str, high: str, steps: int, desk: Desk) -> Sweep | None:
    """The settings that one thing is to go through; None where none was named.

    Parameters
    ----------
    vary : str
        What goes through settings.
    low, high : str
        The first and the last of them, as typed.
    steps : int
        How many.
    desk : Desk

    Returns
    -------
    Sweep or None

    Raises
    ------
    InputError
        Ends without --vary, or --vary without ends.
    RangeError
        Ends that do not rise.
    """
    if not vary:
        if low or high:
            raise InputError("from and to belong to --vary", where="--from, --to",
                             allowed="--vary thickness --from 0.1mm --to 0.6mm")  # fmt: skip
        return None
    what = vary.strip().casefold()
    if what not in CHANGEABLE:
        read_change(f"{what} 1")  # refuses with the nearest names
    if not (low and high) or not 2 <= steps <= _MOST_STEPS:
        raise InputError(
            f"how is {what} to vary?", where="--vary",
            allowed=f"--from and --to, with --steps 2 to {_MOST_STEPS}",
            next_step=f"as in --vary {what} --from ... --to ... --steps 6",
        )  # fmt: skip
    known = CHANGEABLE[what]
    bare = (known.bare,) if known.bare else ()
    first = desk.typed(low, known.unit, "--from", bare).value
    last = desk.typed(high, known.unit, "--to", bare).value
    if not first < last:
        raise RangeError(f"{low} to {high} does not rise", where="--from, --to",
                         allowed="a smaller one first")  # fmt: skip
    gaps = steps - 1
    settings = tuple(first + (last - first) * k / gaps for k in range(steps))
    return Sweep(what=what, settings=settings)
