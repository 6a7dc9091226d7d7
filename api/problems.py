"""What went wrong as a problem document (RFC 9457), the same over HTTP and in a batch's problem.json."""

from __future__ import annotations

from typing import Any

from api.errors import CaseError
from api.workers import TaskFailedError, TooSlowError, WorkerDiedError

__all__ = ["WRONG_CASE", "problem_document", "problem_of"]

WRONG_CASE = "urn:tensionlay:wrong-case"
TOO_LONG = "urn:tensionlay:too-long"
FAILED = "urn:tensionlay:failed"
TITLES = {
    WRONG_CASE: "The case is wrong",
    TOO_LONG: "The work took too long",
    FAILED: "The program failed",
}


def problem_document(
    kind: str, status: int, detail: str, instance: str = "", errors: list[dict[str, str]] | None = None, title: str = ""
) -> dict[str, Any]:
    """A problem document; kind is its type, a URN of ours or "about:blank" for what HTTP itself says."""
    return {
        "type": kind,
        "title": title or TITLES[kind],
        "status": status,
        "detail": detail,
        "instance": instance,
        "errors": errors or [],
    }


def problem_of(error: Exception, instance: str = "") -> dict[str, Any]:
    """The problem document of an error that ended a case's work; instance says which case."""
    if isinstance(error, CaseError):
        faults = [{"where": one.where, "what": one.what, "fix": one.fix} for one in error.problems]
        detail = faults[0]["what"] if len(faults) == 1 else f"{len(faults)} things to put right"
        return problem_document(WRONG_CASE, 422, detail, instance, faults)
    if isinstance(error, TooSlowError):
        return problem_document(TOO_LONG, 503, f"{error}, the bound for one case; make the case smaller", instance)
    if isinstance(error, TaskFailedError | WorkerDiedError):
        return problem_document(FAILED, 500, str(error), instance)
    return problem_document(FAILED, 500, f"{type(error).__name__}: {error}", instance)
