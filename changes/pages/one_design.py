"""One design for several groups of copies, beside a design for each: offered on a request's page, by variants."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from changes.models import Option
from changes.pages.section import Section
from trusses.analysis.words.phrases import copies as told_copies


@dataclass(frozen=True)
class OneDesign:
    """Of one mark: how many designs its copies get as the options on show are, `chosen` whether that is the one for all
    of them, and the address that shows the other way."""

    mark: str
    copies: str
    designs: int
    groups: int
    chosen: bool
    href: str


def one_design(sections: Sequence[Section]) -> list[OneDesign]:
    """For each mark of which several groups of copies share an option."""
    found = []
    for mark in dict.fromkeys(section.truss.mark for section in sections):
        mine = [section for section in sections if section.truss.mark == mark and section.chosen]
        shared = _shared(mine)
        if len(shared) < 2:
            continue
        of_them = [section for section in mine if section.copies in [one.copies for one in shared]]
        chosen = all(section.chosen in shared for section in of_them)
        to = [_alone(section) for section in of_them] if chosen else shared
        others = [one.chosen for one in sections if one.chosen and one not in of_them]
        address = urlencode({"option": [one.pk for one in [*others, *to] if one]}, doseq=True)
        copies = sorted({number for one in shared for number in one.copies})
        designs = len({section.chosen.sha256 for section in of_them if section.chosen})
        found.append(OneDesign(mark, told_copies(copies), designs, len(of_them), chosen, f"?{address}"))
    return found


def _shared(sections: Sequence[Section]) -> list[Option]:
    """The option of each section that is one document with one of another, of the first such document."""
    for option in (option for section in sections for option in section.options if _is_for_all(option)):
        same = [each for section in sections for each in section.options if _same(each, option)]
        if len(same) > 1:
            return same
    return []


def _same(each: Option, option: Option) -> bool:
    return _is_for_all(each) and each.sha256 == option.sha256


def _is_for_all(option: Option) -> bool:
    return not isinstance(option.titled, str) and any(one["code"] == "for-all" for one in option.titled)


def _alone(section: Section) -> Option | None:
    return next((one for one in section.options if not _is_for_all(one)), section.chosen)
