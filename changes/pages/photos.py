"""Photos: sent with a form, shown to members of their job and to nobody else."""

from __future__ import annotations

from django.contrib.auth.decorators import login_required
from django.http import FileResponse, Http404, HttpRequest
from django.views.decorators.cache import cache_control

from changes import photos
from changes.models import Photo
from trusses.permissions import one_or_404


@login_required
@cache_control(private=True, max_age=3600, immutable=True)
def photo(request: HttpRequest, pk: int) -> FileResponse:
    """One photo. What isn't of a job of the person's is the same 404 as what isn't there."""
    one = one_or_404(Photo.objects.all(), request.user, pk=pk)
    try:
        opened = photos.path_of(one.job_id, one.sha256).open("rb")
    except FileNotFoundError:
        raise Http404("Not found.") from None
    return FileResponse(opened, content_type="image/jpeg", filename=f"photo-{one.pk}.jpg")
