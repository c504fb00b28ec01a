"""The options for a document's openings as plain text for a designer."""

from __future__ import annotations

import textwrap

from trusses.analysis.format.model import Opening, Truss
from trusses.analysis.piece_names import panel_names
from trusses.analysis.redesign.search import Candidate
from trusses.analysis.redesign.wish import Granted
from trusses.analysis.words.openings import ASKED
from trusses.analysis.words.phrases import counted, listed, say
from trusses.sheets.cautions import STANDING_NOTICE
from trusses.sheets.plain_text import WIDTH


def options_report(truss: Truss, found: Granted) -> str:
    """What is wanted, each option with what it changes, and why there is none; ends in a newline."""
    parts = [f"{truss.mark}  {truss.title}".rstrip() + "\n" + "=" * WIDTH, _wanted(truss)]
    parts += [_option(truss, number, option) for number, option in enumerate(found.options, 1)]
    if found.none:
        head = "Not possible here." if found.none.verdict == "never" else "No redesign passes."
        parts.append(f"{head}\n{_wrapped(found.none.says)}")
    parts.append(textwrap.fill(STANDING_NOTICE, WIDTH))
    return "\n\n".join(parts) + "\n"


def _wanted(truss: Truss) -> str:
    if not truss.openings:
        return "The document asks for no opening."
    return "Wanted:\n" + "\n".join(map(_asked, truss.openings))


def _asked(opening: Opening) -> str:
    place = {"centre_in": opening.centre, "clearance_in": opening.clearance_in}
    return _wrapped(say(ASKED, opening.shape, {"id": opening.id, "size_in": opening.size, **place}))


def _option(truss: Truss, number: int, option: Candidate) -> str:
    called = panel_names(option.document) | panel_names(truss.document)
    change, state = option.change, "passes" if option.passes else "doesn't pass"
    names = [called.get(member, member) for member in change.touched]
    touches = f"{counted(len(names), 'member', 'members')}: {listed(names, 12)}" if names else "no member"
    feet = f"{change.board_feet:+.1f} board feet" if abs(change.board_feet) >= 0.05 else "no more lumber"
    facts = f"Touches {touches}; {feet}; worst ratio {option.analysis.worst_ratio:.2f}."
    return "\n".join([f"{number}. {option.title}  [{state}]", _wrapped(facts), _wrapped(option.says)])


def _wrapped(text: str) -> str:
    return textwrap.fill(text, WIDTH, initial_indent="   ", subsequent_indent="   ")
