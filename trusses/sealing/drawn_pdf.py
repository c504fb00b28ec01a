"""A small PDF of lines and letters, written out by hand: the demonstration's “sealed” drawings, which nobody sealed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from trusses.analysis.format.model import Truss

WIDE_PT, HIGH_PT = 792, 612
_EDGE_PT = 54


def demonstration(truss: Truss, number: int, lines: Sequence[str] = ()) -> bytes:
    """One page with a truss's members as lines, and that it is a demonstration without a seal."""
    xs, ys = zip(*((joint.x, joint.y) for joint in truss.joints), strict=True)
    scale = min((WIDE_PT - 2 * _EDGE_PT) / (max(xs) - min(xs)), 220 / max(max(ys) - min(ys), 1))
    strokes = []
    for member in truss.members:
        ends = [(_EDGE_PT + (end.x - min(xs)) * scale, 200 + (end.y - min(ys)) * scale) for end in truss.ends(member)]
        strokes.append("{:.2f} {:.2f} m {:.2f} {:.2f} l S".format(*(value for end in ends for value in end)))
    said = [
        (_EDGE_PT, 556, 24, "DEMONSTRATION, NO SEAL"),
        (_EDGE_PT, 528, 12, f"Mark {truss.mark}, revision {number}: drawn by a program for a demonstration."),
        (_EDGE_PT, 510, 12, "Nobody sealed this. Nothing may be built from it."),
        *((_EDGE_PT, 150 - 16 * i, 11, line) for i, line in enumerate(lines)),
    ]
    return pdf([*strokes, *(_text(*one) for one in said)])


def _text(x: float, y: float, size: float, words: str) -> str:
    plain = words.encode("latin-1", "replace").decode("latin-1")
    escaped = plain.replace("\\", r"\\").replace("(", r"\(").replace(")", r"\)")
    return f"BT /F1 {size:g} Tf {x:g} {y:g} Td ({escaped}) Tj ET"


def pdf(content: Iterable[str], *, pages: int = 1, more: Sequence[str] = (), catalog: str = "") -> bytes:
    """A PDF 1.4 of Letter pages, landscape, which all have that content. `more` are further objects, numbered on from
    what comes first, and `catalog` further entries of the catalogue: for files that must be refused."""
    stream = "\n".join(content).encode("latin-1")
    kids = " ".join(f"{5 + i} 0 R" for i in range(pages))
    bodies: list[bytes] = [
        f"<< /Type /Catalog /Pages 2 0 R {catalog} >>".encode("latin-1"),
        f"<< /Type /Pages /Count {pages} /Kids [{kids}] >>".encode(),
        b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>",
        b"<< /Length %d >>\nstream\n%s\nendstream" % (len(stream), stream),
        *(
            f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {WIDE_PT} {HIGH_PT}] /Contents 4 0 R"
            " /Resources << /Font << /F1 3 0 R >> >> >>".encode()
            for _ in range(pages)
        ),
        *(one.encode("latin-1") for one in more),
    ]
    out = b"%PDF-1.4\n"
    starts = []
    for number, body in enumerate(bodies, 1):
        starts.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    table = b"".join(b"%010d 00000 n \n" % start for start in starts)
    size = len(bodies) + 1
    return out + (
        b"xref\n0 %d\n0000000000 65535 f \n%strailer\n<< /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n"
        % (size, table, size, len(out))
    )
