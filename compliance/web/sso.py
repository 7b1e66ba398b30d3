"""Single sign-on by OpenID Connect: the way to the provider, and back to an account that is there."""

from __future__ import annotations

from typing import Any, NoReturn

from allauth.core.exceptions import ImmediateHttpResponse
from allauth.socialaccount.adapter import DefaultSocialAccountAdapter
from allauth.socialaccount.models import SocialAccount, SocialLogin
from allauth.socialaccount.providers.openid_connect.views import callback, login
from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponseBase
from django.shortcuts import redirect
from django.urls import path
from django.views.decorators.http import require_safe

from compliance.config.sso import PROVIDER
from roster.models import User

NO_ACCOUNT = (
    "You are known to %(name)s, but no account here has your address. Ask an administrator to invite you with it."
)


class SingleSignOnAdapter(DefaultSocialAccountAdapter):
    """Single sign-on opens an account that is there; it makes none and gives no role.

    The first time the account is found by the address that the provider has verified; from then on by the provider's
    own lasting name for the person, since an address may pass to somebody else (OpenID Connect Core 1.0, section 5.7).
    """

    def is_open_for_signup(self, request: HttpRequest, sociallogin: SocialLogin) -> bool:
        return False

    def authenticate_by_email(self, sociallogin: SocialLogin) -> None:
        """Leave it to `pre_social_login`: allauth would take the password away from an account found by address."""

    def pre_social_login(self, request: HttpRequest, sociallogin: SocialLogin) -> None:
        """Find the account, or turn back to the sign-in page. Nothing of what the provider tells is kept."""
        _check_subject(request, sociallogin)
        sociallogin.account.extra_data = {}
        if sociallogin.is_existing:
            sociallogin.account.save(update_fields=["extra_data"])
            return
        user = _owner(sociallogin)
        if user is None:
            _turn_back(request, NO_ACCOUNT % {"name": settings.SSO_NAME})
        sociallogin.connect(request, user)

    def on_authentication_error(self, request: HttpRequest, provider: Any, **kwargs: Any) -> None:
        _turn_back(request, f"Signing in by {settings.SSO_NAME} did not work. Try again, or use name and password.")


def _check_subject(request: HttpRequest, sociallogin: SocialLogin) -> None:
    """Refuse an answer of which the two parts speak of different people (OpenID Connect Core 1.0, section 5.3.2)."""
    told = sociallogin.account.extra_data
    if told.get("id_token", {}).get("sub") != told.get("userinfo", {}).get("sub"):
        _turn_back(request, f"The answer of {settings.SSO_NAME} contradicts itself. Tell an administrator.")


def _owner(sociallogin: SocialLogin) -> User | None:
    """The one open account with an address that the provider has verified, and that belongs to nobody else there."""
    verified = {each.email for each in sociallogin.email_addresses if each.verified}
    found = [user for email in verified if email for user in User.objects.filter(email__iexact=email, is_active=True)]
    if len(found) != 1 or SocialAccount.objects.filter(user=found[0], provider=PROVIDER).exists():
        return None
    return found[0]


def _turn_back(request: HttpRequest, why: str) -> NoReturn:
    messages.error(request, why)
    raise ImmediateHttpResponse(redirect("sign-in"))


@login_not_required
@require_safe
def begin(request: HttpRequest, provider_id: str) -> HttpResponseBase:
    """Lead to the provider. 404 where none is set up."""
    _refuse_unset()
    return login(request, provider_id)  # type: ignore[no-any-return]


@login_not_required
@require_safe
def back(request: HttpRequest, provider_id: str) -> HttpResponseBase:
    """Take the answer of the provider. 404 where none is set up."""
    _refuse_unset()
    return callback(request, provider_id)  # type: ignore[no-any-return]


def _refuse_unset() -> None:
    if not settings.SOCIALACCOUNT_PROVIDERS:
        raise Http404("No single sign-on is set up here.")


only = {"provider_id": PROVIDER}

urls = [  # under the names by which allauth finds them
    path("sign-in/single/", begin, only, name="openid_connect_login"),
    path("sign-in/single/back/", back, only, name="openid_connect_callback"),
]
