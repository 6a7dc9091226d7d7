"""What would help, computed: each piece of advice is a changed case that has been solved.

`advice_from` is the one door.
"""

from __future__ import annotations

from api.advice.advising import MOST_SOLVES, advice_from

__all__ = ["MOST_SOLVES", "advice_from"]
