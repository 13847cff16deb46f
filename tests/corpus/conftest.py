"""What is stored, and a folder with every file that the runs read."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.corpus.files import lay_out
from tests.corpus.store import Answers, read


@pytest.fixture(scope="session")
def stored() -> Answers:
    return read()


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    place = tmp_path_factory.mktemp("corpus").resolve()
    lay_out(place)
    yield place
