"""What a test expects of a refusal: its code, and of its place and values what the test is about."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from typing import Any

import pytest

from trusses.analysis.words.refusal import Refusal


@contextlib.contextmanager
def refused(kind: type[Refusal], code: str, place: str | None = None, /, **values: Any) -> Iterator[None]:
    """`pytest.raises` of a refusal of that kind. The place counts where it is given, and of the values those given."""
    with pytest.raises(kind) as found:
        yield
    refusal = found.value
    assert refusal.code == code
    assert place in (None, refusal.place)
    assert values == {name: refusal.values.get(name) for name in values}
