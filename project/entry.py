"""The way in: sign-in, sign-out, the page of one's jobs and, in the demo, one tap for each invented person."""

from __future__ import annotations

from typing import Any

from django import forms
from django.conf import settings
from django.contrib.auth import get_user_model, login
from django.contrib.auth.decorators import login_required
from django.contrib.auth.forms import AuthenticationForm, UsernameField
from django.contrib.auth.views import LoginView, LogoutView
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import path
from django.views.decorators.http import require_POST

from project.people import DEMO_PEOPLE
from project.tries import Tries
from trusses.permissions import jobs_of


class SignInForm(AuthenticationForm):
    """A name and a password."""

    error_messages = {
        "invalid_login": "This user name and password don’t belong together. Capitals and small letters count.",
        "inactive": "This account doesn’t open anything any more.",
    }

    username = UsernameField(
        label="User name",
        widget=forms.TextInput(attrs={"autofocus": True}),
        error_messages={"required": "Type your user name."},
    )
    password = forms.CharField(
        label="Password",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": "Type your password."},
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if settings.DEMO or self.is_bound:
            # the focus would scroll a phone past the people to choose from, or goes to what was refused
            self.fields["username"].widget.attrs.pop("autofocus", None)


class SignIn(LoginView):
    """The only page that takes a password: the office's own pages lead here as well."""

    template_name = "project/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if self.next_page and request.user.is_authenticated and not request.user.is_staff:
            raise PermissionDenied("These pages are the office's: your account doesn't open them.")
        return super().dispatch(request, *args, **kwargs)

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        username = request.POST.get("username", "")
        self.tries = Tries(request, username)
        seconds = self.tries.begin()
        if not seconds:
            return super().post(request, *args, **kwargs)
        says = "1 second" if seconds == 1 else f"{seconds} seconds"
        form = self.get_form_class()(request, initial={"username": username})
        page = self.render_to_response(
            {**self.get_context_data(form=form), "wait": f"Wait {says}, then try again. Nothing is locked."}, status=429
        )
        page["Retry-After"] = str(seconds)
        return page

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        context = super().get_context_data(**kwargs)
        return {**context, "forms": [context["form"]]}

    def form_valid(self, form: Any) -> HttpResponse:
        self.tries.right()
        return super().form_valid(form)


@require_POST
def demo_enter(request: HttpRequest, username: str) -> HttpResponse:
    """Sign in as one of the invented people, without a password. Exists in the demo only."""
    if not settings.DEMO or username not in {name for name, _, _ in DEMO_PEOPLE}:
        raise Http404("Not found.")
    person = get_user_model().objects.filter(username=username, is_active=True, is_superuser=False).first()
    if person is None:
        raise Http404("Not found.")
    login(request, person, backend="project.accounts.Accounts")
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
    path("admin/login/", SignIn.as_view(next_page="admin:index"), name="office-sign-in"),
    path("sign-out/", LogoutView.as_view(), name="sign-out"),
    path("demo/enter/<str:username>/", demo_enter, name="demo-enter"),
    path("demo/offer/", demo_offer, name="demo-offer"),
]
