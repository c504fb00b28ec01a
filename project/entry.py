"""The way in: sign-in, sign-out, the page of one's jobs and, in the demo, one tap for each invented person."""

from __future__ import annotations

import math
from typing import Any

from django.conf import settings
from django.contrib.auth import get_user_model, login
from django.contrib.auth.decorators import login_required
from django.contrib.auth.views import LoginView, LogoutView
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.views.decorators.http import require_POST
from rest_framework.throttling import SimpleRateThrottle

from project.people import DEMO_PEOPLE
from trusses.permissions import jobs_of


class Tries(SimpleRateThrottle):
    """Tries to sign in from one address, right or wrong: a password can't be found by trying."""

    scope = "sign-in"

    def get_cache_key(self, request: Any, view: Any) -> str:
        return self.cache_format % {"scope": self.scope, "ident": self.get_ident(request)}


class SignIn(LoginView):
    template_name = "project/sign_in.html"
    redirect_authenticated_user = True

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        tries = Tries()
        if tries.allow_request(request, self):  # type: ignore[arg-type]
            return super().post(request, *args, **kwargs)
        seconds = math.ceil(tries.wait() or 1)
        form = self.get_form_class()(request, initial={"username": request.POST.get("username", "")})
        page = self.render_to_response({**self.get_context_data(form=form), "wait_s": seconds}, status=429)
        page["Retry-After"] = str(seconds)
        return page

    def get_form(self, form_class: Any = None) -> Any:
        form = super().get_form(form_class)
        if settings.DEMO:
            # The focus would scroll a phone past the people to choose from.
            form.fields["username"].widget.attrs.pop("autofocus", None)
        return form


@require_POST
def demo_enter(request: HttpRequest, username: str) -> HttpResponse:
    """Sign in as one of the invented people, without a password. Exists in the demo only."""
    if not settings.DEMO or username not in {name for name, _, _ in DEMO_PEOPLE}:
        raise Http404("Not found.")
    person = get_user_model().objects.filter(username=username, is_active=True, is_superuser=False).first()
    if person is None:
        raise Http404("Not found.")
    login(request, person, backend="django.contrib.auth.backends.ModelBackend")
    return redirect("home")


@login_required
def demo_offer(request: HttpRequest) -> HttpResponse:
    """The ask page with an ask typed in that today's truss can't take: the shortest way to see what the tool does."""
    from project.demo import offered_ask  # brings the whole demo, which no other page needs

    job = jobs_of(request.user).filter(is_demo=True).first()
    if not settings.DEMO or job is None:
        raise Http404("Not found.")
    return redirect(offered_ask(job))


@login_required
def home(request: HttpRequest) -> HttpResponse:
    """The person's jobs; straight into the job where there is only one."""
    jobs = list(jobs_of(request.user))
    if len(jobs) == 1:
        return redirect("trusses:job", job=jobs[0].pk)
    return render(request, "project/home.html", {"jobs": jobs})


urlpatterns = [
    path("", home, name="home"),
    path("sign-in/", SignIn.as_view(), name="sign-in"),
    path("sign-out/", LogoutView.as_view(), name="sign-out"),
    path("demo/enter/<str:username>/", demo_enter, name="demo-enter"),
    path("demo/offer/", demo_offer, name="demo-offer"),
]
