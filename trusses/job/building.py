"""What a job builds with, as the search for redesigns takes it: limits of building, lumber in stock, rates."""

from __future__ import annotations

from django.db import transaction

from trusses.analysis.redesign.building import Building, Rates
from trusses.models import Job, JobBuilding, JobRates


def of_job(job: Job) -> Building:
    """The job's own limits, the usual ones where it has said none; read anew each time."""
    said = JobBuilding.objects.filter(job=job).first() or JobBuilding()
    stock = frozenset(said.stock) if said.stock else None
    return Building(said.tolerance_in, said.from_joints_in, said.longest_piece_in, stock, _rates(job))


def _rates(job: Job) -> Rates | None:
    row = JobRates.objects.filter(job=job).first()
    if row is None:
        return None
    each = (row.board_foot, row.piece, row.joint)
    return Rates(*(float(rate or 0) for rate in each)) if any(each) else None


def say(job: Job, said: dict[str, object]) -> JobBuilding:
    """Writes what was said, which a form or a call has read."""
    with transaction.atomic():
        row, _ = JobBuilding.objects.update_or_create(job=job, defaults=said)
    return row
