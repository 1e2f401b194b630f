"""`aerode process`: drying, dryness, pressing, wetting, making electrolyte up, reading a probe."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import click

from aerode.cli.console import bench_option, json_option, lines, print_answer

if TYPE_CHECKING:
    from collections.abc import Callable, Generator

    from aerode.records.processes import ProcessAnswer
    from aerode.store.bench_file import BenchFile

__all__ = ["command"]

_WIDTH = 80
_LONG = 2 * _WIDTH  # judgement: what a caution may take among a dozen lines
_THREADS = ["dry", "greased", "not said"]
_SHEETS = ["PTFE", "polyimide", "paper", "silicone"]


@click.group(
    "process",
    epilog="""Examples:

  aerode process drying --solvent ethanol --wet "1.4 g" --solids 18% --area "36 cm^2"

  aerode process dryness --weighed "12.43 g, 12.42 g, 15 min" --coating "2.1 g"

  aerode process pressing --torque "40 in-lb" --screw M8 --area "36 cm^2" --plate "185 F" --polymer PVB

  aerode process wetting --covering "paraffin wax" --share 40% --base "carbon black"

  aerode process electrolyte --salt NaCl --volume 500mL --mass-fraction 3.5%

  aerode process strength --salt NaCl --reading "52 mS/cm" --temperature "22 degC" """,
)
def command() -> None:
    """Drying time, dry enough to heat, press and plate window, wetting, electrolyte."""


@contextmanager
def _bench(path: str, name: str) -> Generator[BenchFile | None]:
    """The bench, only where something of it is named."""
    if not name:
        yield None
        return
    from aerode.store.bench_file import BenchFile

    with BenchFile.open(path, read_only=True) as store:
        yield store


def _notes(function: Callable[..., Any]) -> Callable[..., Any]:
    return click.option(
        "--notes", is_flag=True, help="Also print what was assumed and the sources."
    )(function)


@command.command("drying")
@click.option("--mix", default="", metavar="MIX", help="A mix or batch of the bench.")
@click.option("--solvent", "solvents", multiple=True, metavar="NAME[=SHARE]",
              help="What the coat is wet with; repeat it for a blend, with mass shares.")  # fmt: skip
@click.option("--liquid", default="", help="Mass of liquid in the coat.")
@click.option("--wet", default="", help="Mass of the wet coat; needs --solids.")
@click.option("--loading", default="", help='Dry loading, as in "25 mg/cm^2"; needs --solids.')
@click.option("--solids", default="", help="Dry mass over wet mass; from the mix if left out.")
@click.option("--area", default="", help='Coated area, as in "36 cm^2".')
@click.option("--faces", type=click.IntRange(1, 2), default=1, help="Faces open to the air.")
@click.option("--temperature", default="", help="Of the room.")
@click.option("--humidity", default="", help="Relative humidity, for water.")
@click.option("--air", type=click.Choice(["still", "draught", "fan"]), default="still",
              show_default=True, help="What the air does over it.")  # fmt: skip
@click.option("--air-speed", default="", help='Instead of --air, as in "0.2 m/s".')
@click.option("--lost", default="", help='What a scale saw, as in "0.2 g in 5 min": best of all.')
@click.option("--thickness", default="", help="Dry thickness.")
@click.option("--coat", type=click.Choice(["porous", "dense"]), default=None,
              help="Whether gas paths reach in (little binder) or the binder fills it.")  # fmt: skip
@click.option(
    "--grain", default="", help='Diameter of the finest grains, as in "2 um": a hint on cracks.'
)
@_notes
@bench_option
@json_option
def drying(mix: str, coat: str | None, notes: bool, bench: str, as_json: bool, **said: Any) -> None:
    """How long a wet coat takes to dry: a band, never one number.

    First the free liquid, between the slowest and the fastest published model; then the last
    solvent in the binder. A weigh-loss (--lost) is better than all models.

    Example: aerode process drying --solvent ethanol --wet "1.4 g" --solids 18% --area "36 cm^2"
    """
    from aerode.usecases.process_drying import DryingQuestion, time_to_dry

    question = DryingQuestion(mix=mix, coat=coat or "", **said)
    with _bench(bench, mix) as store:
        answer = time_to_dry(question, store)
    area = f' --area "{said["area"]}"' if said["area"] else ""
    more = f'aerode cautions "{mix}"{area}' if mix else ""
    print_answer(answer, _text(answer, notes=notes, more=more), as_json=as_json)


@command.command("dryness")
@click.argument("name", required=False, default="", metavar="[PIECE]")
@click.option("--weighed", required=True,
              help='Two masses and the time between, as in "12.43 g, 12.42 g, 15 min"; with three, equally far apart, it says when.')  # fmt: skip
@click.option("--coating", default="", help="Mass of the coating.")
@click.option("--area", default="", help="Coated area.")
@click.option("--scale", default="0.01 g", show_default=True, help="Smallest step of the scale.")
@click.option("--pieces", type=click.IntRange(1, 100), default=1, show_default=True,
              help="Like pieces weighed together; coating and area are of one.")  # fmt: skip
@_notes
@json_option
def dryness(name: str, notes: bool, as_json: bool, **said: Any) -> None:
    """Whether two weighings say that a coat is dry enough to think of heat.

    Example: aerode process dryness --weighed "12.43 g, 12.42 g, 15 min" --coating "2.1 g"
    """
    from aerode.usecases.process_dryness import DrynessQuestion, is_it_dry

    answer = is_it_dry(DrynessQuestion(name=name, **said))
    print_answer(answer, _text(answer, notes=notes), as_json=as_json)


@command.command("pressing")
@click.option(
    "--mix",
    default="",
    metavar="MIX",
    help="A mix or batch of the bench: its polymers and solvents.",
)
@click.option(
    "--piece",
    default="",
    metavar="ELECTRODE",
    help="A piece of the bench: its mixes, area and weighings, where they are not said.",
)
@click.option(
    "--polymer", "polymers", multiple=True, help="Polymer or wax in the layer. Repeat it."
)
@click.option("--solvent", "solvents", multiple=True, help="What the coat was wet with. Repeat it.")
@click.option(
    "--sheet",
    "sheets",
    multiple=True,
    metavar="NAME=LIMIT, SHEET",
    help="Heat limit of a data sheet. Repeat it.",
)
@click.option("--torque", default="", help='On one clamp, as in "40 in-lb" or "4.5 N m".')
@click.option("--screw", default="", help='Its thread, as in M8 or "3/8 in".')
@click.option(
    "--thread", type=click.Choice(_THREADS), default="not said", help="State of the thread."
)
@click.option("--lead", default="", help="Way of one turn of a clamp screw: reckons by the thread.")
@click.option("--foot", default="", help="Diameter of the foot that turns under load.")
@click.option("--clamps", type=click.IntRange(min=1), default=1, help="How many alike.")
@click.option("--weights", default="", help='Laid on top, as in "20 kg".')
@click.option("--force", default="", help="Read off a dial.")
@click.option("--gauge", default="", help='Pressure gauge of a jack, as in "600 psi"; needs --ram.')
@click.option("--ram", default="", help='Area of its piston, as in "5 cm^2".')
@click.option("--area", default="", help="Area that carries the load: the coat.")
@click.option("--plate", default="", help='Temperature of the plate itself, as in "185 F".')
@click.option(
    "--iron",
    "dots",
    type=click.IntRange(1, 3),
    default=None,
    help="Setting of a laundry iron in dots.",
)
@click.option("--start", default="", help="Temperature of the film before.")
@click.option("--time", default="", help='Under the plates, as in "5 min".')
@click.option("--thickness", default="", help="Of film and mesh.")
@click.option("--release", default="", help='Thickness of the release sheet, as in "0.1 mm".')
@click.option(
    "--release-of", type=click.Choice(_SHEETS), default="PTFE", help="What it is made of."
)
@click.option(
    "--plates",
    type=click.IntRange(1, 2),
    default=2,
    help="Hot plates; 1: cloth or wood on the other side.",
)
@click.option("--weighed", default="", help="Two weighings of the piece and the time between.")
@click.option("--coating", default="", help="Mass of the coating.")
@_notes
@bench_option
@json_option
def pressing(
    mix: str, piece: str, dots: int | None, notes: bool, bench: str, as_json: bool, **said: Any
) -> None:
    """Force and pressure of a press, how soon the film is warm, and the window of plate temperatures.

    A torque tells a force to a factor of two. The window runs from the softening of the binders to
    the lowest line on file; what is not on file is never a pass.

    Example: aerode process pressing --mix T5 --weights "20 kg" --area "36 cm^2" --plate "85 degC"
    """
    from aerode.usecases.process_pressing import PressQuestion, press

    question = PressQuestion(mix=mix, piece=piece, dots=dots or 0, **said)
    with _bench(bench, mix or piece) as store:
        answer = press(question, store)
    print_answer(answer, _text(answer, notes=notes), as_json=as_json)


@command.command("wetting")
@click.option("--covering", required=True, help="Wet-proofer or binder on the surface.")
@click.option("--share", default="", help="Share of the SURFACE it covers, as in 40%.")
@click.option("--base", default="carbon black", show_default=True, help="What it covers.")
@click.option("--covering-angle", default="", help="Contact angle of the covering, in degrees.")
@click.option("--base-angle", default="", help="Contact angle of the base, in degrees.")
@click.option("--pore", default="", help='Widest pore that goes through, as in "5 um".')
@click.option("--salt", default="", help="Salt of the electrolyte.")
@click.option("--mass-fraction", default="", help="Its strength.")
@click.option("--temperature", default="", help="Of the electrolyte.")
@click.option("--head", default="", help='Head of liquid it shall hold, as in "12 cm".')
@_notes
@json_option
def wetting(notes: bool, as_json: bool, **said: str) -> None:
    """The contact angle of a covered surface, and the head of liquid its widest pore holds.

    Example: aerode process wetting --covering "paraffin wax" --share 40% --pore "5 um"
    """
    from aerode.usecases.process_wetting import WettingQuestion, head_held

    answer = head_held(WettingQuestion(**said))
    print_answer(answer, _text(answer, notes=notes), as_json=as_json)


@command.command("electrolyte")
@click.option("--salt", required=True, help="Name, alias or CAS number; or sea water.")
@click.option("--volume", default="", help='How much, as in "500 mL".')
@click.option("--mass-fraction", default="", help='Salt over solution, as in "3.5%".')
@click.option("--molality", default="", help="Moles of salt per kilogram of water.")
@click.option("--molarity", default="", help="Moles of salt per litre of solution.")
@click.option("--per-100ml", default="", help="Grams of salt for each 100 mL of water.")
@click.option("--temperature", default="", help="At which it is measured out.")
@click.option("--assay", default="", help="Salt in what is weighed, as in 85%.")
@click.option("--stock", default="", help="Mass fraction of a stock to thin.")
@click.option("--was", default="", help="Top-up: what the liquid weighed when made.")
@click.option("--now", default="", help="Top-up: what it weighs now.")
@_notes
@json_option
def electrolyte(
    mass_fraction: str, molality: str, molarity: str, per_100ml: str, notes: bool, as_json: bool,
    **said: str,
) -> None:  # fmt: skip
    """The make-up sheet of an electrolyte, from salt or a stock; or the water that tops it up.

    Example: aerode process electrolyte --salt NaCl --volume 500mL --mass-fraction 3.5%
    """
    from aerode.usecases.lye_words import LYE_WORDS, is_lye
    from aerode.usecases.process_electrolyte import ElectrolyteQuestion, make_up

    strength = {
        "mass_fraction": mass_fraction, "molality": molality, "molarity": molarity,
        "grams_per_100_ml_water": per_100ml,
    }  # fmt: skip
    given = {word: text for word, text in strength.items() if text}
    answer = make_up(ElectrolyteQuestion(strength=given, **said))
    verdict, *rest = _text(answer, notes=notes)
    told = " ".join((*LYE_WORDS, "Common practice, no source: its safety data sheet comes first."))
    before = _folded("FIRST: ", told) if is_lye(said["salt"]) else []
    print_answer(answer, [verdict, *before, *rest], as_json=as_json)


@command.command("strength")
@click.option("--salt", required=True, help="Name, alias or CAS number; or sea water.")
@click.option("--reading", required=True, help='What the probe shows, as in "52 mS/cm".')
@click.option("--temperature", default="", help="Of the sample.")
@click.option("--calibration", default="", help="What the probe shows in potassium chloride.")
@click.option(
    "--calibration-molality", default="0.1", show_default=True, help="0.01, 0.1 or 1 mol/kg."
)
@click.option("--calibration-temperature", default="", help="Of the calibration solution.")
@_notes
@json_option
def strength(notes: bool, as_json: bool, **said: str) -> None:
    """The strength behind a conductivity reading of a cheap probe.

    Example: aerode process strength --salt NaCl --reading "52 mS/cm" --temperature "22 degC"
    """
    from aerode.usecases.process_electrolyte import StrengthQuestion, read_probe

    answer = read_probe(StrengthQuestion(**said))
    print_answer(answer, _text(answer, notes=notes), as_json=as_json)


def _folded(head: str, body: str) -> list[str]:
    """A paragraph with its first word standing out to the left."""
    folded = lines(body, width=_WIDTH - len(head))
    return [(head if i == 0 else " " * len(head)) + line for i, line in enumerate(folded)]


def _text(answer: ProcessAnswer, *, notes: bool, more: str = "") -> list[str]:
    """Verdict, what can hurt first, the figures, what to mind; assumptions counted, or with --notes listed.

    `more` is the command that lists every caution; without one `--notes` does.
    """
    from aerode.usecases.process_words import process_facts

    text = [answer.headline, *_cautions(answer, more, whole=notes and not more)]
    for label, said in process_facts(answer):
        text += _folded(f"{label}: ".ljust(9), said)
    for warning in answer.warnings[: None if notes else 1]:
        text += _folded("Mind:    ", f"{warning}.")
    if not notes:
        count = len(answer.assumed)
        counted = f"{count} thing{'' if count == 1 else 's'} not given, taken as --notes lists."
        return [*text, counted] if count else text
    for one in answer.assumed:
        give = f" ({one.give} replaces it)" if one.give else ""
        text += _folded("Taken:   ", f"{one.what}: {one.taken} [{one.source}, {one.status}]{give}")
    for source in answer.sources:
        text += _folded("Source:  ", source)
    for understood in answer.understood:
        text += _folded("Read as: ", understood)
    return text


def _cautions(answer: ProcessAnswer, more: str, *, whole: bool) -> list[str]:
    """The hardest caution in a line or two, and how to see the others; or all of them."""
    if whole:
        return [
            line
            for c in answer.cautions
            for line in _folded(f"{c.level}: ", f"{c.hazard}: {c.headline}. {c.do}")
        ]
    if not answer.cautions:
        return []
    first = answer.cautions[0]
    left = len(answer.cautions) - 1
    tail = f" {left} more: {more or 'the same command with --notes'}" if left else ""
    long = len(first.headline) > _LONG
    said = first.headline.partition("; ")[0] if long and left else first.headline
    return _folded(f"{first.level}: ", f"{first.hazard}: {said}.{tail}")
