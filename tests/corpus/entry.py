"""Where the command begins: the only name of the package that the corpus knows, so that everything else may move."""

from beltplan.cli.main import main

__all__ = ["main"]
