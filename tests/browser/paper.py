"""What a printer would lay down: pages printed by Chromium, their letters and their ink. Millimetres."""

from __future__ import annotations

from dataclasses import dataclass

import pypdfium2
from PIL import Image
from playwright.sync_api import Page

MM = 25.4 / 72
"""A point."""


@dataclass(frozen=True)
class Letter:
    """One printed letter: its ink's box, from the page's lower left corner."""

    text: str
    left: float
    bottom: float
    right: float
    top: float

    @property
    def high(self) -> float:
        return self.top - self.bottom

    @property
    def long(self) -> float:
        return max(self.high, self.right - self.left)

    def covers(self, other: Letter) -> bool:
        """Whether two letters share so much of their boxes that neither can be read."""
        wide = min(self.right, other.right) - max(self.left, other.left)
        high = min(self.top, other.top) - max(self.bottom, other.bottom)
        least = min((one.right - one.left) * one.high for one in (self, other))
        return wide > 0 and high > 0 and wide * high > 0.4 * least


def printed(page: Page, size: str = "Letter", **how: object) -> pypdfium2.PdfDocument:
    return pypdfium2.PdfDocument(page.pdf(format=size, **how))


def image(paper: pypdfium2.PdfDocument, number: int = 0, dpi: int = 200) -> Image.Image:
    """A page as a scanner or a photograph without colour sees it."""
    return paper[number].render(scale=dpi / 72).to_pil().convert("L")


def letters(paper: pypdfium2.PdfDocument, number: int) -> list[Letter]:
    """All that is printed on a page, spaces left out."""
    text, (wide, high) = paper[number].get_textpage(), paper[number].get_size()
    found = []
    for i in range(text.count_chars()):
        character = text.get_text_range(i, 1)
        if character.strip():
            left, bottom, right, top = text.get_charbox(i)
            if left < wide and bottom < high:  # a ligature's second letter is told far outside of the paper
                found.append(Letter(character, *(edge * MM for edge in (left, bottom, right, top))))
    return found


def laid_over_one_another(found: list[Letter]) -> list[tuple[str, str]]:
    """Pairs of letters of which one is printed on the other."""
    rows: dict[int, list[Letter]] = {}
    for one in found:
        for row in range(int(one.bottom // 3), int(one.top // 3) + 1):
            rows.setdefault(row, []).append(one)
    pairs = set()
    for row in rows.values():
        row.sort(key=lambda one: one.left)
        for i, one in enumerate(row):
            for other in row[i + 1 :]:
                if other.left >= one.right:
                    break
                if one.covers(other):
                    pairs.add((one.text, other.text))
    return sorted(pairs)
