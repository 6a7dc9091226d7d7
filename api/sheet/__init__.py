"""The shop sheet: one drawing of slab, steel, supports and lists, as DXF, and printed from it as PDF and SVG."""

from __future__ import annotations

from api.sheet.writing import write_matter, write_sheets

__all__ = ["write_matter", "write_sheets"]
