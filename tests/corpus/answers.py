"""One run of the command in this process: its exit status, what it said and what it wrote, as one text."""

import contextlib
import hashlib
import io
import shutil
import warnings
from collections.abc import Sequence
from pathlib import Path
from unittest.mock import patch

from tests.corpus.entry import main
from tests.corpus.written import text_of

OUT = "out"
"""Folder, beside those of the files, that a run may write into."""
DAY_S = 1_000_000_000
"""Seconds since 1970: every file is of that day."""
LONGEST = 40_000
"""Characters of one part that are kept; of what is longer, the beginning and a digest of the whole."""


def answer(arguments: Sequence[str], folder: Path) -> str:
    """What came of one run. folder: made by `lay_out`."""
    shutil.rmtree(folder / OUT, ignore_errors=True)
    (folder / OUT).mkdir()
    with contextlib.chdir(folder):
        code, out, err = _ran(arguments)
    parts = {"standard output": out, "standard error": err}
    parts |= {f"{OUT}/{path.name}": text_of(path) for path in sorted((folder / OUT).iterdir())}
    said = "".join(f"=== {name}\n{_kept(text)}" for name, text in parts.items() if text)
    return f"exit status {code}\n{said}".replace(str(folder), "FOLDER")


def _ran(arguments: Sequence[str]) -> tuple[object, str, str]:
    out, err = io.StringIO(), io.StringIO()
    code: object
    with (
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
        warnings.catch_warnings(record=True) as warned,
        patch.dict("os.environ", SOURCE_DATE_EPOCH=str(DAY_S)),
    ):
        warnings.simplefilter("always")
        try:
            code = main(list(arguments))
        except SystemExit as leave:
            code = leave.code
        except Exception as error:  # kept as an answer, so that the other runs go on
            code = f"none: {type(error).__name__}: {error}"
    words = [f"{each.category.__name__}: {each.message}\n" for each in warned]
    return code, out.getvalue(), err.getvalue() + "".join(words)


def _kept(text: str) -> str:
    text = text if text.endswith("\n") else text + "\n"
    if len(text) <= LONGEST:
        return text
    digest = hashlib.sha256(text.encode()).hexdigest()
    return f"{text[:LONGEST]}\n... {len(text)} characters in all, sha256 {digest}\n"
