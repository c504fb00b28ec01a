"""What one page asks for several times is read once.

Only while a page is made that writes nothing (`project.middleware.reads_once`): it sees the rows as they were at its
first look. Everywhere else each call reads anew.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, TypeVar

K = TypeVar("K", bound=Hashable)
T = TypeVar("T")

_read: ContextVar[dict[Hashable, Any] | None] = ContextVar("read", default=None)


@contextmanager
def page() -> Iterator[None]:
    began = _read.set({})
    try:
        yield
    finally:
        _read.reset(began)


def once(key: Hashable, read: Callable[[], T]) -> T:
    """What `read` gives; on a page, what it gave the first time. `key` names the reader and all that it depends on."""
    kept = _read.get()
    if kept is None:
        return read()
    if key not in kept:
        kept[key] = read()
    return kept[key]


def once_each(what: str, keys: Iterable[K], read: Callable[[list[K]], Mapping[K, T]]) -> dict[K, T]:
    """What `read` gives for each of several keys at once; on a page, those that it gave before aren't read again."""
    wanted = list(dict.fromkeys(keys))
    kept = _read.get()
    if kept is None:
        return dict(read(wanted)) if wanted else {}
    if lacking := [key for key in wanted if (what, key) not in kept]:
        kept |= {(what, key): value for key, value in read(lacking).items()}
    return {key: kept[what, key] for key in wanted if (what, key) in kept}
