"""aerode: from powders to an air cathode that is shown to be better, with nobody hurt.

The Python API: the names in `__all__`, read when they are first used.

    import aerode

    fit = aerode.fit_table("readings.csv", aerode.FitQuestion(area="9.5 cm^2"))
    with aerode.BenchFile.open("mybench.aerode") as bench:
        answer = aerode.compare(bench, at_voltage=0.45, by="binder")
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from aerode.errors import AerodeError
    from aerode.properties import lookup
    from aerode.quantities import Quantity
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.bench_import import import_folder
    from aerode.usecases.cautions import CautionQuestion, what_can_hurt
    from aerode.usecases.compare import compare
    from aerode.usecases.fit import FitQuestion, fit_bench_run, fit_table
    from aerode.usecases.mix import MixQuestion, mix_with_cautions

__all__ = [
    "AerodeError",
    "BenchFile",
    "CautionQuestion",
    "FitQuestion",
    "MixQuestion",
    "Quantity",
    "compare",
    "fit_bench_run",
    "fit_table",
    "import_folder",
    "lookup",
    "mix_with_cautions",
    "what_can_hurt",
]

_HOMES = {
    "AerodeError": "aerode.errors",
    "BenchFile": "aerode.store.bench_file",
    "CautionQuestion": "aerode.usecases.cautions",
    "FitQuestion": "aerode.usecases.fit",
    "MixQuestion": "aerode.usecases.mix",
    "Quantity": "aerode.quantities",
    "compare": "aerode.usecases.compare",
    "fit_bench_run": "aerode.usecases.fit",
    "fit_table": "aerode.usecases.fit",
    "import_folder": "aerode.usecases.bench_import",
    "lookup": "aerode.properties",
    "mix_with_cautions": "aerode.usecases.mix",
    "what_can_hurt": "aerode.usecases.cautions",
}


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"aerode has no {name!r}; it has {', '.join(__all__)}")
    return getattr(import_module(_HOMES[name]), name)


def __dir__() -> list[str]:
    return sorted(__all__)
