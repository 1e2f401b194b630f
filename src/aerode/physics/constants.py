"""The constants of nature that the rooms of physics share: each has one definition, here.

Since 2019 the elementary charge, the Avogadro constant and the Boltzmann constant are exact by
definition of the SI, so that their products are exact too; the digits are those of the tables of
recommended values (codata_2018).
"""

from __future__ import annotations

__all__ = ["ATMOSPHERE", "FARADAY", "GAS_CONSTANT"]

FARADAY = 96485.33212  # C/mol, codata_2018 (exact: e N_A, to the digits shown)
GAS_CONSTANT = 8.314462618  # J/(mol K), codata_2018 (exact: k N_A, to the digits shown)
ATMOSPHERE = 101325.0  # Pa; standard atmosphere, by definition
