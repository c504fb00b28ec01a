"""Doing the worker's part in this process with what a designer sends to the set."""

from __future__ import annotations

from typing import Any

from django.test import Client

from trusses.bearings import taking_up
from trusses.marks import correcting
from trusses.models import Revision, Truss


def correct(*args: Any, **kwargs: Any) -> Revision:
    """A first design corrected at once; arguments as for `correcting.read_wish`."""
    return correcting.corrected(correcting.read_wish(*args, **kwargs))()


def take_up(user: Any, truss: Truss) -> list[Revision]:
    """What stands on a mark written into its drawing at once."""
    return taking_up.taken_up(user, truss)()


def work() -> None:
    """Computes all that waits in the queue's rows."""
    from changes.models import Computation
    from changes.worker import tasks

    for pk in Computation.objects.filter(state="queued").values_list("pk", flat=True):
        tasks.compute(pk)


def sent(client: Client, address: str, typed: dict[str, Any]) -> Any:
    """The answer that the page of what was sent gives once the worker has computed it."""
    answer = client.post(address, typed)
    assert answer.status_code == 302, answer.content.decode()
    work()
    return client.get(answer["Location"], follow=True)
