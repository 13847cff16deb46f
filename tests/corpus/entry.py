"""Where the command begins: the only name of the package that the corpus knows, so that everything else may move."""

from __future__ import annotations

from beltplan.cli.main import main

__all__ = ["main"]
