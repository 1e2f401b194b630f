"""Published figures: a table per topic and one loader; every row names its source and its status.

    from aerode import reference
    reference.published("toluene", "flash_point").shown        '4 degC'
    reference.sources_for("toluene", "flash_point")            which sources know it
    reference.exposure_limits("toluene")                       limits, each in the unit of its body

Importing this package reads no table.
"""

from __future__ import annotations

from aerode.reference.figures import (
    all_rows,
    published,
    quantities_of,
    select,
    source,
    sources_for,
)
from aerode.reference.hazards import (
    ExposureLimit,
    FireFigures,
    HeatGates,
    exposure_limits,
    figure_end,
    fire_figures,
    hazard_remarks,
    hazard_rule,
    heat_gates,
)
from aerode.reference.loader import bibliography, load_table, quantity_words, table_names
from aerode.reference.materials import (
    BENCH_FUNCTIONS,
    BenchUse,
    WettedMetal,
    bench_uses,
    wetted_metals,
)
from aerode.reference.rows import (
    KNOWN_UNITS,
    HowRead,
    PublishedRow,
    Source,
    Status,
    UncertaintyKind,
    ValidRange,
)
from aerode.reference.substances import Substance, molar_mass, resolve, substance, substances

__all__ = [
    "BENCH_FUNCTIONS",
    "KNOWN_UNITS",
    "BenchUse",
    "ExposureLimit",
    "FireFigures",
    "HeatGates",
    "HowRead",
    "PublishedRow",
    "Source",
    "Status",
    "Substance",
    "UncertaintyKind",
    "ValidRange",
    "WettedMetal",
    "all_rows",
    "bench_uses",
    "bibliography",
    "exposure_limits",
    "figure_end",
    "fire_figures",
    "hazard_remarks",
    "hazard_rule",
    "heat_gates",
    "load_table",
    "molar_mass",
    "published",
    "quantities_of",
    "quantity_words",
    "resolve",
    "select",
    "source",
    "sources_for",
    "substance",
    "substances",
    "table_names",
    "wetted_metals",
]
