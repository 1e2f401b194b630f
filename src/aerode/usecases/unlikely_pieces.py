"""What is asked of an electrode before it is stored: heat past a line or on a wet coat, a coat too heavy."""

from __future__ import annotations

import statistics
from dataclasses import replace
from typing import TYPE_CHECKING

from aerode.cautions import lookup
from aerode.cautions.heating import heating_cautions
from aerode.physics.water import ZERO_CELSIUS
from aerode.records.cautions import CautionLevel, Finding
from aerode.records.electrodes import Electrode, Firmness
from aerode.usecases.believable import KILNS
from aerode.usecases.cautions import situation_of_press

if TYPE_CHECKING:
    from collections.abc import Iterator

    from aerode.records.cautions import Caution
    from aerode.records.electrodes import Coat, Press
    from aerode.store.bench_file import BenchFile

__all__ = [
    "ALLOWED",
    "ask_of_coat",
    "ask_of_piece",
    "ask_of_press",
    "cautions_past",
    "cautions_wet",
]

ALLOWED = "a plate below the lines of what is in the layer, heat on a dry coat, and coats like those before"
_HEAVIEST = 4.0  # judgement
"""[kg/m²]; 0.4 g/cm², as wet as a puddle of four millimetres: no brush or blade leaves it in one pass."""
_PLAIN_HEAVIEST = 0.05  # judgement
"""[kg] of one coat where nothing is known to hold it against."""
_UNLIKE = 5.0  # judgement
"""Times the usual coat of the same piece: nearer to a slip of the decimal mark than to a thick pass."""


def ask_of_press(bench: BenchFile, electrode: Electrode, press: Press) -> str:
    """What is asked before a pressing is stored as done; "" where it is cool enough, and the coat dry.

    Parameters
    ----------
    bench : BenchFile
        Open; knows what is in the layers.
    electrode : Electrode
        The piece.
    press : Press
        The pressing that is being entered. A kiln or furnace named with it says that its plate is meant
        so; that the coat is dry it does not say.

    Returns
    -------
    str
        Each caution as it stands before the act, then the question, a line each.
    """
    past, wet = cautions_past(bench, electrode, press), cautions_wet(bench, electrode, press)
    if not past and not wet:
        return ""
    told = "\n".join(_told(one) for one in (*past, *wet))
    plate = press.plate_temperature
    hot = "" if plate is None else f"{plate.value - ZERO_CELSIUS:.4g} °C"
    if past:
        return f"{told}\nA plate of {hot} would be stored as done. Was it so hot? If it is still to come, do not do it."
    return (
        f"{told}\nA hot pressing{f' at {hot}' if hot else ''} would be stored as done. Was it? If it is still to come, "
        "do not heat the piece yet."
    )


def cautions_wet(bench: BenchFile, electrode: Electrode, press: Press) -> tuple[Caution, ...]:
    """The cautions on heating a coat that holds solvent and is not known to be dry, as before the act.

    Parameters
    ----------
    bench : BenchFile
        Open; knows what the layers were wet with.
    electrode : Electrode
        The piece, with its weighings.
    press : Press
        Planned or being entered.

    Returns
    -------
    tuple of Caution
        Empty for a coat of water alone, a coat of constant weight, and a pressing that names nothing
        that heats: no plate temperature, no appliance, no word of heat.
    """
    pressed = replace(press, firmness=press.firmness or Firmness.FIRM)  # clamps alone are cold
    found = heating_cautions(situation_of_press(bench, electrode, pressed))
    return tuple(
        one for one in found if one.hazard == "dry enough" and one.finding is not Finding.BELOW
    )


def cautions_past(bench: BenchFile, electrode: Electrode, press: Press) -> tuple[Caution, ...]:
    """The cautions on a pressing whose plate is past a line of what is in the layer, as before the act.

    Parameters
    ----------
    bench : BenchFile
        Open; knows what is in the layers.
    electrode : Electrode
        The piece.
    press : Press
        Being typed. A kiln or furnace named with it says that it is meant so.

    Returns
    -------
    tuple of Caution
    """
    plate = press.plate_temperature
    said = f"{press.means} {press.note}".casefold()
    if plate is None or any(word in said for word in KILNS):
        return ()
    found = heating_cautions(situation_of_press(bench, electrode, press))
    return tuple(one for one in found if _past(one, plate.value))


def _past(caution: Caution, plate: float) -> bool:
    """Whether a plate of this temperature [K] is past a line: published, of a data sheet, or our own."""
    if caution.hazard not in {"polymer heat", "ignition by the plate"}:
        return False
    house = lookup.rule("heat_stop_temperature", "polymer or wax without a figure on file")
    over = house is not None and plate > house.value
    unknown = caution.finding is Finding.NO_FIGURE and caution.level is CautionLevel.STOP and over
    return caution.finding is Finding.ABOVE or unknown


def _told(caution: Caution) -> str:
    limit = f" ({caution.limit})" if caution.limit else ""
    return f"{caution.level.value} {caution.hazard}: {caution.headline}{limit}. {caution.do}"


def ask_of_coat(electrode: Electrode, coat: Coat) -> str:
    """What is asked of a coat that no pass of a brush or blade leaves; "" where it is like any other.

    Parameters
    ----------
    electrode : Electrode
        The piece, without this coat.
    coat : Coat
        Being entered.

    Returns
    -------
    str
        With the mass as it would be stored.
    """
    for how, mass in (("wet", coat.wet_mass), ("dry", coat.dry_mass)):
        if mass is not None and mass > 0.0 and (why := _unlike(electrode, how, mass)):
            return f"The coat would be stored with {1e3 * mass:.4g} g {how}: {why}. Is that its own mass, in grams?"
    return ""


def _unlike(electrode: Electrode, how: str, mass: float) -> str:
    others = [
        value
        for layer in electrode.layers
        for one in layer.coats
        if (value := one.wet_mass if how == "wet" else one.dry_mass)
    ]
    if others:
        usual = statistics.median(others)
        if not usual / _UNLIKE < mass < usual * _UNLIKE:
            return f"the others of this piece are about {1e3 * usual:.3g} g"
    if electrode.wetted_area is not None:
        spread = mass / electrode.wetted_area.value
        if spread > _HEAVIEST:
            return f"that is {0.1 * spread:.3g} g on every cm², more than a brush or blade leaves"
    elif mass > _PLAIN_HEAVIEST:
        return "more than a whole piece weighs"
    return ""


def ask_of_piece(bench: BenchFile, record: object, before: object = None) -> str:
    """The same of every pressing and coat that was not there before; "" of anything but an electrode."""
    if not isinstance(record, Electrode):
        return ""
    old = before if isinstance(before, Electrode) else None
    known = old.press if old else ()
    asked = [ask_of_press(bench, record, one) for one in record.press if one not in known]
    asked += [ask_of_coat(_without(record, coat), coat) for coat in _new_coats(record, old)]
    return "\n".join(dict.fromkeys(filter(None, asked)))


def _new_coats(record: Electrode, old: Electrode | None) -> Iterator[Coat]:
    known = [coat for layer in (old.layers if old else ()) for coat in layer.coats]
    yield from (coat for layer in record.layers for coat in layer.coats if coat not in known)


def _without(electrode: Electrode, coat: Coat) -> Electrode:
    layers = tuple(
        replace(layer, coats=tuple(one for one in layer.coats if one is not coat))
        for layer in electrode.layers
    )
    return replace(electrode, layers=layers)
