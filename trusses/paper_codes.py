"""The codes on printed sheets: made with each revision, ended by a designer, read from what people type.

Sixteen letters and figures of Crockford's base 32, 80 random bits: nobody guesses one, and it can be read out over the
phone, as it has no letter that is taken for a figure.
"""

from __future__ import annotations

import secrets
from typing import Any

from django.db import transaction
from django.utils import timezone

from trusses.models import PaperCode, Revision
from trusses.permissions import require
from trusses.refusals import Refused

LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
LENGTH = 16
END = "end the code on a printed sheet"
_MEANT = str.maketrans({"O": "0", "I": "1", "L": "1"})


def new_token() -> str:
    return "".join(secrets.choice(LETTERS) for _ in range(LENGTH))


def make(revision: Revision) -> PaperCode:
    return PaperCode.objects.create(revision=revision, token=new_token())


def counting(revision: Revision) -> PaperCode:
    """The one that is printed on the revision's sheets now."""
    return revision.paper_codes.get_or_create(ended_at=None, defaults={"token": new_token()})[0]


def spelled(token: str) -> str:
    """As it is printed and read out: in fours."""
    return "-".join(token[i : i + 4] for i in range(0, len(token), 4))


def read(typed: str) -> str:
    """The code in what somebody typed, whatever parts it and with O for 0, I and L for 1; empty where it is none."""
    meant = "".join(letter for letter in typed.upper()[:200] if letter.isalnum()).translate(_MEANT)
    return meant if len(meant) == LENGTH and set(meant) <= set(LETTERS) else ""


def found(token: str) -> PaperCode | None:
    rows = PaperCode.objects.select_related("revision__truss__current", "revision__truss__job")
    heavy = [f"revision__{held}{field}" for held in ("", "truss__current__") for field in ("document", "analysis")]
    return rows.defer(*heavy).filter(token=token).first()


def end(by: Any, revision: Revision, token: str, reason: str) -> PaperCode:
    """Ends the code that the person saw, and makes the next. Raises Refused where it was ended meanwhile."""
    require(by, END, revision.truss.job)
    if not reason.strip():
        raise Refused("paper-code-reason", "reason")
    with transaction.atomic():
        rows = PaperCode.objects.filter(revision=revision, token=token, ended_at=None)
        if not rows.update(ended_at=timezone.now(), ended_by=by, reason=reason.strip()[:500]):
            raise Refused("paper-code-ended")
        return make(revision)
