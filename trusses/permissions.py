"""Who sees what, and who may do what, in one job. Every page and every call of the API asks here.

A person who is no member of a job sees nothing of it: a foreign row and a missing one are the same 404.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db.models import F, Model, QuerySet
from django.http import Http404

from trusses.models import Copy, Job, Membership, Revision, Role, Stage, Truss
from trusses.once import once
from trusses.refusals import NotAllowed

EVERYONE = frozenset(Role)

VERBS: Mapping[str, frozenset[Role]] = {
    "see the job": EVERYONE,
    "see a sheet": EVERYONE,
    "add a mark": frozenset({Role.DESIGNER}),
    "upload a table of plates": frozenset({Role.DESIGNER}),
    "say what a bearing stands on": frozenset({Role.DESIGNER}),
    "write what stands on a mark into its drawing": frozenset({Role.DESIGNER}),
    "correct or withdraw a first design": frozenset({Role.DESIGNER}),
    "say of which kind a mark is": frozenset({Role.DESIGNER}),
    "draw the plan": frozenset({Role.DESIGNER}),
    "say how the roof is sheathed": frozenset({Role.DESIGNER}),
    "say what the job builds with": frozenset({Role.DESIGNER}),
    "ask for a change": frozenset({Role.BUILDER}),
    "tell of damage or ask a question": frozenset({Role.BUILDER, Role.SITE_LEAD}),
    "see what governs a member": frozenset({Role.DESIGNER}),
    "attach or withdraw a sealed drawing": frozenset({Role.DESIGNER}),
    "record a review or an acceptance": frozenset({Role.BUILDER, Role.DESIGNER}),
    "record that a repair is carried out": frozenset({Role.SITE_LEAD, Role.DESIGNER}),
    "say what is to be done with copies of an earlier revision": frozenset({Role.DESIGNER}),
    "say by name that what was found keeps nothing from being set": frozenset({Role.DESIGNER}),
    "say that an old truss is destroyed or set apart": frozenset({Role.DESIGNER, Role.SITE_LEAD}),
    "tick off restraint, hangers and ties": frozenset({Role.SITE_LEAD}),
    "say what the job asks of sealed drawings": frozenset({Role.DESIGNER}),
    "end the code on a printed sheet": frozenset({Role.DESIGNER}),
    "hand out an inspector's link": frozenset({Role.BUILDER, Role.DESIGNER}),
    "answer an inspector": EVERYONE,
    "close a correction without the inspector's word": frozenset({Role.BUILDER, Role.DESIGNER}),
}
"""The one table of verbs in a job, and the roles that may."""

STAGE_MOVES: Mapping[tuple[Stage, Stage], Role] = {
    (Stage.DESIGNING, Stage.RELEASED): Role.DESIGNER,
    (Stage.RELEASED, Stage.CUT): Role.DESIGNER,
    (Stage.CUT, Stage.BUILT): Role.DESIGNER,
    (Stage.BUILT, Stage.DELIVERED): Role.SITE_LEAD,
    (Stage.DELIVERED, Stage.SET): Role.SITE_LEAD,
}
"""The one table of who moves a copy from one stage to the next. A copy never skips a stage, and goes back only where a
move is taken back (`copies.undoing`) or a copy is made anew (`copies.earlier`)."""

_TO_THE_JOB = ("job", "link", "truss", "request", "revision", "ask", "option", "copy", "placement", "correction")


def jobs_of(user: Any) -> QuerySet[Job]:
    """The jobs that the person is a member of; each row carries the person's `role` there."""
    if not user.is_authenticated or not user.is_active:
        return Job.objects.none()
    return Job.objects.filter(memberships__user=user).annotate(role=F("memberships__role"))


def role_in(user: Any, job: Job) -> Role | None:
    if not user.is_authenticated or not user.is_active:
        return None
    rows = Membership.objects.filter(user=user, job=job).values_list("role", flat=True)
    role = once(("role", user.pk, job.pk), rows.first)
    return Role(role) if role else None


def knows_role(user: Any, job: Job, role: str | None) -> None:
    """Tells the rest of a page what was read of a person already."""
    once(("role", user.pk, job.pk), lambda: role)


def designers(job: Job) -> list[str]:
    """The names of those who are to be asked in this job about what the pages don't offer."""
    rows = job.memberships.filter(role=Role.DESIGNER, user__is_active=True).select_related("user")
    return [row.user.get_full_name() or row.user.get_username() for row in rows]


def may(user: Any, verb: str, job: Job) -> bool:
    """Whether the person's role in the job allows the verb. An unknown verb is a programmer's mistake: KeyError."""
    return role_in(user, job) in VERBS[verb]


def require(user: Any, verb: str, job: Job) -> None:
    """Raises NotAllowed unless `may`."""
    roles = VERBS[verb]
    if role_in(user, job) not in roles:
        raise NotAllowed("role", roles=sorted(role.label for role in roles), verb=verb)


def may_move(user: Any, copy: Copy, to: str) -> bool:
    """Whether the person may move the copy from where it stands to that stage."""
    return role_in(user, copy.truss.job) == STAGE_MOVES.get((Stage(copy.stage), Stage(to)), object())


def next_stage(stage: str, role: Role | str | None) -> Stage | None:
    """The stage to which someone in that role moves a copy on from `stage`; None where the step is another's."""
    return next((to for (at, to), by in STAGE_MOVES.items() if at == stage and by == role), None)


def _path_to_job(model: type[Model]) -> str:
    """The look-up that leads from a row to its job, such as `truss__job`; empty for a job itself."""
    if model is Job:
        return ""
    names = {field.name for field in model._meta.concrete_fields}
    step = next((name for name in _TO_THE_JOB if name in names), None)
    if step is None:
        raise LookupError(f"{model.__name__} leads to no job, so nobody can be shown its rows")
    rest = _path_to_job(model._meta.get_field(step).related_model)  # type: ignore[arg-type]
    return f"{step}__{rest}" if rest else step


def visible(rows: type[Model] | QuerySet[Any], user: Any) -> QuerySet[Any]:
    """The rows that belong to a job of the person's. Works for whatever leads to a job, in any app."""
    queryset = rows if isinstance(rows, QuerySet) else rows._default_manager.all()
    if not user.is_authenticated or not user.is_active:
        return queryset.none()
    path = _path_to_job(queryset.model)
    return queryset.filter(**{f"{path}__memberships__user" if path else "memberships__user": user})


def one_or_404(rows: type[Model] | QuerySet[Any], user: Any, **lookup: Any) -> Any:
    """The one visible row, or the same Http404 for one that is another job's and one that is nobody's."""
    try:
        row = visible(rows, user).filter(**lookup).first()
    except (ValueError, TypeError, OverflowError):
        row = None
    if row is None:
        raise Http404("Not found.")
    return row


def job_or_404(user: Any, pk: Any) -> Job:
    """The job, with the person's `role` on it."""
    job = one_or_404(jobs_of(user), user, pk=pk)
    knows_role(user, job, job.role)
    return job


def truss_or_404(user: Any, pk: Any, job: Any = None) -> Truss:
    rows = Truss.objects.select_related("job", "current")
    return one_or_404(rows, user, pk=pk, **({} if job is None else {"job": job}))


def revision_or_404(user: Any, **lookup: Any) -> Revision:
    return one_or_404(Revision.objects.select_related("truss__job", "issued_by"), user, **lookup)


def copy_or_404(user: Any, pk: Any) -> Copy:
    return one_or_404(Copy.objects.select_related("truss__job", "truss__current"), user, pk=pk)
