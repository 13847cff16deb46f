"""What two sets of answers differ in, for reading."""

from collections.abc import Iterator, Mapping
from difflib import unified_diff

MOST_LINES = 60
"""Of one run's difference that are shown."""


def differences(before: Mapping[str, str], now: Mapping[str, str]) -> Iterator[str]:
    """One text for every run that is gone, new or otherwise than before."""
    for name in sorted(before.keys() | now.keys()):
        if name not in now:
            yield f"{name}\n  stored, and not run any more\n"
        elif name not in before:
            yield f"{name}\n  run, and not stored yet\n"
        elif before[name] != now[name]:
            yield f"{name}\n{_difference(before[name], now[name])}"


def _difference(before: str, now: str) -> str:
    lines = list(unified_diff(before.splitlines(), now.splitlines(), "before", "now", n=1, lineterm=""))
    more = [f"... {len(lines) - MOST_LINES} more lines"] * (len(lines) > MOST_LINES)
    return "".join(f"  {line}\n" for line in lines[:MOST_LINES] + more)
