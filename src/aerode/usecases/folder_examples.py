"""What a folder of notes may hold: each file with a line as an example, and all of them as a folder to begin from.

Everything in it is invented: it shows how lines are written, not what anybody measured.
"""

from __future__ import annotations

import io
import zipfile
from dataclasses import dataclass

__all__ = ["EXAMPLES", "ExampleFile", "example_folder"]

_MOMENT = (1980, 1, 1, 0, 0, 0)  # the earliest a zip can hold: equal folders are equal bytes


@dataclass(frozen=True, slots=True)
class ExampleFile:
    """One file of a folder: its name, what one line of it is, its headings and lines."""

    name: str
    holds: str
    heading: str
    lines: tuple[str, ...]

    @property
    def text(self) -> str:
        """As it stands in the file."""
        return "\n".join((self.heading, *self.lines) if self.heading else self.lines) + "\n"


EXAMPLES = (
    ExampleFile("bench.toml", "whose bench it is", "", ('title = "Example shed"', 'currency = "EUR"')),
    ExampleFile("instruments.csv", "one meter, resistor, scale or thermometer", "name;sort;nominal resistance (ohm);tolerance",
                ("example meter;multimeter;;", "100 ohm;resistor;100;5 %", "33 ohm;resistor;33;5 %", "10 ohm;resistor;10;5 %")),
    ExampleFile("powders.csv", "one lot of a powder", "name;substance;function;moisture",
                ("example char;biochar;active carbon;7 %",)),
    ExampleFile("solutions.csv", "one jar of binder in its liquid", "name;polymer;liquid",
                ("example jar;PVB;ethanol: 100 %",)),
    ExampleFile("solvents.csv", "one bottle of a solvent", "name;substance", ("example spirit;ethanol",)),
    ExampleFile("meshes.csv", "one mesh", "name;material", ("example mesh;stainless steel",)),
    ExampleFile("aluminium.csv", "one sheet or lot of aluminium", "name", ("example sheet",)),
    ExampleFile("electrolytes.csv", "one batch of salt water or lye", "name;salt;mass fraction",
                ("example brine;sodium chloride;3.5 %",)),
    ExampleFile("mixes.csv", "one recipe, by its dry shares", "name;wanted", ('example mix;"example char: 80 %; example jar: 20 %"',)),
    ExampleFile("electrodes.csv", "one piece", "name;recipe;mesh;wetted area (cm2)",
                ("E1;example mix;example mesh;9.2", "E2;example mix;example mesh;9.4")),
    ExampleFile("cells.csv", "one cell: which piece, opposite what", "name;electrode;aluminium;electrolyte;gap (mm)",
                ("cell E1;E1;example sheet;example brine;4", "cell E2;E2;example sheet;example brine;4")),
    ExampleFile("runs.csv", "one run, without its readings", "name;electrode;cell;meter;started",
                ("E1 loads;E1;cell E1;example meter;3.5.2025",)),
    ExampleFile("runs/E1 loads.csv", "the readings of the run of that name", "load;voltage (V);waited (s)",
                ("open;1.12;120", "100 ohm;0.81;90", "33 ohm;0.62;90", "10 ohm;0.37;90")),
    ExampleFile("rooms.csv", "one room, for the cautions", "name;volume (m3)", ("example shed;30",)),
    ExampleFile("claims.csv", "one claim, said before the first reading", "name;question;margin;made",
                ("example claim;Is E1 better than E2?;1.10;1.5.2025",)),
)  # fmt: skip
"""Every file that most folders need; `docs/how-to/bench-folder.md` names the rest."""


def example_folder() -> bytes:
    """A zip of a folder that can be handed in as it is, to be filled with one's own lines.

    Returns
    -------
    bytes
        The same bytes each time.
    """
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        for one in EXAMPLES:
            made.writestr(zipfile.ZipInfo(f"example-folder/{one.name}", _MOMENT), one.text)
    return out.getvalue()
