"""YAML as an editor reads it: the core schema of YAML 1.2, of which the program's own reading knows nothing.

Source: YAML 1.2.2, 10.3.2 "Tag Resolution" (from memory); hexadecimal, octal and infinite numbers are left out, which
no layout may hold. Keys are texts, as they are in JSON.
"""

import re
from typing import Any

import yaml

from tests.fuzz.mutations import FastLoader

_WORDS = (
    ("null", r"~|null|Null|NULL|", ["~", "n", "N", ""]),
    ("bool", r"true|True|TRUE|false|False|FALSE", list("tTfF")),
    ("int", r"[-+]?[0-9]+", list("-+0123456789")),
    ("float", r"[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?", list("-+.0123456789")),
)


class CoreLoader(FastLoader):
    """A loader with the words of the core schema in place of those of YAML 1.1."""

    yaml_implicit_resolvers: dict[str, Any] = {}  # noqa: RUF012


def _mapping(loader: CoreLoader, node: yaml.MappingNode) -> dict[str, Any]:
    return {str(key.value): loader.construct_object(value, deep=True) for key, value in node.value}


for _name, _pattern, _first in _WORDS:
    CoreLoader.add_implicit_resolver(f"tag:yaml.org,2002:{_name}", re.compile(rf"^(?:{_pattern})$"), _first)
CoreLoader.add_constructor("tag:yaml.org,2002:map", _mapping)
CoreLoader.add_constructor("tag:yaml.org,2002:int", lambda _, node: int(node.value))
CoreLoader.add_constructor("tag:yaml.org,2002:float", lambda _, node: float(node.value))


def loaded(text: str) -> Any:
    """The values of a text, as JSON would hold them."""
    return yaml.load(text, CoreLoader)
