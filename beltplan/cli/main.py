"""The command line: reads the command's name, hands over to its file, turns refusals into exit codes."""

from __future__ import annotations

import argparse
import os
import sys
import traceback
from collections.abc import Mapping, Sequence
from functools import partial
from importlib import import_module
from typing import Any, NoReturn

from beltplan import __version__, files
from beltplan.cli.exits import Refused, tell
from beltplan.cli.outputs import refuse_bad_options
from beltplan.cli.slips import Parsers, example, left_over, refuse_unknown
from beltplan.faults import did_you_mean, printable, quoted
from beltplan.layoutfile.synonyms import word_meant
from beltplan.report.screen import Paragraph, Report, screen_of, shown
from beltplan.report.words import SAFETY_IN_SHORT

COMMANDS: Mapping[str, str] = {
    "new": "cli.new",
    "measure": "measure.cli",
    "check": "cli.check",
    "route": "routes.cli",
    "place": "place.cli",
    "drag": "drag.cli",
    "compare": "compare.cli",
    "squeal": "squeal.cli",
    "vibration": "vibration.cli",
    "cure": "cure.cli",
    "tolerance": "tolerance.cli",
    "template": "drawing.cli_template",
    "export": "drawing.cli_export",
    "fit": "cli.fit",
    "page": "page.cli",
    "words": "words.cli",
}
"""In the order of the work, each command and the module that has its `add_to` and `run`: imported by name, so that no
floor imports a feature."""
FAILED, _STOPPED = 3, 130
_DESCRIPTION = (
    "Plans the routing of an accessory drive belt before metal is cut: which belt length, how much wrap each pulley "
    "gets, what turns which way and how fast, what the adjuster can take up, and what stands in the way."
)
_STATUS = (
    "Exit status of every command: 0 no problem, 1 at least one, 2 an input error or no command, 3 the program or the "
    "machine failed, 130 stopped by Ctrl-C. Example: beltplan check layouts/railcar.yaml"
)
_FIRST = (
    "beltplan plans an accessory drive belt before metal is cut.",
    "",
    "  beltplan new my_engine.yaml     first: a file to begin with; put your own numbers in it",
    "  beltplan check my_engine.yaml   then: which belt to buy, and what to do",
    "",
    "commands, in the order of the work; `beltplan COMMAND --help` tells more:",
)


_wrong: list[str] = []
"""Faults of the options of one command line, as far as they are found while it is read."""


class _PageParser(argparse.ArgumentParser):
    """A parser whose help is as wide as the screen, and which reads on past an option's wrong value."""

    def __init__(self, **options: Any) -> None:
        super().__init__(formatter_class=partial(argparse.HelpFormatter, width=screen_of(sys.stdout).width), **options)

    def _get_value(self, action: argparse.Action, arg_string: str) -> Any:
        try:
            if action.choices is not None and action.option_strings:
                arg_string = word_meant(arg_string, tuple(action.choices)) or arg_string
            return super()._get_value(action, arg_string)
        except argparse.ArgumentError as fault:
            _wrong.append(f"{_name_of(action)}: {fault.message}")

    def _check_value(self, action: argparse.Action, value: Any) -> None:
        if action.choices is not None and value not in action.choices and action.option_strings:
            hint = did_you_mean(value, action.choices)
            _wrong.append(f"{_name_of(action)}: got {quoted(value)}{hint}; allowed: {', '.join(action.choices)}")

    def error(self, message: str) -> NoReturn:
        """Refuse the command line: what was found before as well, under how the command is used."""
        raise Refused("\n".join([self.format_usage().rstrip(), *_wrong, example(self, message)]))


def _name_of(action: argparse.Action) -> str:
    return "/".join(action.option_strings) or str(action.metavar or action.dest)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Returns 0 without a problem, 1 with at least one, 2 where the input makes no sense, 3 where the program or the
    machine failed, 130 where the user stopped it.
    """
    files.written.clear()
    _wrong.clear()
    # Nothing is shown in a window, and matplotlib would not load where this names a backend that is not there.
    os.environ.pop("MPLBACKEND", None)
    try:
        words = list(sys.argv[1:] if arguments is None else arguments)
        top = parser(words)
        if not words:
            return _ended(_overview(top), 2)
        own = parsers_of(top).get(words[0])
        refuse_unknown(words, own, lambda: parsers_of(parser(())))
        chosen, left = top.parse_known_args(words)
        if left and own is not None:
            raise Refused("\n".join([*_wrong, left_over(words, left, own, chosen)]))
        refuse_bad_options(chosen, _wrong)
        # Shown only once the command is through: a refusal leaves standard output empty.
        answer, code, *left_undone = chosen.run(chosen)
        _show((answer if isinstance(answer, str) else shown(answer, screen_of(sys.stdout))) + "\n")
        for words in left_undone:
            tell(words)
        return int(code)
    except Refused as refusal:
        return _ended(str(refusal), 2)
    except KeyboardInterrupt:
        return _ended(f"stopped; {_what_was_written()}", _STOPPED)
    except MemoryError:
        return _ended(f"beltplan: not enough memory; {_what_was_written()}", FAILED)
    except Exception as error:
        return _ended(f"beltplan: {_why_it_failed(error)}; {_what_was_written()}", FAILED)


def _ended(words: str, code: int) -> int:
    tell(words)
    return code


def _overview(top: argparse.ArgumentParser) -> str:
    helps = [each for action in top._actions for each in getattr(action, "_choices_actions", ())]
    commands = [Paragraph(each.help or "", f"  {each.dest:11}") for each in helps]
    return shown(Report((*_FIRST, *commands, "", Paragraph(SAFETY_IN_SHORT, "SAFETY  "))), screen_of(sys.stderr))


def _what_was_written() -> str:
    return f"written before: {', '.join(map(repr, files.written))}" if files.written else "nothing was written"


def _why_it_failed(error: Exception) -> str:
    """One line for an exception that nobody expected, with the whole of it only where a developer asks for it."""
    if os.environ.get("BELTPLAN_TRACEBACK") == "1":
        traceback.print_exception(error)
    words, at = quoted(f"{type(error).__name__}: {error}")[1:-1], traceback.extract_tb(error.__traceback__)[-1]
    where = f"{os.path.basename(at.filename)}:{at.lineno}"
    return f"a fault of beltplan itself, not of your file ({words}; {where}): please report it with the file"


def parsers_of(top: argparse.ArgumentParser) -> Parsers:
    return next(action.choices for action in top._actions if isinstance(action.choices, dict))


def _show(text: str) -> None:
    if sys.stdout is None:  # started with standard output closed
        return
    # No name of a file brings a terminal's own codes with it.
    text = "\n".join(map(printable, text.split("\n")))
    encoding = sys.stdout.encoding or "utf-8"
    try:
        sys.stdout.write(text.encode(encoding, "backslashreplace").decode(encoding))
        sys.stdout.flush()
    except BrokenPipeError:
        # The reader of a pipe went away (`| head`): nothing is wrong with the layout.
        _discard_the_rest()
    except OSError as error:
        _discard_the_rest()
        raise Refused(f"standard output: cannot be written ({error.strerror})") from None


def _discard_the_rest() -> None:
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def parser(words: Sequence[str]) -> argparse.ArgumentParser:
    """The parser of the command that the words begin with; of every command where they begin with none."""
    top = _PageParser(prog="beltplan", description=_DESCRIPTION, epilog=_STATUS)
    top.add_argument("--version", action="version", version=f"beltplan {__version__}")
    commands = top.add_subparsers(title="commands, in the order of the work", metavar="COMMAND", required=True)
    # Only what is asked for is imported: start-up is most of a run.
    for name in words[:1] if words[:1] and words[0] in COMMANDS else COMMANDS:
        module = import_module(f"beltplan.{COMMANDS[name]}")
        module.add_to(commands)
        own = commands.choices[name]
        own.set_defaults(run=module.run, writes=own.get_default("writes") or {})
    return top
