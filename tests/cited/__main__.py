"""Run what is cited, and count: `python -m tests.cited`."""

import sys
from pathlib import Path

import pytest

from tests.cited.published import COMPUTED, HELD


def main() -> int:
    """A line a source, then all; the status is that of the tests."""
    status = pytest.main([str(Path(__file__).parent), "-p", "no:cacheprovider"])
    print("computed  in a table  source")
    for source in sorted({*COMPUTED, *HELD}):
        print(f"{len(COMPUTED[source]):8}  {len(HELD[source]):10}  {source.rpartition('.')[2].removeprefix('test_')}")
    print(f"{sum(map(len, COMPUTED.values())):8}  {sum(map(len, HELD.values())):10}  distinct published values")
    return int(status)


if __name__ == "__main__":
    sys.exit(main())
