"""The design tokens: colours, sizes and spaces that pages, reports and figures share.

Eight tones for series, each readable as text on the paper in light and in dark (contrast at least
4.5, WCAG 2.1 success criterion 1.4.3; a test computes it).
"""

from __future__ import annotations

__all__ = ["DARK", "LIGHT", "TONES_DARK", "TONES_LIGHT", "token_css"]

LIGHT = {
    "paper": "#fbfaf6",
    "sheet": "#ffffff",
    "ink": "#1c2b33",
    "faint-ink": "#54636c",
    "rule": "#d5d8d3",
    "grid": "#e6e7e1",
    "wash": "#eef1ec",
    "link": "#0b5f74",
    "stop-ink": "#8f1622",
    "stop-wash": "#fbe9e7",
    "first-ink": "#7a4a00",
    "first-wash": "#fdf1da",
    "note-ink": "#3b4f5c",
    "note-wash": "#eaf0f3",
}
DARK = {
    "paper": "#12191d",
    "sheet": "#182126",
    "ink": "#e4eaec",
    "faint-ink": "#9fb0b8",
    "rule": "#33424a",
    "grid": "#26333a",
    "wash": "#1e2a30",
    "link": "#7cc7dc",
    "stop-ink": "#ffaaa5",
    "stop-wash": "#3a1a1d",
    "first-ink": "#f3c87a",
    "first-wash": "#352a14",
    "note-ink": "#b5c8d3",
    "note-wash": "#1d2a32",
}
TONES_LIGHT = (
    "#0b6e69",
    "#a3491b",
    "#3d5a99",
    "#5f6b12",
    "#7d3c7a",
    "#7a5b1f",
    "#4a5560",
    "#a12a42",
)
TONES_DARK = (
    "#5cc4bd",
    "#f0976a",
    "#9fb4ee",
    "#bcc75a",
    "#d79bd3",
    "#d9b36c",
    "#b6c1cb",
    "#f08fa2",
)


def _block(colours: dict[str, str], tones: tuple[str, ...]) -> str:
    names = {**colours, **{f"tone-{k}": tone for k, tone in enumerate(tones)}}
    return "".join(f"--{name}:{value};" for name, value in names.items())


def token_css(*, dark_too: bool = True) -> str:
    """The tokens as CSS custom properties, light and, on a screen that asks for it, dark; paper is light."""
    light, dark = _block(LIGHT, TONES_LIGHT), _block(DARK, TONES_DARK)
    tones = "".join(f".t{k}{{--tone:var(--tone-{k})}}" for k in range(8))
    if not dark_too:
        return f":root{{color-scheme:light;{light}}}{tones}"
    return f":root{{color-scheme:light dark;{light}}}@media screen and (prefers-color-scheme:dark){{:root{{{dark}}}}}{tones}"
