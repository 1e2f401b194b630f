"""Characters that an output cannot hold, written with those it can: "→" becomes "->", "°" "deg "."""

from __future__ import annotations

import codecs
import unicodedata

__all__ = ["ERRORS", "plain"]

ERRORS = "aerode.plain"
"""The name of the error handler, for `errors=` of a stream."""

_PLAIN = {
    "→": "->", "←": "<-", "↔": "<->", "⇌": "<=>", "≤": "<=", "≥": ">=", "≈": "~", "≠": "!=", "∥": "||",
    "±": "+-", "×": "x", "·": "*", "⋅": "*", "−": "-", "–": "-", "—": "-", "‑": "-", "…": "...", "•": "*",
    "°": "deg ", "µ": "u", "μ": "u", "Ω": "ohm", "∞": "infinite", "√": "sqrt", "∂": "d", "∇": "grad",
    "Σ": "sum", "Δ": "d", "α": "alpha", "β": "beta", "γ": "gamma", "δ": "delta", "ε": "epsilon", "ζ": "zeta",
    "η": "eta", "θ": "theta", "κ": "kappa", "λ": "lambda", "ν": "nu", "π": "pi", "ρ": "rho", "σ": "sigma",
    "τ": "tau", "φ": "phi", "χ": "chi", "ψ": "psi", "ω": "omega", "ξ": "xi", "Φ": "Phi", "Π": "Pi", "Γ": "Gamma",
    "Λ": "Lambda", "Θ": "Theta", "‰": " per mille", "“": '"', "”": '"', "„": '"', "‘": "'", "’": "'", "«": '"',
    "»": '"', "ß": "ss", "æ": "ae", "Æ": "Ae", "ø": "o", "Ø": "O", "œ": "oe", "ł": "l", "Ł": "L", "€": "EUR",
    "£": "GBP", "§": "section ", "✓": "yes", "✗": "no", "′": "'", "″": '"', "⁻": "-", "⁺": "+", "∝": "~", "∈": "in",
    "∫": "int", "ℓ": "l", "█": "#", "▏": "|", "│": "|", "─": "-",
    "├": "+", "└": "+", "⌈": "[", "⌉": "]", "⌊": "[", "⌋": "]",
}  # fmt: skip


def plain(text: str) -> str:
    """A text in the nearest ASCII characters.

    >>> plain("25 °C → 0.45 ± 0.01 mA/cm²")
    '25 deg C -> 0.45 +- 0.01 mA/cm2'
    """
    return "".join(_of(character) for character in text)


def _of(character: str) -> str:
    if character.isascii():
        return character
    if character in _PLAIN:
        return _PLAIN[character]
    apart = unicodedata.normalize("NFKD", character)
    kept = "".join(_PLAIN.get(c, c) for c in apart if not unicodedata.combining(c))
    return "".join(c for c in kept if c.isascii()) or "?"


def _replace(problem: UnicodeError) -> tuple[str, int]:
    if not isinstance(problem, UnicodeEncodeError):
        raise problem
    return plain(problem.object[problem.start : problem.end]), problem.end


codecs.register_error(ERRORS, _replace)
