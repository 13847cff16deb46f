"""The spine's answers, and measuring's, given once: most tests ask for the same few, and all values are frozen.

Imported before the package's other files, so that all of them ask here.
"""

import functools
import importlib
import os
import pickle
from collections.abc import Callable, Hashable
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path
from typing import ParamSpec, TypeVar

Given = ParamSpec("Given")
Answer = TypeVar("Answer")
MOST = 1024
"""Answers of each function that are kept: those asked for last."""
listening: Callable[[Hashable], AbstractContextManager[object]] = nullcontext
"""Round each question: whoever takes down what tests go through puts himself here (`tests/mutation/learnt.py`)."""


def once(real: Callable[Given, Answer], key: Callable[..., Hashable]) -> Callable[Given, Answer]:
    """The same function, which gives the answer that it gave before to what has the same key."""
    known: dict[Hashable, Answer] = {}

    @functools.wraps(real)
    def asked(*given: Given.args, **named: Given.kwargs) -> Answer:
        at = key(*given, **named)
        with listening((id(real), at)):
            answer = known.pop(at) if at in known else real(*given, **named)
        if len(known) >= MOST:
            del known[next(iter(known))]
        known[at] = answer
        return answer

    return asked


def _given(*given: Hashable, **named: Hashable) -> Hashable:
    """Routes and operations are told apart as things, not by what they hold."""
    return given, *named.items()


def _text(path: str, variant: str | None = None) -> Hashable:
    """A file by what stands in it and by the parser; one that names a drawing is read each time."""
    text = Path(path).read_bytes() if Path(path).is_file() else b""
    parser = importlib.import_module("beltplan.layoutfile.document").LOADER
    return path, os.path.abspath(path), variant, text, parser, object() if b"file:" in text else None


for module, name, key in (
    ("beltplan.layoutfile.layout_file", "read_every_layout", _text),
    ("beltplan.drive.route", "route_of", repr),
    ("beltplan.drive.operation", "operation_of", _given),
    ("beltplan.checks.every_check", "findings_of", _given),
    ("beltplan.checks.plan", "plan_on", _given),
    ("beltplan.checks.questions", "with_questions", _given),
    ("beltplan.checks.lengths", "lengths_of", _given),
    ("beltplan.checks.lengths", "sound_belt", _given),
    ("beltplan.measure.study", "measuring_of", lambda measured, *_: pickle.dumps(measured)),
):
    home = importlib.import_module(module)
    setattr(home, name, once(getattr(home, name), key))
