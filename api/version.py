"""The program's version: one constant, so that an answer can name what made it even where nothing is installed."""

from __future__ import annotations

__all__ = ["VERSION"]

VERSION = "0.3.0"
