"""The version, in one place; the build reads it from here."""

from __future__ import annotations

__all__ = ["VERSION"]

VERSION = "0.1.0"
