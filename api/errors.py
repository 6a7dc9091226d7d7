"""What is wrong with a case: what, where, and how to put it right; every fault found is reported at once.

`where` is a path into the case as its writer sees it ("stage[2].support[0].gap", counting from 0), so that a page or an
editor can point at it. A slab that tips is an answer, not an error.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["CaseError", "Problem"]


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault: where it is, what it is, what would put it right."""

    where: str
    what: str
    fix: str

    def __str__(self) -> str:
        """One line for a terminal."""
        place = f"{self.where}: " if self.where else ""
        remedy = f" - {self.fix}" if self.fix else ""
        return f"{place}{self.what}{remedy}"


class CaseError(Exception):
    """A case that cannot be read or makes no sense; problems has at least one entry."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        """Keep the problems in the order in which they are to be read."""
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))

    def __reduce__(self) -> tuple[type[CaseError], tuple[tuple[Problem, ...]]]:
        """Pickle by the problems, so that the error crosses a process boundary whole."""
        return type(self), (self.problems,)
