"""The calculation report: a PDF that an engineer can check by hand, laid out by typst."""

from __future__ import annotations

from api.report.writing import ReportError, write_report

__all__ = ["ReportError", "write_report"]
