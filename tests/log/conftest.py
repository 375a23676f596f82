"""What every test of the log shares."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.log.made import OPEN


@pytest.fixture(autouse=True)
def _closed() -> Iterator[None]:
    yield
    while OPEN:
        OPEN.pop().close()
