"""Colours: readable in light and in dark.

Source: W3C, Web Content Accessibility Guidelines 2.1 (2018), success criterion 1.4.3 (contrast 4.5)
and the definitions of relative luminance and contrast ratio.
"""

from __future__ import annotations

import pytest

from aerode.report.tokens import DARK, LIGHT, TONES_DARK, TONES_LIGHT, token_css


def _luminance(colour: str) -> float:
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _contrast(a: str, b: str) -> float:
    high, low = sorted((_luminance(a), _luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_of_black_on_white() -> None:
    """The formula gives the 21 to 1 that the guideline states for black on white."""
    assert _contrast("#000000", "#ffffff") == pytest.approx(21.0)


@pytest.mark.parametrize(
    ("colours", "tones"), [(LIGHT, TONES_LIGHT), (DARK, TONES_DARK)], ids=["light", "dark"]
)
def test_text_and_tones_are_readable(colours: dict[str, str], tones: tuple[str, ...]) -> None:
    """Every text colour and every tone has a contrast of 4.5 on every ground it stands on."""
    for ground in ("paper", "sheet"):
        for text in (*tones, colours["ink"], colours["faint-ink"], colours["link"]):
            assert _contrast(text, colours[ground]) >= 4.5, (text, ground)
    for level in ("stop", "first", "note"):
        assert _contrast(colours[f"{level}-ink"], colours[f"{level}-wash"]) >= 4.5
        assert _contrast(colours["ink"], colours[f"{level}-wash"]) >= 4.5


def test_paper_is_light_whatever_the_screen_is() -> None:
    """Dark colours come for a screen alone, and never for a page that is white on purpose."""
    asked, _, _ = token_css().partition(DARK["ink"])

    assert asked.count("@media") == 1
    assert "@media screen and (prefers-color-scheme:dark)" in asked
    assert DARK["ink"] not in token_css(dark_too=False)
    assert LIGHT["ink"] in token_css(dark_too=False)
