"""A designer's edit of an option: the document that comes of the form, and the sentence for what can't be."""

from __future__ import annotations

import copy
import html
import re

import pytest

from changes import workflow
from changes.models import Option
from changes.pages import editor
from tests.changes.asking import HITS_WEB, compute
from tests.changes.reading import shows, text, url
from trusses.analysis.format.document import read, sha256

_MARKED = re.compile(r'<input[^>]* name="([^"]+)" id="[^"]+" aria-invalid="true" aria-describedby="([^"]+)"')
_SAYS = re.compile(r'<span id="(trouble-\d+)"[^>]*>(.*?)</span>', re.DOTALL)


def form(document: dict, **changed: str) -> dict[str, str]:
    """The whole form as a browser posts it, with some of its fields typed over."""
    rows = editor.rows(document)
    posted = {"plies": rows["plies"], "top_chord_in": rows["top_chord_in"], "bottom_chord_in": rows["bottom_chord_in"]}
    for joint in rows["joints"]:
        posted |= {joint["x_field"]: joint["x"], joint["y_field"]: joint["y"]}
    for member in rows["members"]:
        posted[member["lumber_field"]] = member["lumber"]
        if member["is_web"]:
            posted[member["rows_field"]] = member["rows"]
    for web in rows["new_webs"]:
        posted |= {part["field"]: part["value"] for part in web.values()}
    return posted | changed


def test_an_untouched_form_changes_nothing(king_post):
    king_post["joints"]["D"] = [120.01234, 0]  # no sixteenth of an inch: what the field shows is rounded
    for document in (king_post, {key: value for key, value in king_post.items() if key != "lateral_restraint"}):
        before = copy.deepcopy(document)
        edit = editor.apply(document, form(document))
        assert (edit.errors, edit.changed) == ({}, [])
        assert sha256(edit.document) == sha256(read(before).document)
        assert document == before


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"x-D": "10'-6\"", "y-D": "0"}, 'joint D to 10\'-6" along, 0" up'),
        ({"lumber-W1": "2x4 SPF Select Structural"}, "W1 to 2x4 SPF Select Structural"),
        (
            {"lumber-T1": "2x6 DF-L No.2", "lumber-T2": "2x6 DF-L No.2", "lumber-W1": "2x6 DF-L No.2"},
            "T1, T2 and W1 to 2x6 DF-L No.2",
        ),
        ({"plies": "2"}, "2 plies"),
        ({"top_chord_in": "16"}, "top chord restrained every 16"),
        ({"bottom_chord_in": ""}, "bottom chord held only at its ends"),
        ({"rows-W1": "1"}, "1 row of restraint on W1"),
        ({"out-W1": "on"}, "taken out: W1"),
    ],
)
def test_each_edit_is_made_and_told(king_post, typed, said):
    edit = editor.apply(king_post, form(king_post, **typed))
    assert edit.errors == {}
    assert edit.changed == [said]
    assert sha256(edit.document) != sha256(read(king_post).document)


def test_a_web_through_another_piece_is_told_and_nothing_typed_is_lost(king_post):
    """From A along the top chord's wood to its own peak joint's neighbor: a web where T1 is."""
    king_post["joints"] |= {"E": [150, 20]}
    king_post["members"].append(king_post["members"][4] | {"id": "W2", "joints": ["B", "E"]})
    king_post["members"].append(king_post["members"][4] | {"id": "W3", "joints": ["E", "C"]})
    typed = form(king_post, **{"new1-from": "D", "new1-to": "E", "new1-lumber": "2x4 SPF No.1/No.2", "x-E": "5'-0\""})
    edit = editor.apply(king_post, typed)
    assert set(edit.errors) == {"document"}
    assert "in the wood of" in edit.errors["document"] or "through the wood of" in edit.errors["document"]
    assert editor.rows(king_post, typed)["new_webs"][0]["from"]["value"] == "D"


def test_what_is_written_is_what_was_typed(king_post):
    typed = {
        "x-D": "10'-6\"",
        "lumber-B1": "2x6 DF-L Select Structural",
        "plies": "2",
        "rows-W1": "2",
        "top_chord_in": "0",
    }
    document = editor.apply(king_post, form(king_post, **typed)).document
    assert document["joints"]["D"] == [126, 0]
    assert document["plies"] == 2
    assert document["lateral_restraint"] == {"top_chord_in": 0, "bottom_chord_in": 48, "webs": {"W1": 2}}
    lumber = {member["id"]: member["lumber"] for member in document["members"]}
    assert lumber["B1"] == "2x6 DF-L Select Structural"
    assert lumber["B2"] == "2x6 DF-L No.1"
    assert document["loads"] == king_post["loads"]


def test_a_web_is_put_in_where_one_was_taken_out(king_post):
    web = {"new2-from": "D", "new2-to": "B", "new2-lumber": "2x4 DF-L No.2"}
    edit = editor.apply(king_post, form(king_post, **{"out-W1": "on"}, **web))
    assert edit.errors == {}
    assert edit.changed == ["taken out: W1", "W1 from D to B"]
    assert edit.document["members"][-1] == {
        "id": "W1",
        "role": "web",
        "joints": ["D", "B"],
        "lumber": "2x4 DF-L No.2",
    }


def test_a_web_that_is_taken_out_takes_its_restraint_along(king_post):
    king_post["lateral_restraint"]["webs"] = {"W1": 1}
    edit = editor.apply(king_post, form(king_post, **{"out-W1": "on"}))
    assert edit.document["lateral_restraint"]["webs"] == {}
    assert [member["id"] for member in edit.document["members"]] == ["T1", "T2", "B1", "B2"]


@pytest.mark.parametrize(
    ("typed", "field", "says"),
    [
        ({"x-D": "12' 13\""}, "x-D", "joint D, along: "),
        ({"x-D": "nowhere"}, "x-D", "nowhere"),
        ({"lumber-W1": "2x4 marzipan"}, "lumber-W1", "W1: “2x4 marzipan” is not in the lumber table."),
        ({"plies": "0"}, "plies", "a whole number from 1 to 6"),
        ({"plies": "two"}, "plies", "a whole number from 1 to 6"),
        ({"top_chord_in": "-4"}, "top_chord_in", "restraint of the top chord"),
        ({"rows-W1": "9"}, "rows-W1", "W1: restraints are a whole number from 0 to 5."),
        ({"new1-from": "Q", "new1-to": "B"}, "new1-from", "new web 1: there is no joint “Q”."),
        ({"new2-from": "A", "new2-to": "D"}, "new2-lumber", "new web 2: “” is not in the lumber table."),
        ({"x-D": "0"}, "document", "A"),
    ],
)
def test_what_can_not_be_is_said_at_its_field(king_post, typed, field, says):
    edit = editor.apply(king_post, form(king_post, **typed))
    assert list(edit.errors) == [field]
    assert says in edit.errors[field]


def test_the_form_shows_again_what_was_typed(king_post):
    posted = form(king_post, **{"x-D": "12' 13\"", "lumber-W1": "2x4 marzipan", "out-W1": "on", "new1-from": "<b>"})
    rows = editor.rows(king_post, posted)
    assert next(joint["x"] for joint in rows["joints"] if joint["name"] == "D") == "12' 13\""
    web = next(member for member in rows["members"] if member["id"] == "W1")
    assert (web["lumber"], web["out"]) == ("2x4 marzipan", True)
    assert rows["new_webs"][0]["from"]["value"] == "<b>"


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("900'", 'joint D, along: 900\'-0" is far beyond this truss, whose joints lie from 0" to 20\'-0"; '),
        ("-10' 1\"", "joint D, along: −10'-1\" is far beyond this truss"),
    ],
)
def test_a_joint_far_beyond_the_truss_is_a_slip(typed, says, king_post):
    edit = editor.apply(king_post, {"x-D": typed})
    assert edit.errors["x-D"].startswith(says)
    assert "at most 10'-0\" past them" in edit.errors["x-D"]
    assert edit.document["joints"]["D"] == [120, 0]


def test_a_joint_a_little_beyond_the_truss_is_drawn(king_post):
    edit = editor.apply(king_post, {"y-B": "10'"})
    assert not edit.errors
    assert edit.document["joints"]["B"] == [120, 120]


class TestMarked:
    """A refusal is marked at the fields that it is about, and all that was typed stays."""

    def marked(self, page: str) -> dict[str, list[str]]:
        """{field: the sentences that it is marked with}."""
        says = {one[1]: html.unescape(re.sub("<[^>]+>", "", one[2])) for one in _SAYS.finditer(page)}
        return {one[1]: [says[pk] for pk in one[2].split()] for one in _MARKED.finditer(page)}

    @pytest.mark.parametrize(
        ("typed", "at"),
        [
            ({"x-D": "abc"}, {"x-D"}),
            ({"lumber-W1": "2x4 marzipan", "plies": "9"}, {"lumber-W1", "plies"}),
            ({"new1-from": "A", "new1-to": "Q"}, {"new1-to"}),
            # of the truss as a whole: the joint at whose place B1 loses its length, not the other that was moved
            ({"x-D": "0", "y-C": "1/2", "plies": "2"}, {"x-D"}),
            # nothing at its place was typed over: all that was
            ({"out-W1": "on", "lumber-T1": "2x4 marzipan"}, {"lumber-T1"}),
        ],
    )
    def test_at_its_field(self, answered, client_of, designer, typed, at):
        option = answered(HITS_WEB).options.first()
        sent = form(option.document, **typed)
        page = client_of(designer).post(url("edit-option", option.request_id, option.pk), {**sent, "compute": "1"})
        assert page.status_code == 422
        body = page.content.decode()
        assert set(self.marked(body)) == at
        assert all(self.marked(body).values())
        for name, value in typed.items():
            assert value == "on" or shows(page, name, value)

    def test_at_none_where_nothing_is_refused(self, answered, client_of, designer):
        option = answered(HITS_WEB).options.first()
        address, sent = url("edit-option", option.request_id, option.pk), form(option.document)
        page = client_of(designer).post(address, {**sent, "compute": "1"})
        assert (page.status_code, self.marked(page.content.decode())) == (422, {})
        assert "Nothing is edited yet" in page.content.decode()


class TestAnEditedOption:
    @pytest.fixture
    def option(self, answered) -> Option:
        return answered(HITS_WEB).options.order_by("rank").first()

    def test_is_drawn_while_typed_and_stored_when_computed(self, client_of, designer, option):
        client, address = client_of(designer), url("edit-option", option.request_id, option.pk)
        typed = {"lumber-T1": "2x6 DF-L Select Structural"}
        drawn = client.post(address, typed, headers={"HX-Request": "true"})
        assert "T1 to 2x6 DF-L Select Structural" in text(drawn)
        assert "<html" not in drawn.content.decode()
        assert not Option.objects.filter(drawn_by=designer).exists()
        sent = client.post(address, {**typed, "compute": "1"})
        made = Option.objects.get(drawn_by=designer)
        assert sent.headers["Location"] == f"{url('request', option.request_id)}?option={made.pk}"
        assert (made.title, made.passes) == ("T1 to 2x6 DF-L Select Structural", None)
        waiting = text(client.get(sent.headers["Location"]))
        assert "computing" in waiting
        compute(option.request)
        assert "drawn by designer" in " ".join(text(client.get(sent.headers["Location"])).split())

    def test_that_can_not_be_keeps_what_was_typed(self, client_of, designer, option):
        address = url("edit-option", option.request_id, option.pk)
        answer = client_of(designer).post(address, {"lumber-T1": "<i>marzipan</i>", "compute": "1"})
        assert answer.status_code == 422
        assert "is not in the lumber table" in text(answer)
        assert shows(answer, "lumber-T1", "<i>marzipan</i>")
        assert "<i>marzipan" not in answer.content.decode()
        assert not Option.objects.filter(drawn_by=designer).exists()

    def test_without_an_edit_nothing_is_computed_again(self, client_of, designer, option):
        address = url("edit-option", option.request_id, option.pk)
        answer = client_of(designer).post(address, {"compute": "1"})
        assert answer.status_code == 422
        assert "Nothing is edited yet" in text(answer)
        assert not Option.objects.filter(drawn_by=designer).exists()

    def test_of_a_decided_request_is_not_to_be_had(self, client_of, designer, option):
        workflow.decide(designer, option.request, verdict="decline", reason="Not here.")
        assert client_of(designer).get(url("edit-option", option.request_id, option.pk)).status_code == 403
