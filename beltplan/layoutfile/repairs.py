"""What a text that is no YAML most likely lacks: repairs of single lines are tried, and one that helps is told."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from itertools import chain, islice, product
from operator import itemgetter
from typing import Any

import yaml

from beltplan.faults import quoted
from beltplan.layoutfile.keys import USERS
from beltplan.layoutfile.schema import KEYS, homes_of, key_at, measuring_under, names_under

LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
MOST_ERRORS = 10
_LINES_BACK, _LINES_BELOW, _LINES_ON = 6, 20, 60
"""How far before an error its cause is looked for, where lines below may begin as one should, and how far behind an
error a repaired text is read again."""
_MOST_HEADED = 6
"""Of the lines with faults that many may have lost the line above them."""
MOST_CHARACTERS = 1_000_000
"""So many are read again in all, for one error."""
UNKNOWN = "this line cannot be read; look for a colon, bracket, quote or indentation that is wrong here or just above"

_NUMBER = r"[-+]?[\d./]+(?:\s\d+/\d+)?"
_KEY = r"[A-Za-z_]\w*"
_NAMES = r"[A-Za-z_][\w.]*(?: [-\w.]+)*"
"""A key, or two names with a hyphen between."""
_TEXTS = "|".join(key.name for key in KEYS if key.kind == "text")
_BLOCKS = "|".join({key.name: key for key in KEYS if key.kind == "mapping" and key.name not in USERS})
_TAB = "there is a tab; indent with spaces"
_HASH = "` #` begins a comment: write '{key}' in quotes, or another name"

_VALUE = r"(?:\[[^\[\]]*\]|[^\s\[{'\"#,:][^\[{'\"#,:]*)"
_LINE_EACH = "the line ends after `{key}`: write each key behind it on a line of its own, at the same column"

_REPAIRS = (
    ("()(\u00a0+)", " ", "there is a no-break space, which looks like a plain one: type a plain one"),
    *((r"^([ ]*)\t[\t ]*(?=\S)", spaces, _TAB)
      for spaces in (r"\1", r"\1  ", r"\1    ", "  ", "    ", "      ")),
    (rf"^(\s*)({_KEY})[ ]+(?![#:=;])(?=\S)", r"\1\2: ",
            "`{line}`: a colon and a space seem to be missing after `{key}`"),
    (r"(?<=[\]}])()\s*([,;.])(?=\s*$|\s+#)", "", "take the `{key}` at the end of this line out"),
    (rf"(?<=\S)(\}})(\s*,\s*(?:{_NAMES}:\s[^{{}}\[\]]*?))\s*(?=#|$)", r"\2}",
            "the closing brace `}}` stands too early: it belongs at the end of this line"),
    (r"(:\s+)(\?+)(?=\s*(?:[,}#]|$))", r"\1null", "`{key}` is no value: write one, or take the key out"),
    (rf"([{{,]\s*)({_NAMES})(?<!\.)(?:\.?[ ]+|[ ]*[=;][ ]*)(?=[\[{{])", r"\1\2: ",
            "a colon seems to be missing after `{key}`{more}"),
    (rf"^(\s*)({_KEY}[\w.]* - [\w.]+)(?<!\.)\.?[ ]+(?=[-\d\[{{])", r"\1\2: ",
            "a colon seems to be missing after `{key}`"),
    (rf"((?:^|[\[{{,])\s*)({_NAMES} #\w[\w.]*)(?=\s*[:,\]}}])", r"\1'\2'", f"{_HASH}{{more}}"),
    (rf"^(\s*)({_KEY}(?: [\w-]+)*)\s*(?=#|$)", r"\1\2: ", "a colon seems to be missing after `{key}`"),
    (rf"^(\s*)({_NAMES})\s*(?:[=;]\s*|[.,](?:\s+|$))", r"\1\2: ", "a colon and a space are wanted after `{key}`"),
    (rf"([\[,:]\s*-)[ ]+([\d.][^,:#\]}}]*?)(?=\s*(?:[,#\]}}]|$|{_KEY}:))", r"\1\2",
            "there is a blank after the minus: write -{key}"),
    (rf"([{{,]\s*)({_BLOCKS}):(?=[,}}])", r"\1\2: {}",
            "nothing stands behind `{key}:`: write what belongs there, or `{key}: {{}}`"),
    (rf"([{{,]\s*)({_KEY}):(?=[,}}])", r"\1\2: null",
            "nothing stands behind `{key}:`{more}: write what belongs there, or take it out"),
    (rf"(^|[{{,])(\s*{_NAMES}):(?=[^\s,}}\]])", r"\1\2: ", "a space seems to be missing after `{key}:`"),
    (rf"(\[)(\s*{_NUMBER}\s*,\s*{_NUMBER})(?=\s*(?:[,}}#\[]|$))", r"\1\2]",
            "a closing bracket `]` seems to be missing after `[{key}`"),
    (r"(\[)([^\[\](){}:]*)[)}]", r"\1\2]", "`]` is wanted, and no other bracket, after `[{key}`"),
    (r"^(\s*load:\s+)(\{[^#]*\}\s*,\s*\{[^#]*\})\s*(?=#|$)", r"\1[\2]",
            "one load a pulley: add up `{key}` in one `power_kW` or `table`"),
    (rf"^(\s*{_KEY}:\s+)([\[{{][^#]*[\]}}]\s*,\s*[\[{{][^#]*[\]}}])\s*(?=#|$)", r"\1[\2]",
            "brackets seem to be missing round all of `{key}`"),
    (rf"((?::|\]\s*,)\s*)({_NUMBER}\s*,\s*{_NUMBER})\s*\]", r"\1[\2]",
            "an opening bracket `[` seems to be missing before `{key}`"),
    (r"(:\s+)(\[[^\[\]]*\])(?=\s*,\s*\[[^#]*\]\s*\])", r"\1[\2",
            "an opening bracket `[` seems to be missing before `{key}`"),
    (r"(?<=\])()()(?=\s*\})", "]", "a closing bracket `]` seems to be missing before `}}`"),
    (r"()(\[[^\[\]#]*\])\s*(?=#|$)", r"\1\2]",
            "a closing bracket `]` seems to be missing after `{key}`, at the end of the list"),
    (r"^(\s*)([^\[\]{}:#]*[^\[\]{}:#\s,])\s*(?=#|$)", r"\1\2]",
            "a closing bracket `]` seems to be missing after `{key}`"),
    (r"(\[)([^\][{}#]*?)\s*(?=#|$)", r"\1\2]", "a closing bracket `]` seems to be missing after `[{key}`"),
    (rf"()(;|(?<=[A-Za-z])\.)\s+(?={_NAMES}:\s)", ", ", "a comma is wanted in place of `{key}`{before}{more}"),
    (rf"([^\s,;{{\[:-])[ ]+({_KEY}:\s)", r"\1, \2", "a comma seems to be missing before `{key}`{more}"),
    (rf"()([\[{{][^\[\]{{}}]*[\]}}])[ ]+(?=\[|{_NAMES}:\s)", r"\1\2, ",
            "a comma seems to be missing after `{key}`{more}"),
    (r"()(\[[^\[\]#]*\])\s*(?=#|$)", r"\1\2,", "a comma seems to be missing after `{key}`"),
    (r"^()(.*?\S)\s*(?=\s#|$)", r"\1\2}", "a closing brace `}}` seems to be missing at the end of the line"),
    (rf"(:\s+)({_NAMES}:\s[^{{}}]*?)(?=\s*}})", r"\1{\2}", "braces seem to be missing: write {{{whole}}}"),
    (rf"(:\s+)({_NAMES}: .*}})", r"\1{\2", "an opening brace `{{` seems to be missing before `{key}`"),
    (r"(,)\s*(,)", r"\1", "there is one `{key}` too many"),
    (r"(?<=[\]}])()\s*([.;])\s*(?=[\[{A-Za-z])", ", ", "a comma is wanted in place of `{key}`{before}"),
    (r"(?<=[\s{,])(['\"])([^'\"]+)\1(?=\s+-\s)", r"\2", "no quotes are wanted round one name of two: write {key}"),
    (r"(?<=[^\s\[{,:])()()(?=\s*(?:\]|,\s*\{))", "}", "a closing brace `}}` seems to be missing{before}"),
    (r"(?<=\})()()(?=\s*\})", "]", "a closing bracket `]` seems to be missing{before}"),
    (r"(\[\{[^\[\]#]*\})()\s*(?=#|$)", r"\1]", "a closing bracket `]` seems to be missing at the end of the line"),
    (r"()([\[\]{}])", "", "there is one `{key}` too many"),
    *((rf"()([{wrong}])", right, f"`{right * 2 if right in '{}' else right}` is wanted in place of `{{key}}`{{before}}")
      for right, wrong in (("]", ")}"), ("}", r")\]"), ("[", "({"), ("{", r"(\["))),
    (r"()\"([^\"]*\\[^\"]*)\"", r"'\2'",
            "in double quotes a backslash begins a code: write '{key}' in single quotes, or / in its place"),
    (r"([\"'])([^\"',:\]}]+?)(?=\s*[,:\]}])", r"\1\2\1", "a closing quote seems to be missing after `{key}`"),
    (r"(.*\")([^\"]+?)\s*$", r'\1\2"', "a closing quote seems to be missing after `{key}`"),
    (r"(.*')([^']+?)\s*$", r"\1\2'", "a closing quote seems to be missing after `{key}`"),
    (rf"^(\s*{_KEY}:\s+)'(.*'.*)'\s*$", r'\1"\2"', "write it in double quotes: \"{key}\""),
    (r"(:\s+)\(([^()]*:\s[^()]*)\)", r"\1{\2}", "braces are wanted, and no round brackets: write {{{whole}}}"),
    (rf"^([ ]*)({_KEY}:\s+{_VALUE}),\s+({_KEY}:\s+{_VALUE})\s*(?=#|$)", r"\1\2\n\1\3", _LINE_EACH),
    (rf"^([ ]*)({_KEY}:\s+{_VALUE}),\s+({_KEY}:\s+{_VALUE}),\s+({_KEY}:\s+{_VALUE})\s*(?=#|$)",
     r"\1\2\n\1\3\n\1\4", _LINE_EACH),
    (rf"^(\s*(?!(?:{_TEXTS}):){_NAMES}:\s+)({_NAMES}:\s.*?)(?=\s*(?:\s#|$))", r"\1{\2}",
            "braces seem to be missing: write {{{whole}}}"),
    (rf"^(\s*{_NAMES}:\s+)({_NUMBER}\s*,\s*{_KEY}:\s.*?)(?=\s*(?:\s#|$))", r"\1{value: \2}",
            "braces seem to be missing: write {{value: {whole}}}"),
    (r"^(\s*)-\s+([^:#]+:(?:\s.*)?)$", r"\1\2", "there is a dash too many: write `{whole}`"),
    (rf"^(\s*(?!file:[^:]*,\s+{_KEY}:){_KEY}:\s+)([^\"'\s\[{{].*?)\s*$", r"\1'\2'",
            "quotes seem to be missing: write '{whole}'"),
)  # fmt: skip
"""Changes of one line: what is looked for, what is put there, and what then was wrong. Tried in this order; where two
help as much, the first one is told. Where words end in {more}, all of them in one line are mended together as well.
"""


def repaired(text: str) -> tuple[list[tuple[int, str]], str]:
    """The line and the words for every error of a text that is no YAML, and the text without them.

    The last may be one that nothing mends, or not the last of all: then the text is empty.
    """
    lines, found = text.splitlines(), list[tuple[int, str]]()
    while len(found) < MOST_ERRORS and (error := first_error("\n".join(lines))) is not None:
        tried = _mended(lines, error)
        if tried is None:
            return [*found, (error[1] + 1, UNKNOWN)], ""
        place, mended, words = tried
        tabs = sum(re.match(r" *\t", line) is not None for line in lines)
        lines[place : place + len(mended)] = mended
        found.append((place + 1, words + f" (lines with tabs: {tabs})" * (words == _TAB and tabs > 1 and not found)))
        if _adds_a_line(mended):
            return found, ""  # with a line more, all below would be told at the wrong one
    whole = "\n".join(lines) + "\n"
    return found, whole if first_error(whole) is None else ""


def first_error(text: str) -> tuple[int, int] | None:
    """Lines, from 0, where what cannot be read begins and where it fails; None where all can be read."""
    try:
        for _ in yaml.parse(text, Loader=LOADER):
            pass
    except yaml.YAMLError as error:
        at, begun = getattr(error, "problem_mark", None), getattr(error, "context_mark", None)
        last = max(text.count("\n"), 0)
        lines = [min(mark.line, last) for mark in (begun or at, at or begun) if mark is not None]
        return (lines[0], lines[-1]) if lines else (0, 0)
    return None


_Tried = tuple[int, list[str], str]
"""Where a repair begins, what it puts in place of each line from there on, and its words."""


def _mended(lines: list[str], error: tuple[int, int]) -> _Tried | None:
    """The repair after which most of the text can be read; of several that mend all of it, what fits the keys best."""
    begun, at = error
    start = _block_start(lines, min(begun, at - _LINES_BACK, _outer(lines, at) - 1))
    end = next((i for i in range(at + _LINES_ON, len(lines)) if lines[i][:1].strip(" #")), len(lines))
    best, found = at - start, list[tuple[int, _Tried]]()
    most = MOST_CHARACTERS // max(sum(map(len, lines[start:end])), 1)
    for place, new, words in islice(_candidates(lines, begun, at), most):
        text = "\n".join([*lines[start:place], *new, *lines[place + len(new) : end]])
        tried = first_error(text)
        if tried and _adds_a_line(new):
            continue
        reached = end - start if tried is None else tried[1]
        # What is cut off at the end may be missed there.
        if reached > best:
            best, found = reached, []
        if reached == best and reached > at - start:
            found.append((0 if tried else _weighed(text, new), (place, new, words)))
            if not (tried or found[-1][0]):
                break
    return min(found, key=itemgetter(0))[1] if found else None


def moved(text: str, places: list[int], wrong: list[int]) -> tuple[int, str, str] | None:
    """The line, the words and the text of the one move of a line, or of lines together, or of the one line put above
    others, that sets most keys right; None where none helps.

    places: lines, from 0, that stand too far in or out, or that what stands further out does. wrong: all with faults.
    """
    lines, best = text.splitlines() or [""], None
    least, most = misfits(text), MOST_CHARACTERS // max(len(text), 1)
    near = dict.fromkeys([*places, *(_outer(lines, place) for place in places)])
    for place, new, words in islice(chain(_headed(lines, wrong[:_MOST_HEADED]), _indented(lines, [*near])), most):
        tried = "\n".join([*lines[:place], *new, *lines[place + len(new) :]]) + "\n"
        if (left := _weighed(tried, new)) < least:
            least, best = left, (place + 1, words, tried)
    return best


def misfits(text: str) -> int:
    """How many keys of a text are there twice or hold what they cannot; those that do not belong there count twice."""
    try:
        return _misfits(yaml.compose(text, Loader=LOADER), "")
    except (yaml.YAMLError, RecursionError):  # an alias of nothing, or of what holds it
        return MOST_CHARACTERS


def _misfits(node: Any, path: str) -> int:
    if isinstance(node, yaml.SequenceNode):
        form = next((each for each in (f"{path}.ENTRY", path) if names_under(each)), "")
        return sum(_misfits(each, form) if form or not isinstance(each, yaml.MappingNode) else 1 for each in node.value)
    if not isinstance(node, yaml.MappingNode):
        return 0
    known = {*names_under(path), *(() if path else measuring_under(""))}
    again = len(node.value) - len({str(key.value) for key, _ in node.value})
    return again + sum(_misfit(str(key.value), value, path, known) for key, value in node.value)


def _misfit(name: str, value: Any, path: str, known: set[str]) -> int:
    words = (each for each in USERS if each in known or names_under(f"{path}.{each}".lstrip(".")))
    word = name if name in known else next(words, "")
    if not word or (word == "PAIR") != (" - " in name) or (word != name and name in _ONLY_AT_TOP):
        return 2  # more than a heading that is left with nothing under it
    below = f"{path}.{word}".lstrip(".")
    key = key_at(below) if word in known else key_at("pulleys")
    if isinstance(value, yaml.MappingNode):
        return _misfits(value, "" if below == "variants.NAME" else below) if "mapping" in key.kind else 1
    if isinstance(value, yaml.ScalarNode):
        if value.value and word not in known:
            return 2  # no better among names, each with a mapping, than where it stood
        wrong = (key.kind in _NO_SCALAR and word != "LIMIT") or (key.choices and value.value not in key.choices)
        return int(bool(not value.value or wrong or (key.kind != "text" and re.search(r"[,()]", value.value))))
    if key.kind == "list" and key.unit:
        return sum(not isinstance(each, yaml.SequenceNode) or _of_others(each) for each in value.value)
    if key.kind in _OF_SCALARS:
        return _of_others(value)
    return _misfits(value, below) if key.kind.endswith(("list", "names")) or key.kind.startswith("list") else 1


def _of_others(node: Any) -> int:
    """How many entries of a list are no single values."""
    return sum(not isinstance(each, yaml.ScalarNode) for each in node.value)


_OF_SCALARS = ("point", "point or mapping", "two numbers", "numbers", "names")
_NO_SCALAR = ("mapping", *_OF_SCALARS, "list", "mapping or list", "mapping or names")


def _block_start(lines: list[str], place: int) -> int:
    """The last line that begins a key of the top, at or before a place, or 0."""
    return next((i for i in range(place, -1, -1) if lines[i][:1].strip() not in ("", "#", "}", "]")), 0)


def _candidates(lines: list[str], begun: int, at: int) -> Iterator[_Tried]:
    # A quote that is not closed may run on over many lines.
    odd = (
        i for i in range(at, _block_start(lines, begun) - 1, -1) if lines[i].count("'") % 2 or lines[i].count('"') % 2
    )
    near = dict.fromkeys([begun, *range(at, max(at - _LINES_BACK, -1), -1), *odd])
    places = [place for place in near if place < len(lines) and _is_told(lines[place])]
    for place in places:
        whole, last, comment = _parted(lines[place])
        if len(lost := _unclosed(whole)) > 1:
            told = f"closing brackets `{lost}` seem to be missing at the end of the line, after `{quoted(last)[1:-1]}`"
            yield place, [whole + lost + comment], told
    first = next((i for i in range(_outer(lines, at) + 1, at) if _is_told(lines[i])), at)
    yield from _headed(lines, [*dict.fromkeys((at, first))])
    for pattern, new, words in _REPAIRS:
        for place in places:
            line = lines[place]
            for match, text, more in _replaced(pattern, new, line, "{more}" in words):
                whole = match.group(2).strip() if match.re.groups > 1 else ""
                key = whole.strip(": ")
                before = re.sub(r"^.*[,\[{(]\s*(?=\S)", "", line[: match.start()].strip())
                shown = {"key": quoted(key)[1:-1], "line": quoted(line.strip())[1:-1], "whole": whole, "more": more}
                told = words.format(**shown, before=f" after `{before}`" * bool(before))
                yield place, [text], told
    yield from _behind_brace(lines, places)
    # What stands further out than the line that cannot be read may be what has lost its place.
    yield from _indented(lines, list(dict.fromkeys([*places, _outer(lines, at)])))


def _behind_brace(lines: list[str], places: list[int]) -> Iterator[_Tried]:
    """Lines further in than one that ends with the brace of its own key, drawn into that."""
    for place in places:
        key = re.match(rf"\s*({_KEY}):\s+\{{.*\}}(?=\s*(?:#|$))", lines[place])
        below = (i for i in range(place + 1, len(lines)) if lines[i].strip())
        end = next((i for i in below if _indent(lines[i]) <= _indent(lines[place])), len(lines))
        own = [i for i in range(place + 1, end) if _is_told(lines[i])]
        if key and own:
            whole, _, comment = _parted(lines[place])
            new = [whole[:-1] + "," + comment, *lines[place + 1 : end]]
            for i in own:
                whole, _, comment = _parted(lines[i])
                new[i - place] = whole + ("}" if i == own[-1] else ",") + comment
            first = f"line {own[0] + 1}"
            told = f"`{key[1]}` ends with the last `}}` of this line, and {first} is outside it: write "
            told += f"`{key[1]}:` alone here, and what stood in its braces on lines below, to begin as {first}"
            yield place, new, told


def _is_told(line: str) -> bool:
    """Whether more stands in a line than a comment."""
    return re.match(r"\s*[^\s#]", line) is not None


def _parted(line: str) -> tuple[str, str, str]:
    """A line without its comment, the last value in it, and the comment with the blanks before it."""
    whole = re.sub(r"\s+(#.*)?$", "", line)
    return whole, re.sub(r".*[,\[{:]\s*(?=\S)", "", whole), line[len(whole) :]


def _unclosed(line: str) -> str:
    """What closes the brackets that a line opens, the innermost first.

    >>> _unclosed("at: [[1, 2], [3, 4"), _unclosed("arm: {stops: [1, 2")
    (']]', ']}')
    """
    lost = ""
    for bracket in re.sub(r"[^\[\]{}]", "", line):
        lost = {"[": "]", "{": "}"}[bracket] + lost if bracket in "[{" else lost.removeprefix(bracket)
    return lost


def _replaced(pattern: str, new: str, line: str, together: bool) -> Iterator[tuple[re.Match[str], str, str]]:
    """Each match, the line with it replaced, and nothing; of `together` the first, with all of them, which is said."""
    matches = [*re.finditer(pattern, line)]
    for match in matches:
        yield match, line[: match.start()] + match.expand(new) + line[match.end() :], ""
    if together and len(matches) > 1:
        others = ", ".join(f"`{match[2].strip(': ')}`" for match in matches[1:])
        yield matches[0], re.sub(pattern, new, line), f"; so too {others} in this line"


def _indented(lines: list[str], places: list[int]) -> Iterator[_Tried]:
    """Single lines, one that begins where no other does first, then those with others that begin where they do, moved
    to where lines around them begin.
    """
    begun = Counter(_indent(line) for line in lines if line.strip())
    for together, place in product((False, True), sorted(places, key=lambda each: begun[_indent(lines[each])] > 1)):
        own, last = _indent(lines[place]), place + 1
        # Of lines that begin at one column the nearest is told.
        # Under a key with nothing behind it, further in is tried first; and it stays further out than what is below.
        above = lines[place - 1] if place else ""
        least = _indent(above) if above.rstrip().endswith(":") else -1
        near = range(0 if least >= 0 else _block_start(lines, place - 1), min(place + _LINES_BELOW, len(lines)))
        told = sorted(near, key=lambda each: (-abs(each - place), each < place))
        fellows = {_indent(lines[each]): each + 1 for each in told if lines[each].strip() and each != place}
        of_top = lines[place].strip().partition(":")[0] in _ONLY_AT_TOP
        while together and last < len(lines) and lines[last].strip() and _indent(lines[last]) == own:
            last += 1
        begin = f"this and the next {last - place - 1} begin" if together else "the line begins"
        holds = not together and lines[place].rstrip().endswith(":") and last < len(lines)
        most = _indent(lines[last]) if holds else MOST_CHARACTERS
        indents = sorted(fellows.keys() - {own}, reverse=True)
        for indent in sorted(indents, key=lambda each: (of_top and each, not least < each < most, abs(each - own))):
            words = f"{begin} at column {own + 1}: indent as line {fellows[indent]}, to column {indent + 1}"
            yield place, [" " * indent + line.lstrip(" ") for line in lines[place:last]], words


def _headed(lines: list[str], places: list[int]) -> Iterator[_Tried]:
    """A line with a key, or with the one name of the route that has no pulley, put above lines that have lost it."""
    for place in places:
        own, outer = _indent(lines[place]), _outer(lines, place)
        # Right under a heading it was one of those between.
        between = _parted(lines[outer])[0].endswith(":") and not any(map(_is_told, lines[outer + 1 : place]))
        column = (_indent(lines[outer]) + own) // 2 if between else _indent(lines[outer])
        for names in _headings(lines, place, column) if own > column else ():
            named = " or ".join(f"`{name}:`" for name in names) + ", NAME a name of your own" * (names == ["NAME"])
            words = f"a line seems to be missing: write above this one, from column {column + 1}, {named}"
            yield place, [f"{' ' * column}{names[0]}:\n{lines[place]}"], words


def _weighed(text: str, new: list[str]) -> int:
    """What tells for or against a repair, by the text with it: a line more must set all right, and comes last then."""
    left = misfits(text)
    if not _adds_a_line(new):
        return left
    return MOST_CHARACTERS if left else 1


def _adds_a_line(new: list[str]) -> bool:
    return "\n" in new[0]


def _headings(lines: list[str], place: int, column: int) -> list[list[str]]:
    """The keys under which that of a line may stand, in a block that begins there, those together that fit alike; for a
    name of the user's own that of the one pulley of the route that has no lines.
    """
    key, above = lines[place].strip().partition(":")[0], list[str]()
    for line in lines[place - 1 :: -1]:
        if _is_told(line) and _indent(line) < column:
            above, column = [line.strip().partition(":")[0], *above], _indent(line)
    # Nearly all fits among limits.
    every = sorted([*names_under(""), *measuring_under("")], key="limits".__eq__)
    blocks = homes_of("PAIR" if " - " in key else key) or [each for each in every if "mapping" in key_at(each).kind]
    parts = [path.split(".") for path in blocks if path.count(".") == len(above)]
    found = [own for *out, own in parts if all(part in (key, *USERS) for key, part in zip(above, out, strict=True))]
    there = {(line.strip() if above else line).partition(":")[0] for line in lines}
    if above == ["pulleys"] and "NAME" in found:
        route = next((line for line in lines if line.startswith("route:")), "").partition("[")[2].partition("]")[0]
        lost = {*map(str.strip, route.split(","))} - there
        return [[*lost] if len(lost) == 1 and all(lost) else ["NAME"]]
    names = [name for name in found if name and name not in USERS[1:] and (above or name not in there)]
    return [names[::-1]] if " - " in key and names else [[name] for name in names]


_ONLY_AT_TOP = {*names_under("")} - {key.name for key in KEYS if key.parent}


def _outer(lines: list[str], place: int) -> int:
    """The nearest line above that begins further out than that of a place; the first where there is none."""
    own = _indent(lines[place])
    return next((i for i in range(place - 1, 0, -1) if _is_told(lines[i]) and _indent(lines[i]) < own), 0)


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip(" "))
