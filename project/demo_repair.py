"""The demo's repair: damage that was found when a truss was to be set, its sealed repair, and who looked at it."""

from __future__ import annotations

import io

from django.contrib.auth.models import User

from changes import workflow
from changes.models import Decision
from changes.worker.tasks import compute
from project.demo_seals import recorded, said
from trusses import demo_asks
from trusses.analysis.format.document import read
from trusses.models import Job, Truss
from trusses.sealing.drawn_pdf import demonstration
from trusses.sealing.seals import Kind


def repaired(job: Job, people: dict[str, User]) -> None:
    """Told by the site lead, computed, decided on with a drawing attached, and carried out."""
    designer, site_lead = people["designer"], people["site-lead"]
    mark, ask, reason = demo_asks.repaired_damage()
    truss = Truss.objects.select_related("job", "current").get(job=job, mark=mark)
    change = workflow.file(site_lead, job, reason=reason, needed_by=job.today(), asks=[{"truss": truss, **ask}])
    compute(change.computations.get().pk)
    change.refresh_from_db()
    lines = ("Repair of the heel: as drawn by nobody, for the demonstration alone.",)
    content = demonstration(read(truss.current.document), truss.current.number, lines)
    drawing = workflow.attach_repair(
        designer, change, change.asks.get(), io.BytesIO(content), len(content), **said(job)
    )
    recorded(drawing, people["builder"], Kind.REVIEWED, Kind.ACCEPTED)
    repair = Decision.EndsBy.REPAIR
    workflow.decide(designer, change, verdict="approve", reason="Repaired as drawn (invented).", ends_by=repair)
    recorded(drawing, site_lead, Kind.CARRIED_OUT)
