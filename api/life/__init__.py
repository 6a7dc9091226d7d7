"""The whole life of a piece, ready-made: [life], cabinets and zones become explicit stages, and say what they assume.

`lived` is the one door. What it makes is the grammar that anybody could have written by hand.
"""

from __future__ import annotations

from api.life.living import drafts_of, lived

__all__ = ["drafts_of", "lived"]
