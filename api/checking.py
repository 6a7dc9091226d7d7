"""Whether a body that came over HTTP is a case: done in a process that can be ended, whatever the body holds."""

from __future__ import annotations

from api.case import check_judged, read_case
from api.json_body import BodyError, parse_body
from api.progress import Progress, silent

__all__ = ["check_body", "ready"]


def check_body(body: bytes, judge: bool = False, progress: Progress = silent) -> str:
    """What is wrong with the body as JSON, "" if nothing; CaseError with every fault of the case in it.

    judge: its layout of steel is to be judged, so it must have one.
    """
    try:
        data = parse_body(body)
    except BodyError as error:
        return str(error)
    case = read_case(data)
    if judge:
        check_judged(case)
    return ""


def ready(progress: Progress = silent) -> None:
    """Nothing: by the time it is done, everything that checking needs has been loaded."""
