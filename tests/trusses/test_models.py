"""The set's records: what must not change doesn't, on any path; one mark, one number, one current revision."""

from __future__ import annotations

import copy
import datetime

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import ProtectedError

from tests.refused import refused
from trusses.analysis.format.document import sha256
from trusses.models import Copy, Job, Membership, Revision, Role, Stage, Truss
from trusses.refusals import MarkTaken, Refused, Superseded
from trusses.revisions import add_mark, issue_revision, read_and_analyse


def revised(truss: Truss, **changes):
    """The truss's current document with some keys replaced, and its analysis."""
    return read_and_analyse({**copy.deepcopy(truss.current.document), **changes})


class TestARevisionNeverChanges:
    """Each way that Django offers to change or delete a row is closed."""

    def after(self, truss: Truss) -> None:
        row = Revision.objects.get(truss=truss)
        assert (row.number, row.sha256, row.document["mark"]) == (0, sha256(row.document), "K1")

    def test_save(self, truss):
        revision = truss.current
        revision.number = 7
        with pytest.raises(ValidationError, match="never changes"):
            revision.save()
        self.after(truss)

    def test_save_of_one_field(self, truss):
        truss.current.sha256 = "0" * 64
        with pytest.raises(ValidationError, match="never changes"):
            truss.current.save(update_fields=["sha256"])
        self.after(truss)

    def test_update(self, truss):
        with pytest.raises(ValidationError, match="never changes"):
            Revision.objects.filter(truss=truss).update(document={})
        self.after(truss)

    def test_update_through_the_truss(self, truss):
        with pytest.raises(ValidationError, match="never changes"):
            truss.revisions.update(number=3)
        self.after(truss)

    def test_bulk_update(self, truss):
        revision = truss.current
        revision.number = 7
        with pytest.raises(ValidationError, match="never changes"):
            Revision.objects.bulk_update([revision], ["number"])
        self.after(truss)

    def test_update_or_create(self, truss):
        with pytest.raises(ValidationError, match="never changes"):
            Revision.objects.update_or_create(truss=truss, number=0, defaults={"sha256": "0" * 64})
        self.after(truss)

    def test_bulk_create_over_the_same_number(self, truss):
        other = Revision(truss=truss, number=0, document={"mark": "K1"}, sha256="0" * 64, analysis={})
        with pytest.raises(ValidationError, match="never changes"):
            Revision.objects.bulk_create(
                [other], update_conflicts=True, update_fields=["sha256"], unique_fields=["truss", "number"]
            )
        self.after(truss)

    def test_delete(self, truss):
        with pytest.raises(ValidationError, match="never disappears"):
            truss.current.delete()
        self.after(truss)

    def test_delete_in_bulk(self, truss):
        with pytest.raises(ValidationError, match="never disappears"):
            Revision.objects.all().delete()
        self.after(truss)

    def test_delete_of_its_truss(self, truss):
        Truss.objects.filter(pk=truss.pk).update(current=None)
        with pytest.raises(ProtectedError):
            truss.delete()
        self.after(truss)

    def test_delete_of_its_job(self, truss, job):
        with pytest.raises(ProtectedError):
            job.delete()
        self.after(truss)

    def test_delete_of_who_issued_it(self, truss, designer):
        Membership.objects.filter(user=designer).delete()
        with pytest.raises(ProtectedError):
            designer.delete()
        self.after(truss)


class TestANewMark:
    def test_has_revision_0_and_its_copies(self, truss, king_post, designer):
        assert truss.current.number == 0
        assert truss.current.sha256 == sha256(king_post)
        assert truss.current.document == king_post
        assert truss.current.analysis["truss_sha256"] == truss.current.sha256
        assert truss.current.issued_by == designer
        assert [(c.number, c.stage, c.built_to) for c in truss.copies.all()] == [
            (n, "designing", None) for n in (1, 2, 3)
        ]

    def test_once_in_a_job(self, truss, job, king_post, designer):
        with refused(MarkTaken, "mark-taken"):
            add_mark(job, king_post, 1, designer)
        assert (Truss.objects.count(), Revision.objects.count(), Copy.objects.count()) == (1, 1, 3)

    def test_of_the_same_name_in_another_job(self, truss, other_job):
        assert (truss.mark, other_job.mark) == ("K1", "K1")

    @pytest.mark.parametrize("quantity", [0, -1, 501, True, 1.5, None])
    def test_needs_a_quantity(self, job, king_post, designer, quantity):
        with pytest.raises(Refused, match="whole number from 1 to 500") as refused:
            add_mark(job, king_post, quantity, designer)
        assert refused.value.field == "quantity"

    def test_that_moves_freely_is_refused_by_name(self, job, king_post, designer):
        king_post["bearings"] = king_post["bearings"][1:]
        with pytest.raises(Refused, match="move freely"):
            add_mark(job, king_post, 1, designer)
        assert not Truss.objects.exists()

    def test_with_a_long_name_is_refused(self, job, king_post, designer):
        king_post["mark"] = "R" * 21
        with refused(Refused, "mark-too-long"):
            add_mark(job, king_post, 1, designer)

    def test_does_not_change_the_given_document(self, job, king_post, designer):
        before = copy.deepcopy(king_post)
        add_mark(job, king_post, 1, designer)
        assert king_post == before


class TestIssuingARevision:
    def test_becomes_current_and_leaves_the_old_one(self, truss, designer):
        old = truss.current
        new = issue_revision(truss, old, *revised(truss, title="Better"), designer)
        assert (new.number, Truss.objects.get().current) == (1, new)
        assert Revision.objects.get(pk=old.pk).document["title"] == "King post over the porch"

    def test_from_one_that_is_no_longer_current_is_refused(self, truss, designer):
        old = truss.current
        new = issue_revision(truss, old, *revised(truss, title="Better"), designer)
        with refused(Superseded, "superseded"):
            issue_revision(truss, old, *revised(truss, title="Also better"), designer)
        assert (Revision.objects.count(), Truss.objects.get().current) == (2, new)

    def test_from_an_older_one_is_refused_though_its_number_is_free(self, truss, designer):
        """What decides is which revision is current when the row is written, not the numbers."""
        old = truss.current
        far = Revision.objects.create(truss=truss, number=5, document=old.document, sha256=old.sha256, analysis={})
        Truss.objects.filter(pk=truss.pk).update(current=far)
        with refused(Superseded, "superseded"):
            issue_revision(truss, old, *revised(truss, title="Better"), designer)
        assert (Revision.objects.count(), Truss.objects.get().current) == (2, far)

    def test_on_the_analysis_of_another_document_is_refused(self, truss, designer):
        document, _ = revised(truss, title="Better")
        with refused(Refused, "of-another-document"):
            issue_revision(truss, truss.current, document, truss.current.analysis, designer)
        assert Revision.objects.count() == 1

    def test_of_another_mark_is_refused(self, truss, designer):
        with refused(Refused, "of-another-mark"):
            issue_revision(truss, truss.current, *revised(truss, mark="K2"), designer)

    def test_that_fails_in_strength_is_refused_whatever_is_accepted(self, truss, designer):
        members = [{**member, "lumber": "2x4 SPF No.3"} for member in truss.current.document["members"]]
        document, analysis = revised(truss, members=members)
        failing = {check["rule"] for check in analysis["checks"] if not check["passes"]}
        assert failing - {"live deflection", "total deflection"}
        accepts = [{"rule": rule, "reason": "because"} for rule in failing]
        with refused(Refused, "fails-for-good"):
            issue_revision(truss, truss.current, document, analysis, designer, accepts)
        assert Revision.objects.count() == 1

    def test_that_fails_in_deflection_alone_needs_a_reason(self, truss, designer):
        document, analysis = revised(truss, title="Better")
        for check in analysis["checks"]:
            if check["rule"] == "live deflection":
                check |= {"ratio": 1.2, "passes": False}
        accept = {"rule": "live deflection", "reason": " "}
        with refused(Refused, "fails-unless-accepted"):
            issue_revision(truss, truss.current, document, analysis, designer, [accept])
        issued = issue_revision(
            truss, truss.current, document, analysis, designer, [{**accept, "reason": "no ceiling"}]
        )
        assert issued.accepts == [{"rule": "live deflection", "reason": "no ceiling"}]


class TestOneOfEach:
    def test_one_role_in_a_job(self, job, builder):
        with pytest.raises(IntegrityError), transaction.atomic():
            Membership.objects.create(job=job, user=builder, role=Role.DESIGNER)

    def test_one_current_revision_belongs_to_one_mark(self, truss, job):
        with pytest.raises(IntegrityError), transaction.atomic():
            Truss.objects.create(job=job, mark="K9", current=truss.current)


@pytest.mark.parametrize(
    ("zone", "over"),
    [("Pacific/Auckland", True), ("America/Denver", False), ("UTC", True)],
)
def test_the_last_day_for_changes_is_the_jobs_own(truss, monkeypatch, zone, over):
    """At 03:00 UTC on the 11th it is still the 10th in Denver, and the last day is included."""
    now = datetime.datetime(2027, 3, 11, 3, tzinfo=datetime.UTC)
    monkeypatch.setattr("django.utils.timezone.now", lambda: now)
    truss.can_change_until = datetime.date(2027, 3, 10)
    truss.job.time_zone = zone
    assert truss.changes_are_over is over


def test_a_copy_can_change_until_the_saw():
    assert [stage for stage in Stage if Copy(stage=stage).can_change] == [Stage.DESIGNING, Stage.RELEASED]


def test_a_time_zone_that_does_not_exist_is_refused():
    with pytest.raises(ValidationError, match="is not a time zone"):
        Job(name="Invented house", time_zone="America/Nowhere").full_clean()
