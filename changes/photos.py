"""Photos that people send with an ask; how they are judged and kept is `trusses.pictures`."""

from __future__ import annotations

from typing import Any, BinaryIO

from changes.models import Photo
from changes.permissions import may, require
from trusses.models import Job
from trusses.pictures import keep as keep_picture
from trusses.pictures import path_of

__all__ = ["keep", "path_of"]


def keep(user: Any, job: Job, sent: BinaryIO, size: int) -> Photo:
    """Keeps a photo of who may tell of something or decide in a job. Raises NotAllowed, Refused."""
    require(user, "tell" if may(user, "tell", job) else "decide", job)
    kept = keep_picture(job.pk, sent, size)
    return Photo.objects.create(job=job, by=user, sha256=kept.sha256, width_px=kept.width_px, height_px=kept.height_px)
