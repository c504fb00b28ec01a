"""After a decision moved a bearing the wood of a copy is where it was in plan, though its row begins elsewhere."""

from __future__ import annotations

import pytest
from django.urls import reverse

from tests.changes.asking import answer_of, approve, compute
from tests.changes.reading import text
from trusses.models import Copy, Job, Truss
from trusses.plan.copies import standing, stood
from trusses.solid.standing import Change, scene


@pytest.fixture
def at(job):
    """{copy: between which places of the plan its wood stands}, and where its bearings do."""

    def read() -> dict[int, tuple[tuple[float, float], list[float]]]:
        Truss.objects.get(mark="K1")
        return {
            one.number: (one.reach, sorted(one.place_at(end) for end in (one.design.left, one.design.right)))
            for one in stood(standing(job)["Roof"])
        }

    return read


@pytest.fixture
def move_bearing(ask, designer):
    def make(joint, to_in, **more):
        change = compute(ask("bearing", {"change": "moved", "joint": joint, "to_in": to_in}, **more))
        answer = answer_of(change)
        approve(designer, change, {answer.pk: answer.options.filter(passes=True).first().pk}, reason="It moved")

    return make


@pytest.mark.parametrize(
    ("turned", "joint", "to_in", "ends"),
    [(False, "A", 8, [8, 240]), (False, "C", 232, [0, 232]), (True, "A", 8, [0, 232]), (True, "C", 232, [8, 240])],
)
@pytest.mark.parametrize("direction", ["x", "y"])
def test_of_a_revision(row, at, move_bearing, turned, joint, to_in, ends, direction):
    row.placements.update(turned=turned, direction=direction)
    before = at()
    move_bearing(joint, to_in)
    row.refresh_from_db()
    assert row.current.number == 1
    assert at() == {number: (reach, ends) for number, (reach, _) in before.items()}


def test_of_copies_that_become_a_variant_and_of_those_that_join_it(row, at, move_bearing):
    before = at()
    move_bearing("A", 8, copies=[2])
    move_bearing("A", 8, copies=[4])
    assert list(Truss.objects.get(mark="K1-b").copies.values_list("number", flat=True)) == [2, 4]
    assert {number: reach for number, (reach, _) in at().items()} == {n: reach for n, (reach, _) in before.items()}
    assert {number: ends[0] for number, (_, ends) in at().items()} == {1: 0, 2: 8, 3: 0, 4: 8, 5: 0}


@pytest.mark.parametrize("turned", [False, True])
def test_a_copy_that_is_built_to_the_revision_before_stays_too(row, at, move_bearing, turned):
    row.placements.update(turned=turned)
    before = at()
    first = row.current
    move_bearing("A", 8)
    Copy.objects.filter(truss=row, number=3).update(stage="cut", built_to=first, released_to=first)
    now = at()
    assert {number: reach for number, (reach, _) in now.items()} == {n: reach for n, (reach, _) in before.items()}
    assert now[3] == before[3]
    assert now[1][1] == ([0, 232] if turned else [8, 240])


@pytest.mark.parametrize("decided", [False, True])
@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize(("joint", "to_in"), [("A", 8), ("C", 232)])
@pytest.mark.parametrize("direction", ["x", "y"])
def test_before_and_after_an_option_in_three_dimensions(row, ask, designer, direction, joint, to_in, turned, decided):
    row.placements.update(turned=turned, direction=direction)
    change = compute(ask("bearing", {"change": "moved", "joint": joint, "to_in": to_in}))
    answer = answer_of(change)
    option = answer.options.filter(passes=True).first()
    if decided:
        approve(designer, change, {answer.pk: option.pk}, reason="It moved")
    one = row.copies.get(number=1)
    told = scene(Job.objects.get(pk=row.job_id), {one.pk: Change(option.revision.document, option.document)})
    before, after = (placed for placed in told.placed if placed.number == 1)
    ends = []
    for placed in (before, after):
        low, _, high, _ = told.bodies[placed.body].bounds
        ends.append([*placed.at(low, 0, 0), *placed.at(high, 0, 0)])
    assert before.body != after.body
    assert ends[0] == pytest.approx(ends[1])


def test_a_form_of_the_plan_from_before_the_decision_moves_no_truss_back(row, at, move_bearing, client_of, designer):
    place, client = row.placements.get(), client_of(designer)
    page = client.get(reverse("trusses:plan", args=[row.job_id]) + f"?level=Roof&edit=place-{place.pk}")
    sent = {**page.context["form"].initial, "shown": page.context["shown"], "note": "only the note is typed"}
    sent = {name: value for name, value in sent.items() if value is not False}
    before = at()
    move_bearing("A", 8)
    answer = client.post(reverse("trusses:set-place", args=[row.job_id, place.pk]), sent)
    assert answer.status_code == 422
    assert 'the first 8" right and 0" up' in text(answer)
    assert 'value="only the note is typed"' in answer.content.decode()
    assert [reach for reach, _ in at().values()] == [reach for reach, _ in before.values()]
