"""The API under /api/v1/: a token, the schema and its page, and the calls of both apps."""

from __future__ import annotations

from csp.decorators import csp_update
from django.urls import include, path
from django.utils.decorators import method_decorator
from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerSplitView
from rest_framework.authtoken.views import ObtainAuthToken
from rest_framework.throttling import ScopedRateThrottle

import changes.api
import trusses.api


class Token(ObtainAuthToken):
    """A token for a user name and its password; bounded in tries."""

    throttle_classes = [ScopedRateThrottle]
    throttle_scope = "token"


@method_decorator(csp_update({"style-src": ["'self'", "'unsafe-inline'"]}), name="dispatch")
class Docs(SpectacularSwaggerSplitView):
    """The schema as a page. Its library writes style attributes; no other page is allowed to."""


urlpatterns = [
    path("token/", Token.as_view(), name="token"),
    path("schema/", SpectacularAPIView.as_view(), name="schema"),
    path("docs/", Docs.as_view(url_name="schema"), name="docs"),
    path("", include(trusses.api.urlpatterns)),
    path("", include(changes.api.urlpatterns)),
]
