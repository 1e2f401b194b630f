"""`aerode property`: any reference figure with its uncertainty, range and source; what serves for what."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from aerode.cli.console import json_option, lines, print_answer

if TYPE_CHECKING:
    from aerode.records.properties import MaterialUse, PropertyList, PropertySheet, PropertyUses

__all__ = ["command"]

_WIDTH = 80


@click.command(
    "property",
    epilog="""Examples:

  aerode property conductivity --of NaCl --mass-fraction 3.5% --temperature "15 degC"

  aerode property flash_point --of toluene

  aerode property solubility --of PVB --in "ethanol=0.8" --in "water=0.2"

  aerode property --for conductor        what serves, its home test, its look-alikes

  aerode property --of KOH               what is on file for it""",
)
@click.argument("quantity", required=False, default="", metavar="[QUANTITY]")
@click.option("--of", default="", metavar="SUBSTANCE", help="Name, alias or CAS number.")
@click.option("--temperature", default="", help='As in "25 degC" or "77 F"; 25 degC where needed.')
@click.option("--pressure", default="", help='Barometric pressure of the place, as in "95 kPa".')
@click.option("--mass-fraction", default="", help='Salt over solution, as in "3.5%" or 0.035.')
@click.option("--molality", default="", help="Moles of salt per kilogram of water.")
@click.option("--molarity", default="", help="Moles of salt per litre of solution.")
@click.option("--per-100ml", default="", help="Grams of salt for each 100 mL of water.")
@click.option("--salinity", default="", help="Practical salinity, for sea water.")
@click.option("--product", default="", help="For emf: gibbsite, amorphous or aluminate.")
@click.option("--in", "solvents", multiple=True, metavar="LIQUID[=SHARE]",
              help="For solubility: the solvent; repeat it for a blend, with volume shares.")  # fmt: skip
@click.option("--source", default="", help="Only this source key.")
@click.option("--where", "conditions", multiple=True, metavar="WORD=VALUE",
              help='Only figures whose condition says so, as in "body=NIOSH REL". Repeat it.')  # fmt: skip
@click.option("--unit", default="", help="Show the value in this unit; --json stays in SI.")
@click.option("--for", "function", default="", metavar="FUNCTION",
              help="List what serves for a bench function: conductor, binder, collector ...")  # fmt: skip
@json_option
def command(
    quantity: str, of: str, temperature: str, pressure: str, mass_fraction: str, molality: str,
    molarity: str, per_100ml: str, salinity: str, product: str, solvents: tuple[str, ...],
    source: str, conditions: tuple[str, ...], unit: str, function: str, as_json: bool,
) -> None:  # fmt: skip
    """A reference property with its uncertainty, source, range and status.

    Outside the range it holds for, the value is still given and the range is named. Without
    QUANTITY or --of: what can be asked.
    """
    from aerode.usecases.property import PropertyQuestion, property_of
    from aerode.usecases.property_lists import what_can_be_asked, what_serves

    if function:
        _only_of(quantity, "--for")
        found = what_serves(function, of)
        print_answer(found, _uses(found, whole=bool(of)), as_json=as_json)
        return
    if not (quantity and of):
        listed = what_can_be_asked(quantity, of)
        print_answer(listed, _list(listed, quantity, of), as_json=as_json)
        return
    said = {
        "mass_fraction": mass_fraction, "molality": molality, "molarity": molarity,
        "grams_per_100_ml_water": per_100ml, "practical_salinity": salinity,
    }  # fmt: skip
    sheet = property_of(
        PropertyQuestion(
            quantity=quantity, of=of, temperature=temperature, pressure=pressure,
            strength={word: text for word, text in said.items() if text}, source=source,
            product=product, solvents=solvents, unit=unit, conditions=conditions,
        )
    )  # fmt: skip
    print_answer(sheet, _text(sheet), as_json=as_json)


def _only_of(quantity: str, option: str) -> None:
    if quantity:
        raise click.UsageError(f"{option} lists materials; leave QUANTITY out.")


def _folded(head: str, body: str) -> list[str]:
    """A paragraph with its first word standing out to the left."""
    folded = lines(body, width=_WIDTH - len(head))
    return [(head if i == 0 else " " * len(head)) + line for i, line in enumerate(folded)]


def _text(sheet: PropertySheet) -> list[str]:
    """The figure, what to mind, where it holds, where it comes from; the whole of it is in --json."""
    from aerode.usecases.property_facts import property_facts

    text = [sheet.headline]
    for label, said in property_facts(sheet, short=True):
        text += _folded(f"{label}: ".ljust(9), said)
    return text


def _list(listed: PropertyList, quantity: str, of: str) -> list[str]:
    text = [listed.headline]
    if of:
        one = listed.substances[0]
        names = ", ".join((*one.also, *(f"CAS {c}" for c in one.cas)))
        text += _folded("Also:     ", names) if names else []
        return text + _folded("Ask for:  ", ", ".join(listed.quantities))
    if quantity:
        text += _folded("Means:    ", next(iter(listed.quantities.values())))
        return text + _folded("On file:  ", ", ".join(s.name for s in listed.substances))
    kinds: dict[str, list[str]] = {}
    for substance in listed.substances:
        kinds.setdefault(substance.kind, []).append(substance.name)
    text += _folded("Ask for:  ", ", ".join(listed.quantities))
    for kind, names in kinds.items():
        text += _folded(f"{kind}: ", ", ".join(names))
    text += _folded("--for:    ", ", ".join(listed.functions))
    return [
        *text,
        "One of them: aerode property QUANTITY --of SUBSTANCE; --of alone lists its own.",
    ]


def _uses(found: PropertyUses, *, whole: bool) -> list[str]:
    text = [found.headline]
    for use in found.uses:
        text += _use(use, whole=whole or len(found.uses) == 1)
    if found.uses and not whole and len(found.uses) > 1:
        text.append(f'Whole entry: aerode property --for "{found.uses[0].function}" --of NAME')
    return text


def _use(use: MaterialUse, *, whole: bool) -> list[str]:
    name = f"{use.material}: "
    if not whole:
        return _folded(f"  {name}", use.serves)
    text = _folded(name, use.serves)
    parts: list[tuple[str, Any]] = [
        ("Home test:    ", use.home_test),
        ("Mistaken for: ", use.mistaken_for),
        ("Not for:      ", use.must_not_replace),
    ]
    for head, body in parts:
        text += _folded(f"  {head}", body)
    for wet in use.wetted:
        said = f"unloaded: {wet.unloaded}; loaded: {wet.loaded}; {wet.effect} [{wet.source}]"
        text += _folded(f"  In {wet.electrolyte}: ", said)
    return [*text, f"  Source: {use.source} ({use.status})"]
