"""Who may do what with a request: the one table of verb × role × whose request it is.

What a verb does to a request's state, and from which states, stands in `workflow.TRANSITIONS`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

from changes.models import Request
from changes.refusals import NotAllowed
from trusses.models import Job, Role
from trusses.permissions import role_in

Whose = Literal["any", "own"]

VERBS: Mapping[str, Mapping[Role, Whose]] = {
    "see": {Role.BUILDER: "any", Role.DESIGNER: "any", Role.SITE_LEAD: "any"},
    "fit": {Role.BUILDER: "any", Role.DESIGNER: "any", Role.SITE_LEAD: "any"},
    "file": {Role.BUILDER: "any"},
    "tell": {Role.BUILDER: "any", Role.SITE_LEAD: "any"},
    "start": {Role.DESIGNER: "any"},
    "answer": {Role.BUILDER: "own", Role.DESIGNER: "own", Role.SITE_LEAD: "own"},
    "withdraw": {Role.BUILDER: "own", Role.DESIGNER: "own", Role.SITE_LEAD: "own"},
    "compute": {Role.BUILDER: "own", Role.DESIGNER: "any", Role.SITE_LEAD: "own"},
    "decide": {Role.DESIGNER: "any"},
    "draw": {Role.DESIGNER: "any"},
    "repair": {Role.DESIGNER: "any"},
    "hold": {Role.DESIGNER: "any"},
}
"""`own`: only the request that the person filed. Nobody who is no member of the job may anything. To `tell` is to file
what asks for no other design: damage and questions."""


def may(user: Any, verb: str, of: Request | Job) -> bool:
    """Whether the person's role in the job of `of` allows the verb; a KeyError for a verb that doesn't exist."""
    return _grants(role_in(user, _job(of)), user, verb, of)


def require(user: Any, verb: str, of: Request | Job) -> Role:
    """The role in which the person does it. Raises NotAllowed."""
    role = role_in(user, _job(of))
    if role is not None and _grants(role, user, verb, of):
        return role
    raise NotAllowed("verb", who=[[str(each), whose] for each, whose in VERBS[verb].items()], verb=verb)


def _grants(role: Role | None, user: Any, verb: str, of: Request | Job) -> bool:
    whose = VERBS[verb].get(role) if role is not None else None
    return whose == "any" or (whose == "own" and isinstance(of, Request) and of.filed_by_id == user.pk)


def _job(of: Request | Job) -> Job:
    return of.job if isinstance(of, Request) else of
