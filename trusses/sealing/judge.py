"""Judges a PDF that somebody sent, and draws its pages. Runs as a process of its own (`files.judged` starts it).

It stands alone: nothing of the project is imported, so that what reads a hostile file has no database, no secret and
bounded time and memory. The file comes on standard input, pictures go to the folder that is named, one line of JSON on
standard output says how many pages there are, or by a code why it is refused.
"""

from __future__ import annotations

import io
import json
import re
import sys
from pathlib import Path
from typing import Any

MOST_PAGES = 12
MOST_OBJECTS = 20_000
MOST_DEPTH = 60
LONGER_SIDE_PX = 2000
CPU_S = 10
MEMORY_BYTES = 1 << 30
FILE_BYTES = 20 << 20

RUNS = {
    "/JavaScript",
    "/Launch",
    "/ImportData",
    "/SubmitForm",
    "/GoToE",
    "/GoToR",
    "/Rendition",
    "/Movie",
    "/Sound",
    "/RichMediaExecute",
    "/FileAttachment",
    "/RichMedia",
    "/Screen",
    "/3D",
    "/EmbeddedFile",
}
"""Types of actions, annotations and streams that act, play, or carry another file."""
HOLDS = {"/JS", "/JavaScript", "/EmbeddedFiles", "/EF", "/XFA", "/RichMediaContent", "/Launch"}
"""Keys under which scripts, programs, forms with scripts and files stand."""
_PLAINLY = re.compile(rb"/(JavaScript|EmbeddedFile|Launch|RichMedia|XFA)\b")
"""The same written out plainly, wherever in the file, for a reader that finds other objects than ours does."""


class Refused(Exception):
    """By a code of `words.SEALING`."""

    def __init__(self, code: str, **values: Any) -> None:
        super().__init__(code)
        self.told = {"refused": code, "values": values}


def pages_of(sent: bytes) -> int:
    """How many pages a PDF has, of which every object was looked at. Raises Refused."""
    from pypdf import PdfReader
    from pypdf.errors import PyPdfError

    if not sent.startswith(b"%PDF-"):
        raise Refused("pdf-none")
    if found := _PLAINLY.search(sent):
        raise Refused("pdf-runs", what=found[1].decode())
    try:
        reader = PdfReader(io.BytesIO(sent))
        if reader.is_encrypted:
            raise Refused("pdf-locked")
        _look_at_all(reader)
        count = len(reader.pages)
    except (PyPdfError, ValueError, KeyError, TypeError, IndexError, AttributeError, RecursionError) as broken:
        # what a reader of broken files stumbles over is not told to whoever sent it
        raise Refused("pdf-broken") from broken
    if not count:
        raise Refused("pdf-broken")
    if count > MOST_PAGES:
        raise Refused("pdf-too-many-pages", pages=count, most=MOST_PAGES)
    return count


def _look_at_all(reader: Any) -> None:
    """Every object of the file, those in object streams too, and the trailer. Raises Refused."""
    from pypdf.generic import IndirectObject

    numbers = {(number, at) for at, those in reader.xref.items() for number in those}
    numbers |= {(number, 0) for number in reader.xref_objStm}
    if len(numbers) > MOST_OBJECTS:
        raise Refused("pdf-too-much", most=MOST_OBJECTS)
    _look_at(reader.trailer, 0)
    for number, at in sorted(numbers):
        if number:
            _look_at(reader.get_object(IndirectObject(number, at, reader)), 0)


def _look_at(one: Any, depth: int) -> None:
    """Raises Refused for what runs or holds another file; what stands elsewhere is looked at by its own number."""
    from pypdf.generic import ArrayObject, DictionaryObject

    if depth > MOST_DEPTH:
        raise Refused("pdf-broken")
    if isinstance(one, DictionaryObject):
        for key in ("/S", "/Subtype", "/Type"):
            if (value := str(one.raw_get(key)) if key in one else "") in RUNS:
                raise Refused("pdf-runs", what=value.removeprefix("/"))
        for key in list(one.keys()):
            if key in HOLDS:
                raise Refused("pdf-runs", what=str(key).removeprefix("/"))
            _look_at(one.raw_get(key), depth + 1)
    elif isinstance(one, ArrayObject):
        for each in list.__iter__(one):
            _look_at(each, depth + 1)


def draw(sent: bytes, count: int, folder: Path) -> None:
    """Each page as a grey picture, `1.png` on. Raises Refused where the other reader finds another file."""
    import pypdfium2

    try:
        pdf = pypdfium2.PdfDocument(sent)
        if len(pdf) != count:
            raise Refused("pdf-broken")
        pdf.init_forms()  # so that the look of a digital signature is drawn
        for number in range(count):
            page = pdf[number]
            longer = max(page.get_size())
            if not longer > 0:
                raise Refused("pdf-broken")
            picture = page.render(scale=LONGER_SIDE_PX / longer, grayscale=True).to_pil()
            picture.convert("L").save(folder / f"{number + 1}.png", "PNG", optimize=True)
    except pypdfium2.PdfiumError as broken:
        raise Refused("pdf-broken") from broken


def _bounded() -> None:
    import resource

    resource.setrlimit(resource.RLIMIT_CPU, (CPU_S, CPU_S))
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_FSIZE, (FILE_BYTES, FILE_BYTES))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def main(folder: str) -> None:
    _bounded()
    sent = sys.stdin.buffer.read()
    try:
        count = pages_of(sent)
        draw(sent, count, Path(folder))
    except Refused as refused:
        print(json.dumps(refused.told))
        return
    except MemoryError:
        print(json.dumps({"refused": "pdf-too-much", "values": {"most": MOST_OBJECTS}}))
        return
    print(json.dumps({"pages": count}))


if __name__ == "__main__":
    main(sys.argv[1])
