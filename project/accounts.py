"""Who is let in: an invented person of the demo never is under production, by a password, a session or a token."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.contrib.auth.backends import ModelBackend
from rest_framework.authentication import TokenAuthentication
from rest_framework.exceptions import AuthenticationFailed

_INVENTED = "@demo.invalid"


def address_of(username: str) -> str:
    """What marks an account as invented wherever its row is taken: `.invalid` is nobody's (RFC 2606)."""
    return f"{username}{_INVENTED}"


def is_let_in(user: Any) -> bool:
    return not (settings.PRODUCTION and user.email.endswith(_INVENTED))


class Accounts(ModelBackend):
    """Accounts by name and password; what is asked of them is asked again with each session."""

    def user_can_authenticate(self, user: Any) -> bool:
        return super().user_can_authenticate(user) and is_let_in(user)


class Tokens(TokenAuthentication):
    """A program's token, good as long as its person is let in."""

    def authenticate_credentials(self, key: str) -> tuple[Any, Any]:
        user, token = super().authenticate_credentials(key)
        if not is_let_in(user):
            raise AuthenticationFailed("User inactive or deleted.")
        return user, token
