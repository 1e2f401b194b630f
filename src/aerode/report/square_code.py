"""A square code as a drawing: for labels, cards and sheets that a phone or a reader at the bench looks at."""

from __future__ import annotations

import segno

__all__ = ["code_svg"]


def code_svg(text: str) -> str:
    """A QR code (ISO/IEC 18004) of a text as an inline drawing, dark on white in every light.

    Parameters
    ----------
    text : str
        What it says.

    Returns
    -------
    str
        `<svg ...>` without a size of its own: the style gives it.
    """
    code = segno.make(text, error="m", micro=False)
    return code.svg_inline(
        border=2, light="#ffffff", dark="#000000", svgclass="code", lineclass=None, omitsize=True
    )
