"""What a test module keeps in caches of its own, open workbooks mostly, is given back when its tests are done."""

from __future__ import annotations

from collections.abc import Iterator

import pytest


@pytest.fixture(scope="module", autouse=True)
def _nothing_kept(request: pytest.FixtureRequest) -> Iterator[None]:
    """Dozens of modules run in one process, one after the other, and an open workbook takes a hundred megabytes."""
    yield
    for value in vars(request.module).values():
        if hasattr(value, "cache_clear") and value.__module__ == request.module.__name__:
            value.cache_clear()
