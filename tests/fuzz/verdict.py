"""Runs one file through the command in this process, and says what is wrong with how it behaved."""

import contextlib
import io
import json
import traceback
import warnings
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from beltplan.cli.main import main

MAGIC = {".png": b"\x89PNG", ".svg": b"<?xml", ".pdf": b"%PDF"}
WIDEST = 100


def judged(arguments: Sequence[str], picture: Path | None = None) -> tuple[int | None, list[str]]:
    """Exit status of one run of `beltplan`, None where it had none, and what it did that it must not.

    picture: the file that the arguments ask for, alone in its folder.
    """
    out, err = io.StringIO(), io.StringIO()
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err), warnings.catch_warnings():
            warnings.simplefilter("error")
            code = main(list(arguments))
    except SystemExit as leave:
        return None, [] if leave.code in (0, 2) else [f"SystemExit({leave.code})"]
    except Exception:
        return None, [traceback.format_exc()]
    found = _of_streams(code, out.getvalue(), err.getvalue(), "--json" in arguments)
    return code, found + ([] if picture is None else _of_picture(code, picture))


def _of_streams(code: int, out: str, err: str, as_json: bool) -> list[str]:
    if code == 2:
        silent = [] if err.strip() else ["nothing on standard error"]
        return silent + ([] if not out else ["standard output is not empty"])
    if code not in (0, 1):
        return [f"exit status {code}: {err}"]
    found = [f"standard error: {err}"] if err else []
    return found + (_of_json(code, out) if as_json else _of_text(out))


def _of_text(out: str) -> list[str]:
    found = [f"{len(line)} columns: {line}" for line in out.splitlines() if len(line) > WIDEST]
    if not all(character.isprintable() or character == "\n" for character in out):
        found.append("control characters")
    return found + [f"{word} in the report" for word in (" nan", " inf", "None") if word in out]


def _of_json(code: int, out: str) -> list[str]:
    try:
        result: dict[str, Any] = json.loads(out, parse_constant=_refused)
    except ValueError as error:
        return [f"not JSON: {error}"]
    if "findings" not in result:  # measurements
        return []
    problems = any(finding["severity"] == "problem" for finding in result["findings"])
    return [] if code == int(problems) else [f"exit status {code}, problems: {problems}"]


def _refused(word: str) -> float:
    raise ValueError(f"{word} in JSON")


def _of_picture(code: int, picture: Path) -> list[str]:
    there = list(picture.parent.iterdir())
    if code == 2 and not there:
        return []  # only a belt that cannot be laid is drawn although it is refused
    if there != [picture]:
        return [f"asked for {picture.name}, got {there}"]
    return [] if picture.read_bytes().startswith(MAGIC[picture.suffix]) else ["the picture is not what its ending says"]
