"""What a program sends twice to the set is done once. A page's forms have their own way (`project/offline/sent.py`)."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from typing import Any

from django.db import transaction

from trusses.copies.models import KeyedAct
from trusses.refusals import Refused

LONGEST = 200


class KeyTaken(Refused):
    """The key was used with another body."""


def keyed(user: Any, key: str | None, body: Any, act: Callable[[], dict[str, Any]]) -> dict[str, Any]:
    """What `act` answers, a plain dictionary, and what it answered the first time where the person sent that `body`
    (plain JSON) with that `key` before. What is refused leaves the key free. Raises Refused, KeyTaken."""
    if key is None:
        return act()
    key = key.strip()
    if not key or not key.isprintable():
        raise Refused("move-key-empty")
    if len(key) > LONGEST:
        raise Refused("key-long", most=LONGEST, length=len(key))
    digest = digest_of(body)
    with transaction.atomic():
        # of two at once the second waits here for what the first one answers
        row, first = KeyedAct.objects.get_or_create(user=user, key=key, defaults={"body_sha256": digest})
        if first:
            row.answer = act()
            row.save(update_fields=["answer"])
        elif row.body_sha256 != digest:
            raise KeyTaken("key-of-another-act", at=f"{row.at:%b} {row.at.day}, {row.at.year}")
    return dict(row.answer)


def digest_of(body: Any) -> str:
    return hashlib.sha256(json.dumps(body, sort_keys=True, default=str).encode()).hexdigest()
