"""What a PDF may be: a file that is read to its end, and in which nothing runs, plays or carries another file."""

from __future__ import annotations

import pytest

from trusses.refusals import Refused
from trusses.sealing import files, judge
from trusses.sealing.drawn_pdf import pdf

LINE = ["0 0 m 100 100 l S"]
STREAM = "<< /Length 3 /Type /Embedded#46ile >>\nstream\nabc\nendstream"


def code_of(content: bytes) -> str:
    with pytest.raises(judge.Refused) as refused:
        judge.pages_of(content)
    return str(refused.value)


def test_plain_pages_are_counted():
    assert judge.pages_of(pdf(LINE, pages=3)) == 3


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", "pdf-none"),
        (b"GIF89a", "pdf-none"),
        (b"<html>%PDF-1.4", "pdf-none"),
        (b"%PDF-1.4\n", "pdf-broken"),
        (b"%PDF-1.4\n" + bytes(range(256)) * 40, "pdf-broken"),
        (pdf(LINE, pages=0), "pdf-broken"),
        (pdf(LINE, pages=judge.MOST_PAGES + 1), "pdf-too-many-pages"),
        (pdf(LINE, more=["<< >>"] * judge.MOST_OBJECTS), "pdf-too-much"),
        (pdf(LINE, more=["[" * 80 + "]" * 80]), "pdf-broken"),
    ],
)
def test_what_is_no_plain_pdf(content, code):
    assert code_of(content) == code


@pytest.mark.parametrize(
    "planted",
    [
        "<< /S /JavaScript /JS (app.alert\\(1\\)) >>",
        "<< /S /Java#53cript /J#53 (1) >>",
        "<< /Type /Action /S /Laun#63h /F (a.exe) >>",
        "<< /Type /Annot /Subtype /File#41ttachment >>",
        "<< /Type /Annot /Subtype /Rich#4dedia >>",
        "<< /Kids [<< /A << /S /Submit#46orm /F (a) >> >>] >>",
        "<< /Names << /Embedded#46iles << /Names [] >> >> >>",
        "<< /Type /Filespec /E#46 << >> >>",
        "<< /X#46A [] >>",
        STREAM,
    ],
)
def test_what_runs_or_carries_is_found_wherever_it_stands(planted):
    """Names are written with escapes, as whoever hides them would."""
    assert code_of(pdf(LINE, more=[planted])) == "pdf-runs"


def test_a_script_that_opens_with_the_file():
    assert code_of(pdf(LINE, catalog="/OpenAction << /S /Java#53cript /J#53 (1) >>")) == "pdf-runs"


def test_an_object_that_no_table_names_is_seen_all_the_same():
    assert code_of(pdf(LINE) + b"\n9 0 obj << /S /JavaScript >> endobj") == "pdf-runs"


def test_where_it_opens_and_links_to_the_web_it_may():
    more = ["<< /Type /Annot /Subtype /Link /A << /S /URI /URI (https://example.test/) >> >>"]
    assert judge.pages_of(pdf(LINE, more=more, catalog="/OpenAction [5 0 R /Fit]")) == 1


class TestInAProcessOfItsOwn:
    def test_each_page_becomes_a_picture(self, tmp_path):
        assert files.judged(pdf(LINE, pages=2), tmp_path) == 2
        assert sorted(one.name for one in tmp_path.iterdir()) == ["1.png", "2.png"]

    def test_what_it_refuses_is_told_by_code(self, tmp_path):
        with pytest.raises(Refused) as refused:
            files.judged(pdf(LINE, more=["<< /J#53 (1) >>"]), tmp_path)
        assert (refused.value.code, refused.value.values) == ("pdf-runs", {"what": "JS"})
        assert not list(tmp_path.iterdir())

    def test_one_that_never_ends_is_ended(self, tmp_path, monkeypatch):
        monkeypatch.setattr(files, "WITHIN_S", 0.01)
        with pytest.raises(Refused) as refused:
            files.judged(pdf(LINE), tmp_path)
        assert refused.value.code == "pdf-broken"
