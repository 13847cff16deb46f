"""Refusals: input that makes no sense ends with words on standard error and exit status 2."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from beltplan.belts.route import Route, route_of
from beltplan.belts.routing import NoBeltPath, PathFault
from beltplan.reading.faults import Fault, LayoutFaults
from beltplan.reading.layout_file import LayoutFile, read_layout

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]
else:
    Commands = argparse._SubParsersAction


class Refused(Exception):
    """The command cannot be carried out; the text is for the user."""


@contextmanager
def writing(option: str, path: str) -> Iterator[None]:
    """While a file that an option names is written: raises Refused where it cannot be."""
    try:
        yield
    except OSError as error:
        words = f"got {path!r}, which cannot be written ({error.strerror}); allowed: a place that can"
        raise Refused(f"{option}: {words}") from None


def read_or_refuse(path: str, variant: str | None) -> LayoutFile:
    """The layout of a file. Raises Refused with every fault of the file."""
    try:
        return read_layout(path, variant)
    except LayoutFaults as faults:
        raise Refused(str(faults)) from None


def route_or_refuse(file: LayoutFile) -> Route:
    """The belt's route over a layout. Raises Refused, with the lines of the pulleys, where there is no belt path."""
    try:
        return route_of(file.layout)
    except NoBeltPath as refusal:
        raise no_path(file, refusal.faults) from None


def no_path(file: LayoutFile, faults: tuple[PathFault, ...], of_all: str = "route") -> Refused:
    """The refusal of a layout without a belt path, with the lines of the pulleys; of more than two that of `of_all`."""
    return Refused(str(LayoutFaults(file.path, (_fault(file, fault, of_all) for fault in faults))))


def _fault(file: LayoutFile, fault: PathFault, of_all: str) -> Fault:
    if len(fault.pulleys) > 2:
        return Fault(file.line_of(of_all), of_all, fault.got, fault.allowed)
    keys = ", ".join(f"pulleys.{name}" for name in fault.pulleys)
    return Fault(file.line_of("pulleys", fault.pulleys[0]), keys, fault.got, fault.allowed)
