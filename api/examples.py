"""Where the example cases lie: inside the installed package, or beside it in a checkout."""

from __future__ import annotations

from pathlib import Path

__all__ = ["cases_folder"]


def cases_folder() -> Path:
    """Folder of the example cases that come with the program; FileNotFoundError where they were taken away.

    >>> (cases_folder() / "l-island-with-sink.toml").is_file()
    True
    """
    package = Path(__file__).resolve().parent
    for folder in (package / "cases", package.parent / "cases"):
        if folder.is_dir():
            return folder
    raise FileNotFoundError(f"the example cases are neither in {package} nor beside it; install tensionlay again")
