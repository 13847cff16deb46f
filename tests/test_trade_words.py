"""The words that users read are those of the trade: phrases that were reworded stand in no string of the product."""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from tests.for_each import for_each

TOP = Path(__file__).parents[1]
REPLACED = (
    r"effective length needed", r"\bin hand\b", r"readings more than are needed", r"belt and wraps do not mind",
    r"how the points lie to each other", r"root mean square", r"no simple loop", r"the belt misses", r"is no contact",
    r"text that is not YAML", r"well-formed YAML", r"got no such file", r"no tangent from", r"path length turns back",
    r"tension runs away", r"variance of the needed length", r"difference to the first column", r"has it otherwise",
    r"LEFT OUT", r"left out:", r"Comments below are those", r"one of the two into line", r"little over the",
    r"lead the belt further", r"judged at", r"what its movement could", r"fitting: slip the belt over",
    r"\bstrands?\b", r"Share of the grip", r"bring the worst use", r"say so with", r"belt's other pulleys",
    r"it belongs on the slack", r"so nothing drives it", r"read over the rim", r"is the most\b", r"the engine's \{\}",
    r"a smaller driving pulley", r"Moved: from where", r"under the least", r"endless draws", r"sharpen the places",
    r"Of chance:", r"disturbs least", r"\bDOUBT\b", r"on one another", r"cautious design friction",
    r"no sense in the input", r"[Pp]ull on the hub", r"mirror image", r"\bblunders?\b", r"\bdear\b", r"\bnought\b",
)  # fmt: skip
"""As regular expressions; {} stands for a value in a text."""


@cache
def _texts() -> dict[str, list[str]]:
    return {str(path.relative_to(TOP)): list(_texts_of(path)) for path in sorted(TOP.glob("beltplan/**/*.py"))}


def _texts_of(path: Path) -> Iterator[str]:
    """The strings of a file, those with values in them joined; what developers read (docstrings) is none of them."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    documents = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    parts = {id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in node.values}
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            yield "".join(str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in documents | parts:
            yield node.value


@for_each(*REPLACED)
def test_a_phrase_that_was_reworded_is_gone(phrase: str) -> None:
    assert {path: text for path, texts in _texts().items() for text in texts if re.search(phrase, text)} == {}


def test_the_strings_of_the_product_are_looked_at() -> None:
    texts = _texts()
    assert "more would be safer" in "".join(texts["beltplan/checks/pulleys.py"])
    assert any("{} mm out of line over {} mm" in text for text in texts["beltplan/checks/alignment.py"])
    assert all(re.search(phrase, "") is None for phrase in REPLACED)
