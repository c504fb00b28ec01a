"""The page of one revision's sheet."""

from __future__ import annotations

import copy
import datetime
import re

import pytest

from tests.trusses.reading import HOSTILE, text
from trusses.models import Placement, Revision
from trusses.revisions import add_mark, issue_revision, read_and_analyse
from trusses.sheets import sheet


class TestASheet:
    def page(self, client_of, person, truss, number=0):
        return client_of(person).get(f"/jobs/{truss.job_id}/trusses/{truss.pk}/revisions/{number}/")

    def test_says_no_first_until_the_sealed_drawing_is_attached(self, client_of, site_lead, truss):
        page = self.page(client_of, site_lead, truss)
        said = text(page)
        main = said[said.index("No. Do not build") :]
        assert main.startswith("No. Do not build from this: no sealed drawing is attached.")
        assert "Lumber passes" in main
        assert "Plates not checked" in main
        assert "Restraint not checked" in main
        assert "Seal missing" in main
        first = page.content.decode().index('class="first-line"')
        assert first < page.content.decode().index("<h1")

    def test_says_what_whoever_sets_it_needs(self, client_of, site_lead, truss):
        Placement.objects.create(
            truss=truss, level="Porch roof", origin_x_in=12, origin_y_in=30, direction="y", spacing_in=24, count=3
        )
        for label, points in (("west beam", [[0, 0], [0, 90]]), ("porch beam", [[0, 24], [99, 24]])):
            truss.job.wall_lines.create(label=label, level="Porch roof", points=points)
        said = text(self.page(client_of, site_lead, truss))
        for words in (
            "Bottom chord: held sideways at 4'-0\" on center or closer.",
            "Copies 1–3 of K1.",
            'Their marked end, bearing A: by the plan porch beam, which is drawn 6" off it;',
            "Porch roof: 3 at 2'-0\" on center, the first 1'-0\" from west beam",
            'its left end 6" up from porch beam',
            "the span runs up the plan, left end first",
            "T1, T2 top chord 2x6 DF-L No.1 11'-2",
            "Snow, left: 20 psf on the top chord, per level foot, up to 10'-0\" from the left bearing",
            "Plates",
            "never cut, drill, notch or load a truss except where its own current sealed drawing",
            "IRC R502.11.3 (2012)",
            "Truss document SHA-256 " + truss.current.sha256,
            sheet.code(truss.current),
        ):
            assert words.lower() in said.lower()

    def test_says_what_a_deflection_is_compared_with(self, client_of, site_lead, truss):
        """Inches and the share of the length are one figure told twice, of what there is and of what is allowed."""
        said = text(self.page(client_of, site_lead, truss))
        pattern = r"(Live|Total) deflection: ([\d.]+) in. of ([\d.]+) in. allowed: L/([\d,]+), where L/(\d+) is allowed"
        found = re.findall(pattern, said)
        assert [name for name, *_ in found] == ["Live", "Total"]
        for _, inches, limit_in, over, limit_over in found:
            length = float(limit_in) * int(limit_over)
            assert length == pytest.approx(240, rel=0.02)
            assert float(inches) == pytest.approx(length / int(over.replace(",", "")), abs=0.006)
        assert "L is the span between bearings" in said
        assert "span over" not in said

    def test_says_which_edge_of_a_web_an_opening_leaves_to_its_row(self, client_of, site_lead, truss, designer):
        """W1 is 3.5 in. wide at 120 in., its row at 30 in. up, where 1.5 in. out from an edge is the row's."""
        document = copy.deepcopy(truss.current.document)
        document["lateral_restraint"]["webs"] = {"W1": 1}
        document["openings"] = [{"id": "O1", "shape": "circle", "centre_in": [125.25, 30], "diameter_in": 6}]
        issue_revision(truss, truss.current, *read_and_analyse(document), designer)
        told = "Row on W1: on its left edge only; on the right one opening O1 is in the way."
        said = text(self.page(client_of, site_lead, truss, 1))
        beside, tape = said.index("clear of wood Opening O1"), said.index("Check with a tape")
        assert told in said[beside:tape]
        held = said.index("Restraint to install")
        assert told in said[held : said.index("diagonal bracing", held)]
        document["openings"].append({**document["openings"][0], "id": "O2", "centre_in": [114.75, 30]})
        issue_revision(truss, truss.current, *read_and_analyse(document), designer)
        said = text(self.page(client_of, site_lead, truss, 2))
        assert "Row on W1: openings O1 and O2 leave no room for it on either edge. The designer has to say" in said
        assert "on its left edge only" not in said

    def test_of_an_old_revision_says_by_what_it_is_superseded(self, client_of, site_lead, truss, second_revision):
        said = text(self.page(client_of, site_lead, truss, 0))
        assert "No. Superseded by revision 1: do not build from this." in said
        assert "Go to revision 1" in said
        assert "Copies 1–2 of K1." in said

    def test_of_the_current_revision_says_what_changed_and_for_whom_it_is(
        self, client_of, site_lead, truss, second_revision
    ):
        page = self.page(client_of, site_lead, truss, 1)
        said = text(page)
        assert "Copy 3 of K1. Not for 1–2: built to revision 0 ." in said
        assert said.index("Changed since revision 0:") < said.index("Check with a tape") < said.index("Appendix:")
        assert "Web W1 is 2x6 SPF No.1/No.2 now, was 2x4 SPF No.1/No.2." in said
        assert "common practice, from memory" not in said
        assert 'Opening O1 is new: 8" round, with 1" clear all round.' in said
        assert "clear of wood Opening O1" in said
        assert '<span class="tag ">clear of wood</span>' in page.content.decode(), "not in the color of what may be"
        assert "<script>alert" not in page.content.decode()

    def test_all_that_changed_is_said_on_a_screen_and_on_paper(
        self, client_of, site_lead, truss, second_revision, monkeypatch
    ):
        every = [f"Web W{n} is gone." for n in range(1, 7)]
        monkeypatch.setattr(sheet, "what_changed", lambda *_: every)
        first = self.page(client_of, site_lead, truss, 1).content.decode().partition('<div class="after-first">')[0]
        (paper,) = re.findall(r'<p class="print-only[^"]*"><strong>Changed as well since revision 0:(.*?)</p>', first)
        (screen,) = re.findall(r"<summary>and 2 more</summary>(.*?)</details>", first)
        for told in (paper, screen):
            assert [one for one in every if one in told] == every[4:]
        assert [first.count(one) for one in every] == [1, 1, 1, 1, 2, 2]

    def test_repeats_what_was_accepted_with_its_reason(self, client_of, site_lead, truss, designer):
        document, analysis = read_and_analyse({**truss.current.document, "title": "Softer"})
        check = next(check for check in analysis["checks"] if check["rule"] == "live deflection")
        check |= {"passes": False, "ratio": 1.25, "demand": 1.25, "capacity": 1.0}
        analysis |= {"passes": False, "worst_ratio": 1.25}
        accept = {"rule": "live deflection", "reason": "No ceiling below <b>it</b>"}
        issue_revision(truss, truss.current, document, analysis, designer, [accept])
        said = text(self.page(client_of, site_lead, truss, 1))
        assert 'Accepted although it fails: live deflection, 1 1/4" against a limit of 1"' in said
        assert "No ceiling below &lt;b&gt;it&lt;/b&gt;" in said
        assert "Lumber passes, with an exception" in said

    def test_is_dated_where_the_building_stands(self, client_of, site_lead, job, king_post, designer, monkeypatch):
        """03:00 UTC on March 11 is still the evening of March 10 in Denver."""
        now = datetime.datetime(2027, 3, 11, 3, tzinfo=datetime.UTC)
        issued_at = Revision._meta.get_field("issued_at")
        monkeypatch.setattr(issued_at, "default", lambda: now)
        monkeypatch.setitem(issued_at.__dict__, "_get_default", lambda: now)
        mark = add_mark(job, {**king_post, "mark": "K7"}, 1, designer)
        assert mark.current.issued_at == now
        assert "issued Mar 10, 2027" in text(self.page(client_of, site_lead, mark))

    def test_has_a_code_to_scan_that_leads_back_to_it(self, client_of, site_lead, truss):
        assert "<svg" in self.page(client_of, site_lead, truss).content.decode()
        assert 'class="qr"' in self.page(client_of, site_lead, truss).content.decode()

    def test_has_a_code_to_read_over_the_phone(self, client_of, site_lead, job, truss, second_revision):
        client = client_of(site_lead)
        for number in (0, 1):
            code = sheet.code(truss.revisions.get(number=number))
            assert re.fullmatch(r"\d{3} \d{3}", code)
            answer = client.get(f"/jobs/{job.pk}/sheets/", {"code": code})
            assert answer["Location"] == f"/jobs/{job.pk}/trusses/{truss.pk}/revisions/{number}/"

    @pytest.mark.parametrize("code", ["000 000", "12", HOSTILE, "٣٣٣٣٣٣"])
    def test_a_code_of_no_sheet_says_so(self, client_of, site_lead, job, truss, code):
        page = client_of(site_lead).get(f"/jobs/{job.pk}/sheets/", {"code": code})
        assert "Do not build from that paper." in text(page)
        assert "<script>alert" not in page.content.decode()

    def test_a_code_of_another_job_is_not_known_here(self, client_of, site_lead, job, truss, other_job):
        page = client_of(site_lead).get(f"/jobs/{job.pk}/sheets/", {"code": sheet.code(other_job.current)})
        assert "No sheet of this job has the code" in text(page)

    @pytest.mark.parametrize("number", [7, 10**30])
    def test_that_does_not_exist(self, client_of, site_lead, truss, number):
        assert self.page(client_of, site_lead, truss, number).status_code == 404
