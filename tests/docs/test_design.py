"""The page on the visual language says what the tokens and the style files say.

Contrast: W3C, Web Content Accessibility Guidelines 2.1 (2018), definitions of relative luminance and contrast ratio,
success criterion 1.4.3 (4.5 for text).
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from aerode.report.tokens import DARK, LIGHT, TONES_DARK, TONES_LIGHT

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs/reference/design.md").read_text("utf-8")
STYLE = (ROOT / "src/aerode/web/static/pages.css").read_text("utf-8")
ROW = re.compile(r"^\| `([a-z0-9-]+)` \|(.*)\|$", re.MULTILINE)


def _luminance(colour: str) -> float:
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _contrast(a: str, b: str) -> float:
    high, low = sorted((_luminance(a), _luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_every_token_stands_there_with_its_colours() -> None:
    """No token is missing, none is left over, and light and dark are those of the code."""
    light = {**LIGHT, **{f"tone-{k}": tone for k, tone in enumerate(TONES_LIGHT)}}
    dark = {**DARK, **{f"tone-{k}": tone for k, tone in enumerate(TONES_DARK)}}
    told = {name: re.findall(r"#[0-9a-f]{6}", rest) for name, rest in ROW.findall(PAGE)}

    assert told == {name: [light[name], dark[name]] for name in light}


def test_every_contrast_is_the_computed_one_and_enough() -> None:
    """As WCAG defines it, to one decimal, at least 4.5."""
    for name, rest in ROW.findall(PAGE):
        cells = [cell.strip() for cell in rest.split("|")]
        numbers = [float(cell) for cell in cells if re.fullmatch(r"\d+\.\d", cell)]
        if not numbers:
            continue
        colours = re.findall(r"#[0-9a-f]{6}", rest)
        ground = next((c.strip("`") for c in cells if c.strip("`") in LIGHT), "paper")
        expected = [_contrast(colours[0], LIGHT[ground]), _contrast(colours[1], DARK[ground])]
        assert numbers == [pytest.approx(one, abs=0.051) for one in expected], name
        assert min(expected) >= 4.5, name


def test_sizes_are_those_of_the_style() -> None:
    """What the page says of type and of what is touched stands in the style file."""
    for size in ("1.5rem", "1.8rem", "1.12rem", "1.18rem", ".92rem", ".88rem", "2.2rem"):
        assert f"font-size: {size}" in STYLE, size
        assert size.removesuffix("rem").removeprefix("0").lstrip(".") in PAGE
    for height in ("min-height: 48px", "min-height: 44px", "min-height: 72px", "min-height: 64px"):
        assert height in STYLE
    assert "max-width: 820px" in STYLE
    for step in ("4px", "8px", "12px", "16px", "24px", "40px"):
        assert step in STYLE
