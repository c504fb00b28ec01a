"""The API under /api/v1/: a token, the schema and its page, and the calls of both apps."""

from __future__ import annotations

from typing import Any

from csp.decorators import csp_update
from django.urls import include, path, re_path
from django.utils.decorators import method_decorator
from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerSplitView
from rest_framework.authtoken.views import ObtainAuthToken
from rest_framework.exceptions import NotFound, Throttled
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import ScopedRateThrottle
from rest_framework.views import APIView

import changes.api.calls
import changes.api.corrections
import trusses.bearings.api
import trusses.clear.api
import trusses.copies.api
import trusses.job.api
import trusses.marks.api
import trusses.sealing.api
import trusses.sheets.api
from project.tries import Tries


class Token(ObtainAuthToken):
    """A token for a user name and its password; bounded in calls, and in tries as the front door."""

    throttle_classes = [ScopedRateThrottle]
    throttle_scope = "token"

    def post(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        name = request.data.get("username", "") if isinstance(request.data, dict) else ""
        tries = Tries(request._request, str(name))
        if seconds := tries.begin():
            raise Throttled(seconds)
        answer = super().post(request, *args, **kwargs)
        tries.right()
        return answer


@method_decorator(csp_update({"style-src": ["'self'", "'unsafe-inline'"]}), name="dispatch")
class Docs(SpectacularSwaggerSplitView):
    """The schema as a page. Its library writes style attributes; no other page is allowed to."""


class Nothing(APIView):
    """Whatever else is asked for under /api/v1/ answers like every other error of the API, not with a page."""

    schema = None

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        raise NotFound


urlpatterns = [
    path("token/", Token.as_view(), name="token"),
    path("schema/", SpectacularAPIView.as_view(), name="schema"),
    path("docs/", Docs.as_view(url_name="schema"), name="docs"),
    path("", include(trusses.job.api.urlpatterns)),
    path("", include(trusses.marks.api.urlpatterns)),
    path("", include(trusses.copies.api.urlpatterns)),
    path("", include(trusses.bearings.api.urlpatterns)),
    path("", include(trusses.clear.api.urlpatterns)),
    path("", include(trusses.sealing.api.urlpatterns)),
    path("", include(trusses.sheets.api.urlpatterns)),
    path("", include(changes.api.calls.urlpatterns)),
    path("", include(changes.api.corrections.urlpatterns)),
    re_path(r"^.*/$", Nothing.as_view()),
]
