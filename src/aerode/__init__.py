"""aerode: from powders to an air cathode that is shown to be better, and a battery that runs a load."""

from __future__ import annotations

__version__ = "0.1.0"
