"""A candidate without one of the things that made it stronger: what it doesn't need is taken back."""

from __future__ import annotations

from collections.abc import Iterator

from trusses.analysis.redesign.changes import was
from trusses.analysis.redesign.draft import Draft
from trusses.analysis.redesign.strengthen import run


def weaker(draft: Draft, start: Draft) -> Iterator[Draft]:
    """Drafts with one piece of today's lumber again, a restraint row or a chord's spacing as today, or one ply less."""
    seen: set[str] = set()
    for name in draft.members:
        before = was(start, draft, name)
        if name in seen or before is None or before["lumber"] == draft.members[name]["lumber"]:
            continue
        piece = (name,) if draft.role(name) == "web" else run(draft, name)
        seen |= set(piece)
        out = draft.copy()
        for member in piece:
            held = was(start, draft, member)
            out.set_lumber(member, (held or before)["lumber"])
        yield out
    for web, rows in draft.rows.items():
        if rows > start.rows.get(web, 0):
            out = draft.copy()
            out.rows[web] = rows - 1
            if not out.rows[web] and web not in start.rows:
                del out.rows[web]
            yield out
    for key in ("top_chord_in", "bottom_chord_in"):
        if draft.restraint.get(key) != start.restraint.get(key):
            out = draft.copy()
            if key in start.restraint:
                out.restraint[key] = start.restraint[key]
            else:
                del out.restraint[key]
            yield out
    if draft.plies > start.plies:
        out = draft.copy()
        out.set_plies(draft.plies - 1)
        yield out
