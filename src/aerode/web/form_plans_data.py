"""The forms themselves: what is asked of each kind of record, in which words."""

from __future__ import annotations

from aerode.web.form_shapes import Ask, Group, Widget

__all__ = ["PLANS", "QUESTIONS"]

_N, _P, _L, _D = Widget.NUMBER, Widget.PICK, Widget.LONG, Widget.DAY

QUESTIONS: dict[str, str] = {
    "powder": "Which powder is it?",
    "solution": "What is dissolved in what?",
    "solvent": "Which bottle of solvent?",
    "mesh": "Which mesh is it?",
    "electrolyte": "What is the cell wetted with?",
    "aluminium": "Which aluminium?",
    "instrument": "What do you measure with?",
    "room": "Where is the work done?",
    "mix": "What goes into the mix?",
    "batch": "What was really weighed?",
    "electrode": "Which electrode was made?",
    "cell": "What was put opposite what?",
    "claim": "What is to be shown, and by how much?",
}

_DOES = (
    ("conductor", "as carbon black"),
    ("active carbon", "pores, as char"),
    ("catalyst", "as manganese dioxide"),
    ("binder", "holds grains, as PVB"),
    ("wet-proofer", "keeps dry, as wax"),
    ("pore former", "leaves holes"),
    ("plasticiser", "softens the binder"),
    ("collector", "as the mesh"),
    ("separator", "between the two"),
    ("sealant", "closes the edge"),
    ("solvent", "thins, dries off"),
)
"""What each function of a material means, in a few words; common practice, no source."""
_STEPS = (("scale", "g"), ("thermometer", "°C"), ("calipers", "mm"))
_NOTE = Group("Note", (Ask("note", "Note", widget=_L),), later=True)
_PRICE = Group(
    "What it cost",
    (
        Ask("price.amount", "Price of the pack", "12.50", widget=_N),
        Ask("price.per_mass", "For how much", "500 g", bare="g"),
        Ask("price.per_volume", "or for how much", "1000", bare="mL"),
    ),
    why="Gives the cost of an electrode.",
    later=True,
)

_DATA_SHEET = Group(
    "Its data sheet",
    (
        Ask("data_sheet.title", "Maker and product, as printed"),
        Ask("data_sheet.date", "Date of the sheet", "1 March 2024"),
        Ask(
            "data_sheet.heat_limit",
            "Highest temperature that it allows",
            "150 °C",
            "Takes the place of the house rule on how hot a plate may be.",
            bare="°C",
        ),
    ),
    later=True,
)

PLANS: dict[str, tuple[Group, ...]] = {
    "powder": (
        Group(
            "The bag",
            (
                Ask("name", "Name on the label", "biochar A", wanted=True),
                Ask("substance", "What it is", "carbon black, biochar, manganese dioxide", wanted=True, known="powder"),
                Ask("function", "What it does in the electrode", wanted=True, meanings=_DOES,
                    why="One that does two things counts as what most of it is for."),
            ),
        ),
        Group(
            "Weighed or read off the bag",
            (
                Ask("moisture", "Moisture", "7 % ± 1 % (oven, 2 h)",
                    "Without it the dry composition carries a guessed moisture.", bare="%"),
                Ask("assay", "How pure", "92 % (published: label)",
                    "Turns powder mass into mass of the substance itself.", bare="%"),
                Ask("water_soluble", "Part that washes out", "2 %",
                    "Explains mass lost in the cell.", bare="%"),
                Ask("true_density", "True density", "1.9 g/cm^3", "Sharpens porosity.", bare="g/cm^3"),
                Ask("oil_absorption", "Oil absorption", "1.2 mL/g",
                    "Says whether the binder fills the voids.", bare="mL/g"),
                Ask("specific_surface", "Specific surface", "900 m^2/g", bare="m^2/g"),
                Ask("largest_grain", "Largest grain", "0.15 mm", "The thinnest even coat.", bare="mm"),
                Ask("recovered", "From an old battery?", why="Adds the cautions of used powders."),
            ),
            later=True,
        ),
        Group("How much is left", (Ask("stock", "Stock", "180 g", "Says when it runs short.", bare="g"),), later=True),
        _DATA_SHEET,
        _PRICE,
        Group("Where from", (Ask("supplier", "Supplier"), Ask("note", "Note", widget=_L)), later=True),
    ),
    "solution": (
        Group(
            "The jar",
            (
                Ask("name", "Name on the label", "PVB solution", wanted=True),
                Ask("polymer", "Polymer or wax", "PVB", wanted=True, known="polymer"),
                Ask("liquid", "Liquid", "ethanol; or ethanol: 70 %; acetone: 30 %", known="solvent"),
                Ask("label_solids", "Solids on the label", "10 %",
                    "A mix needs it; dried dishes tell it better.", bare="%"),
                Ask("function", "What it does in the electrode", meanings=_DOES),
            ),
        ),
        Group(
            "Dried dishes",
            (
                Ask("empty", "Empty dish", "5.213 g", bare="g"),
                Ask("wet", "With solution", "7.884 g", bare="g"),
                Ask("dried", "After drying", "5.476 g", bare="g"),
            ),
            why="Three dishes give the true solids with their uncertainty; the label is a guess.",
            repeats="dishes",
            blank_rows=3,
        ),
        Group(
            "Solids otherwise",
            (
                Ask("solids", "Solids, measured elsewhere", "9.8 % ± 0.3 %", bare="%"),
                Ask("plasticiser", "Plasticiser in the solids", "20 %", bare="%"),
                Ask("plasticiser_substance", "Which plasticiser"),
                Ask("dispersed", "Dispersed in water, not dissolved?"),
            ),
            later=True,
        ),
        Group(
            "Densities",
            (
                Ask("density", "Of the liquid in the jar", "0.81 g/cm^3",
                    "Lets you dose it by volume.", bare="g/cm^3"),
                Ask("dry_density", "Of its dry solids", "1.08 g/cm^3", bare="g/cm^3"),
            ),
            later=True,
        ),
        Group("How much is left", (Ask("stock", "Stock", "250 g", bare="g"),), later=True),
        _DATA_SHEET,
        _PRICE,
        _NOTE,
    ),
    "solvent": (
        Group(
            "The bottle",
            (
                Ask("name", "Name on the label", "ethanol bottle", wanted=True),
                Ask("substance", "What it is", "ethanol", wanted=True, known="solvent"),
            ),
        ),
        Group(
            "Measured",
            (
                Ask("density", "Density", "0.79 g/cm^3", bare="g/cm^3"),
                Ask("stock", "Stock", "400 g", bare="g"),
            ),
            later=True,
        ),
        _PRICE,
        _NOTE,
    ),
    "mesh": (
        Group(
            "The mesh",
            (
                Ask("name", "Name on the label", "steel 40", wanted=True),
                Ask("material", "Metal", "stainless steel mesh", wanted=True, known="metal"),
                Ask("coating", "Coating", "none, zinc, lacquer"),
                Ask("mass_per_area", "Mass per area", "48 mg/cm^2",
                    "Weigh a cut piece of known area: it gives the coat's own mass by difference.", bare="mg/cm^2"),
            ),
        ),
        Group(
            "Tests that tell it from its look-alikes",
            (
                Ask("magnetic", "Does a magnet hold it?"),
                Ask("lacquered", "Lacquered?", why="A lacquered mesh carries no current."),
                Ask("weave", "Weave", "plain"),
                Ask("wire_diameter", "Wire diameter", "0.16 mm", bare="mm"),
                Ask("pitch", "Pitch", "0.63 mm", bare="mm"),
                Ask("cleaned_with", "Cleaned with"),
            ),
            later=True,
        ),
        Group(
            "Strip resistance",
            (
                Ask("length", "Length", "10 cm", bare="cm"),
                Ask("width", "Width", "1 cm", bare="cm"),
                Ask("resistance", "End to end", "0.21 ohm", bare="ohm"),
            ),
            why="Shows how much voltage the mesh itself takes.",
            later=True,
            repeats="strips",
        ),
        _PRICE,
        _NOTE,
    ),
    "electrolyte": (
        Group(
            "The bottle",
            (
                Ask("name", "Name on the label", "salt water May", wanted=True),
                Ask("salt", "Salt", "NaCl", wanted=True),
                Ask("mass_fraction", "Salt by mass", "10 %",
                    "Gives conductivity, oxygen and freezing point.", bare="%"),
            ),
        ),
        Group(
            "Made up",
            (
                Ask("volume", "How much", "500 mL", bare="mL"),
                Ask("made", "When", widget=_D),
                Ask("note", "Note", widget=_L),
            ),
            later=True,
        ),
    ),
    "aluminium": (
        Group(
            "The piece",
            (
                Ask("name", "Name on the label", "foil roll", wanted=True),
                Ask("grade", "Grade", "not known, 1050, can body"),
                Ask("thickness", "Thickness", "0.1 mm", "Says how long it lasts.", bare="mm"),
                Ask("surface", "Surface", "sanded, lacquer removed"),
            ),
        ),
        _NOTE,
    ),
    "instrument": (
        Group(
            "The instrument",
            (
                Ask("name", "Name on the label", "meter 1, R 10", wanted=True),
                Ask("sort", "What it is", wanted=True),
            ),
        ),
        Group(
            "A resistor",
            (
                Ask("nominal_resistance", "Printed value", "10", bare="ohm"),
                Ask("tolerance", "Tolerance", "5", bare="%"),
                Ask("measured_resistance", "Measured", "10.2 ± 0.1",
                    "Halves the error of the current, often more.", bare="ohm"),
                Ask("power_rating", "Power rating", "0.25", "Warns before it gets hot.", bare="W"),
            ),
            why="Fill this in for a resistor.",
            sorts=("resistor",),
        ),
        Group(
            "Ranges of a meter",
            (
                Ask("name", "As printed at the knob", "2 V"),
                Ask("measures", "Measures", "voltage, current, resistance"),
                Ask("full_scale", "Full scale", "2 V"),
                Ask("count", "Last digit", "1 mV"),
                Ask("of_reading", "Error: of the reading", "0.5 %", bare="%"),
                Ask("counts", "Error: last digits", "2"),
                Ask("input_resistance", "Input resistance", "10 Mohm", bare="Mohm"),
                Ask("burden", "Resistance as an ammeter", "1.2 ohm",
                    "Shows how much the ammeter itself throttles the cell.", bare="ohm"),
            ),
            why="From the meter's sheet. Without it the usual cheap class is taken, and said so.",
            later=True,
            repeats="ranges",
            sorts=("multimeter", "logger"),
        ),
        Group(
            "A scale, thermometer or calipers",
            (
                Ask("resolution", "Smallest step", "0.01", bare_by_sort=_STEPS),
                Ask("limit_of_error", "Limit of error", "0.02", bare_by_sort=_STEPS),
            ),
            later=True,
            sorts=("scale", "thermometer", "calipers"),
        ),
        Group(
            "More",
            (
                Ask("assumed", "Figures of its class, not of its own sheet?"),
                Ask("bought", "Bought", widget=_D),
                Ask("note", "Note", widget=_L),
            ),
            later=True,
        ),
    ),
    "room": (
        Group(
            "The room",
            (
                Ask("name", "Name", "shed", wanted=True),
                Ask("volume", "Volume", "30 m^3", "Without it the vapour in the air cannot be judged.", bare="m^3"),
                Ask("airing", "How it is aired"),
                Ask("people", "Who is there"),
            ),
        ),
        Group(
            "Measured",
            (
                Ask("air_changes", "Air changes", "2 1/h ± 30 %", "Replaces a wide guess.", bare="1/h"),
                Ask("temperature", "Temperature", "21 °C", bare="°C"),
                Ask("humidity", "Relative humidity", "55 %", bare="%"),
                Ask("note", "Note", widget=_L),
            ),
            later=True,
        ),
    ),
    "mix": (
        Group("The mix", (Ask("name", "Name on the label", "T5", wanted=True),)),
        Group(
            "What went in, as it stands on the shelf",
            (
                Ask("of", "What", "biochar A", widget=_P, of="powder solution solvent"),
                Ask("shelf", "From which shelf"),
                Ask("mass", "Mass", "12.0 g", bare="g"),
                Ask("volume", "or volume", "30 mL", bare="mL"),
            ),
            why="Weigh it wet: moisture and solvent are taken off by calculation.",
            repeats="portions",
            blank_rows=4,
        ),
        Group(
            "Or what it shall dry to",
            (
                Ask("wanted", "Wanted dry shares", "biochar A: 85 %; PVB solution: 15 %"),
                Ask("solids_fraction", "Dry mass over wet mass", "18 %", bare="%"),
            ),
            later=True,
        ),
        Group("More", (Ask("after", "Grew out of", widget=_P, of="mix"), Ask("note", "Note", widget=_L)), later=True),
    ),
    "batch": (
        Group(
            "The pot",
            (
                Ask("name", "Name on the label", "T5 pot 2", wanted=True),
                Ask("mix", "Of which mix", widget=_P, of="mix", wanted=True),
                Ask("made", "When", widget=_D),
            ),
        ),
        Group(
            "As weighed",
            (
                Ask("of", "What", "biochar A", widget=_P, of="powder solution solvent"),
                Ask("shelf", "From which shelf"),
                Ask("mass", "Mass", "12.04 g", bare="g"),
                Ask("volume", "or volume", "30 mL", bare="mL"),
            ),
            why="Only where it differs from the mix.",
            later=True,
            repeats="portions",
            blank_rows=3,
        ),
        Group("More", (Ask("rested", "Rested", "12 h", bare="h"), Ask("note", "Note", widget=_L)), later=True),
    ),
    "electrode": (
        Group(
            "The electrode",
            (
                Ask("name", "Name on the label", "T6", wanted=True),
                Ask("wetted_area", "Wetted area", "9.5 cm^2 (ruler)",
                    "Every fair number is per area: an error here goes straight into it.", bare="cm^2"),
                Ask("recipe", "Recipe it belongs to", "T5", "A recipe is the mix with its mesh and its pressing. Pieces of one recipe count as builds of it."),
                Ask("recipe_state", "What it is made of"),
            ),
        ),
        Group(
            "The mesh, before the coat",
            (
                Ask("mesh", "Mesh", widget=_P, of="mesh"),
                Ask("mesh_mass", "Bare mesh alone", "0.46 g", bare="g"),
            ),
            why="Weigh the bare mesh first: once it is coated, nobody can. The piece less its mesh is the loading, the part that spreads most.",
        ),
        Group(
            "What was varied on purpose",
            (
                Ask("factors.binder", "Binder", "10 %"),
                Ask("factors.catalyst", "Catalyst", "magnetite"),
                Ask("factors.loading", "Loading", "25"),
            ),
            why="Lets a comparison tell the effect of one factor.",
            later=True,
        ),
        Group(
            "Layers, from the gas side",
            (
                Ask("role", "What for"),
                Ask("mix", "Mix", widget=_P, of="mix"),
                Ask("batch", "Pot", widget=_P, of="batch"),
                Ask("how", "How", "brush, blade"),
                Ask("dry_mass", "Dry mass of the coat", "0.24 g", bare="g"),
            ),
            repeats="layers",
        ),
        Group(
            "Pressings",
            (
                Ask("plate_temperature", "Plate", "100 °C ± 4 °C", bare="°C"),
                Ask("duration", "For", "3 min", bare="min"),
                Ask("force", "Force", "2 kN"),
                Ask("torque", "or torque", "9 in-lb"),
                Ask("firmness", "or only how firm"),
                Ask("means", "With what", "clamp"),
            ),
            later=True,
            repeats="press",
        ),
        Group(
            "Weighed and measured",
            (
                Ask("mass", "Finished piece", "0.71 g", "Gives the loading, the part that spreads most.", bare="g"),
                Ask("thickness", "Thickness, several places", "0.31 mm; 0.35 mm; 0.33 mm",
                    "Porosity after pressing, and how even it is.", bare="mm"),
                Ask("made", "Made", widget=_D),
            ),
            later=True,
        ),
        Group(
            "Edge and tab",
            (
                Ask("seal.sealant", "Sealant", "neutral silicone"),
                Ask("seal.cure_gives_off", "Gives off while curing", "acetic acid, alcohol"),
                Ask("tab.how", "Tab", "folded mesh"),
                Ask("tab.resistance", "Resistance of the tab", "0.05 ohm", bare="ohm"),
            ),
            later=True,
        ),
        Group(
            "What became of it",
            (
                Ask("outcome", "Outcome"),
                Ask("outcome_note", "What was seen"),
                Ask("control", "Is it the control?", why="Shows drift from day to day."),
                Ask("build", "Same piece as an earlier name", "T6",
                    "A washed or re-pressed piece is a later state, never a second piece."),
                Ask("note", "Note", widget=_L),
            ),
            later=True,
        ),
    ),
    "cell": (
        Group(
            "The cell",
            (
                Ask("name", "Name", "cell T6", wanted=True),
                Ask("electrode", "Electrode", widget=_P, of="electrode", wanted=True),
                Ask("aluminium", "Aluminium", widget=_P, of="aluminium"),
                Ask("electrolyte", "Electrolyte", widget=_P, of="electrolyte"),
            ),
        ),
        Group(
            "With a ruler",
            (
                Ask("aluminium_area", "Wetted aluminium", "20 cm^2",
                    "Says how much hydrogen it may give off: without it the caution cannot tell.", bare="cm^2"),
                Ask("gap", "Gap", "4 mm", "Says how much voltage the water takes.", bare="mm"),
            ),
        ),
        Group(
            "Measured",
            (
                Ask("sensing", "Where the voltage is read", why="Clips that carry the current add their own loss."),
                Ask("lead_resistance", "Resistance of the lead", "0.08 ohm", bare="ohm"),
                Ask("note", "Note", widget=_L),
            ),
            later=True,
        ),
    ),
    "claim": (
        Group(
            "The claim, before the result",
            (
                Ask("name", "Short name", "binder in May", wanted=True),
                Ask("question", "In a sentence", "Is 10 % binder better than 15 %?", wanted=True),
                Ask("factor", "Which factor", "binder"),
                Ask("margin", "Smallest ratio worth having", "1.10", widget=_N),
                Ask("builds", "How many separately built pieces of each", "3", widget=_N),
            ),
        ),
        Group(
            "More",
            (
                Ask("at", "At which cell voltage", "0.45 V"),
                Ask("looks", "How often you will look", "1", widget=_N),
                Ask("note", "Note", widget=_L),
            ),
            later=True,
        ),
    ),
}  # fmt: skip
