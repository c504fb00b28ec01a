"""Photos that people send: judged by what they are, made anew, kept beside the database.

What was sent is never kept: it is decoded within bounds of bytes and pixels, turned upright, scaled down, and written
again as a JPEG without anything that the camera wrote into it, such as where the picture was taken.
"""

from __future__ import annotations

import hashlib
import io
import os
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from django.conf import settings
from django.http import FileResponse, Http404
from PIL import Image, ImageOps, UnidentifiedImageError

from trusses.refusals import Refused

MOST_BYTES = 12 * 1024 * 1024
MOST_PIXELS = 60_000_000
"""More than any phone's camera takes."""
MOST_AT_ONCE = 6
"""So many photos go with one thing that is said."""
KEPT_PX = 1600
"""The longer side of what is kept."""
_FORMATS = ("JPEG", "PNG", "WEBP")
_QUALITY = 82


@dataclass(frozen=True)
class Sent:
    """A picture as it came, and its size in bytes."""

    file: Any
    size: int


@dataclass(frozen=True)
class Kept:
    """A picture as it is kept."""

    sha256: str
    width_px: int
    height_px: int


def keep(job: int, sent: BinaryIO, size: int) -> Kept:
    """Keeps a picture of a job. Raises Refused for what is none, or too much of one."""
    if size > MOST_BYTES:
        raise Refused("photo-too-large", "photo", "photo", most_mb=MOST_BYTES // 1024**2)
    made = made_anew(sent.read(MOST_BYTES + 1))
    digest = hashlib.sha256(made.getvalue()).hexdigest()
    path = path_of(job, digest)
    path.parent.mkdir(parents=True, exist_ok=True)
    aside = path.with_suffix(f".{os.getpid()}")
    aside.write_bytes(made.getvalue())
    os.replace(aside, path)
    with Image.open(io.BytesIO(made.getvalue())) as image:
        return Kept(digest, *image.size)


def keep_all(job: int, sent: Sequence[Sent]) -> list[str]:
    """Keeps the pictures of a job that go with one thing; their SHA-256 in order, each once. Raises Refused."""
    if len(sent) > MOST_AT_ONCE:
        raise Refused("photos-too-many", "photo", "photo", most=MOST_AT_ONCE, sent=len(sent))
    return list(dict.fromkeys(keep(job, one.file, one.size).sha256 for one in sent))


def opened(job: int, digests: Sequence[str], number: int) -> FileResponse:
    """The picture of that number among those that go with one thing, counted from 1. Raises Http404."""
    try:
        picture = path_of(job, digests[number - 1] if 0 < number <= len(digests) else "none").open("rb")
    except FileNotFoundError:
        raise Http404("Not found.") from None
    return FileResponse(picture, content_type="image/jpeg", filename=f"photo-{number}.jpg")


def made_anew(sent: bytes) -> io.BytesIO:
    """The picture as it is kept. Raises Refused for what is none, or too much of one."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(sent), formats=_FORMATS) as image:
                width, height = image.size
                if width * height > MOST_PIXELS:
                    raise Refused("photo-too-many-pixels", "photo", "photo", most=MOST_PIXELS // 1_000_000)
                image.draft("RGB", (KEPT_PX, KEPT_PX))
                upright = ImageOps.exif_transpose(image).convert("RGB")
    except Refused:
        raise
    except (UnidentifiedImageError, Image.DecompressionBombWarning, Image.DecompressionBombError):
        raise Refused("photo-none", "photo", "photo") from None
    except (OSError, SyntaxError, ValueError):
        # what begins like a picture and breaks off
        raise Refused("photo-none", "photo", "photo") from None
    upright.thumbnail((KEPT_PX, KEPT_PX))
    bare = Image.new("RGB", upright.size)
    bare.paste(upright)
    out = io.BytesIO()
    bare.save(out, "JPEG", quality=_QUALITY, optimize=True)
    return out


def path_of(job: int, sha256: str) -> Path:
    return Path(settings.DATA_DIR) / "photos" / str(job) / f"{sha256}.jpg"
