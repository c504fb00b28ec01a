"""The stylesheet that stands on the edge of each printed page, and what the building code's list asks besides."""

from __future__ import annotations

import re
from types import SimpleNamespace

import pytest
from django.template.loader import render_to_string

from tests.trusses.test_required import changed
from trusses.analysis.format.document import read
from trusses.revisions import add_mark, read_and_analyse
from trusses.sheets import required, sheet, sheet_facts
from trusses.templatetags.printing import revisions_of


def margins(client, truss, number=0):
    return client.get(f"/jobs/{truss.job_id}/trusses/{truss.pk}/revisions/{number}/margins.css")


def contents(css: str) -> dict[str, str]:
    """{margin box: its text} as a browser reads the strings."""
    found = re.findall(r'@([a-z-]+) \{ content: "((?:[^"\\\n]|\\[0-9a-f]{1,6} )*)"[ ;]', css)
    return {box: re.sub(r"\\([0-9a-f]{1,6}) ", lambda m: chr(int(m[1], 16)), text) for box, text in found}


def test_each_printed_page_names_the_sheet(client_of, site_lead, truss):
    answer = margins(client_of(site_lead), truss)
    assert (answer.status_code, answer["Content-Type"]) == (200, "text/css; charset=utf-8")
    told = contents(answer.content.decode())
    assert told["top-left"] == f"K1 revision 0 · code {sheet.code(truss.current)}"
    assert told["top-right"] == truss.job.name
    assert told["top-center"] == "CURRENT, DO NOT BUILD"
    assert told["bottom-left"] == "No. Do not build from this: no sealed drawing is attached."
    assert "counter(page)" in answer.content.decode()
    heading = answer.content.decode().splitlines()[1].replace(".no-edges .after-first h2::after {", "@heading {")
    assert contents(heading) == {"heading": told["top-left"]}


def test_a_name_can_not_end_its_string(client_of, designer, job, king_post):
    job.name = 'Lot "9" \\ } @import url(x); </style>'
    job.save()
    mark = add_mark(job, {**king_post, "mark": 'K"\\é'}, 1, designer)
    css = margins(client_of(designer), mark).content.decode()
    assert contents(css)["top-right"] == job.name
    assert contents(css)["top-left"].startswith('K"\\é revision 0')
    assert css.count('"') == 2 * 6 + 2
    assert "@import" not in css


def test_a_superseded_sheet_says_so_on_each_page(client_of, site_lead, truss):
    from trusses.models import Revision

    first = truss.current
    second = Revision.objects.create(
        truss=truss, number=1, document=first.document, analysis=first.analysis, sha256="1" * 64
    )
    truss.current = second
    truss.save()
    told = contents(margins(client_of(site_lead), truss, 0).content.decode())
    assert told["bottom-left"] == "No. Superseded by revision 1: do not build from this."
    assert told["top-center"] == "DEAD"


def test_any_other_page_says_what_its_address_says_and_nothing_ends_the_string(client_of, site_lead):
    words = {"named": 'Request 6 · R11 revision 1"; }', "of": "Demo house", "foot": "Not a drawing to build from."}
    answer = client_of(site_lead).get("/print.css", words)
    assert (answer.status_code, answer["Content-Type"]) == (200, "text/css; charset=utf-8")
    css = answer.content.decode()
    told = contents(css)
    assert (told["top-left"], told["top-right"], told["bottom-left"]) == tuple(words.values())
    assert css.count('"') == 2 * 5 + 2


def test_a_request_names_each_revision_once(truss):
    section = SimpleNamespace(truss=truss, revision=truss.current)
    assert revisions_of([section, section]) == " · K1 revision 0"
    assert revisions_of([]) == ""


def test_a_mark_prints_its_name_and_revision(client_of, site_lead, truss):
    page = client_of(site_lead).get(f"/jobs/{truss.job_id}/trusses/{truss.pk}/").content.decode()
    (link,) = re.findall(r'media="print" href="(/print\.css\?[^"]+)"', page)
    css = client_of(site_lead).get(link.replace("&amp;", "&")).content.decode()
    told = contents(css)
    assert told["top-left"] == f"{truss.mark} revision 0"
    assert told["top-center"] == f"as of {truss.job.today():%b} {truss.job.today().day}, {truss.job.today().year}"


@pytest.mark.parametrize("path", ["", "sheets/", "requests/", "people/"])
def test_a_list_prints_its_job_and_day_on_each_page(client_of, site_lead, truss, path):
    page = client_of(site_lead).get(f"/jobs/{truss.job_id}/{path}").content.decode()
    assert re.search(r'media="print" href="/print\.css\?named=[^"]+of=[^"]+on=as\+of\+', page)


@pytest.mark.parametrize("who", ["outsider", "nobody"])
def test_it_is_nobody_elses(who, cast, client_of, truss):
    assert margins(client_of(cast[who]), truss).status_code in (302, 404)


def besides(document):
    document, analysis = read_and_analyse(document)
    design = read(document)
    return {item.asks: item for item in required.besides(design, sheet_facts.facts(design, analysis, None))}


def test_the_building_codes_list_has_its_content_or_says_what_is_missing():
    found = besides(changed())
    assert found["Number of plies"].content == "1."
    assert found["Support locations"].content == 'From the left bearing: A at 0", C at 20\'-0".'
    assert found["Largest tension in the members"].says[0].startswith("Listed for every member; the largest is ")
    assert found["Largest uplift reaction"].content == "85 lb at A (0.6D + 0.6W/up)."
    lacking = {asks for asks, item in found.items() if item.state == "missing"}
    assert lacking == {"Environmental design criteria, with wind speed and exposure", "Lateral and drag loads"}
    for item in found.values():
        row = re.sub(r"<[^>]+>", " ", render_to_string("trusses/_required_item.html", {"item": item}))
        assert row.count("missing") == (item.state != "here"), "once: as its state, or before what lacks of it"


def test_no_wind_in_the_document_is_named():
    loads = {"area": [load for load in changed()["loads"]["area"] if load["case"] != "wind"]}
    found = besides(changed(loads=loads))["Largest uplift reaction"]
    assert found.content == "None. missing: uplift by wind: the document has no wind load."
