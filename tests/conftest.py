"""What a test module keeps in caches of its own, open workbooks mostly, is given back when its tests are done.

Until then it is not searched for waste at every turn: that takes a twentieth of the suite's time.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator

import pytest

gc.set_threshold(200_000, 20, 50)


@pytest.fixture(scope="module", autouse=True)
def _nothing_kept(request: pytest.FixtureRequest) -> Iterator[None]:
    """Dozens of modules run in one process, one after the other, and an open workbook takes a hundred megabytes."""
    yield
    for value in vars(request.module).values():
        if hasattr(value, "cache_clear") and value.__module__ == request.module.__name__:
            value.cache_clear()
