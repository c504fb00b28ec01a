"""The map of clear openings as plain text, for whoever runs ducts and pipes."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from trusses.analysis.clearance.clear_map import Clear
from trusses.analysis.format.model import Truss
from trusses.analysis.words.lengths import feet_inches
from trusses.analysis.words.phrases import listed
from trusses.clear.taped import PocketTaped, Tape, Taped
from trusses.sheets.cautions import STANDING_NOTICE
from trusses.sheets.plain_text import WIDTH

_MEASURED = (
    "Sizes are of the clear space, insulation and clearance included, down to the eighth of an inch. Along is from the"
    " face of a bearing to the near edge, up is from the top edge of the bottom chord to the lower edge; of a round one"
    " both are to its middle. They fit where they are told, and nothing larger of their kind fits in that pocket."
)


def clear_report(truss: Truss, found: Sequence[Clear]) -> str:
    """Each pocket's largest circle and rectangles with their places; ends in a newline."""
    tape = Tape(truss.document)
    parts = [f"{truss.mark}  {truss.title}".rstrip() + "\n" + "=" * WIDTH]
    parts += [_pocket(tape.pocket(one)) for one in found] or ["No pocket has room for an opening of an inch."]
    parts += [textwrap.fill(text, WIDTH) for text in (_MEASURED, STANDING_NOTICE)]
    return "\n\n".join(parts) + "\n"


def _pocket(one: PocketTaped) -> str:
    held = one.clear.pocket.openings
    head = f"Pocket {one.clear.number}, between {listed(one.between, 8)}"
    if held:
        head += f"; opening {listed(held, 6)} stands in it"
    lines = [textwrap.fill(head, WIDTH, subsequent_indent="  ")]
    return "\n".join(lines + [_line(taped) for taped in one.every])


def _line(taped: Taped) -> str:
    along = f"along {feet_inches(taped.reach.distance)} from {taped.reach.support.joint}" if taped.reach else ""
    up = f"up {feet_inches(taped.rise.distance)}" if taped.rise else ""
    return f"  {taped.kind:<12}{taped.size:<24}{along:<32}{up}".rstrip()
