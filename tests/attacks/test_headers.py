"""What every answer tells the browser, and that no page of an error tells anything of anybody.

Sources: W3C Content Security Policy 3, W3C Permissions Policy, RFC 6797 (HSTS), RFC 9111 (caching); OWASP Secure
Headers (all from memory).
"""

from __future__ import annotations

from typing import Any

import pytest
from django.core.exceptions import SuspiciousOperation
from django.test import Client
from django.urls import reverse

from compliance.web import children
from tests.attacks.conftest import insiders, signed_in
from tests.cast import Cast
from tests.web.doors import OPEN, World, knock

POLICY = "Content-Security-Policy"


def directives(answer: Any) -> dict[str, list[str]]:
    """The content policy, by directive."""
    parts = [part.split() for part in answer.headers[POLICY].split(";") if part.strip()]
    return {name: values for name, *values in parts}


def faults(answer: Any) -> list[str]:
    """What is wrong with the headers of an answer."""
    found, headers = [], answer.headers
    policy = directives(answer)
    if any("unsafe" in value or value in ("*", "http:", "https:") for values in policy.values() for value in values):
        found.append("lets in more than it names")
    wanted = {"default-src", "script-src", "style-src", "object-src", "base-uri", "form-action", "frame-ancestors"}
    if not wanted <= policy.keys() or policy["frame-ancestors"] != ["'none'"] or policy["object-src"] != ["'none'"]:
        found.append("leaves something open")
    expected = {
        "X-Frame-Options": "DENY",
        "X-Content-Type-Options": "nosniff",
        "Referrer-Policy": "same-origin",
        "Cross-Origin-Opener-Policy": "same-origin",
        "Cross-Origin-Resource-Policy": "same-origin",
    }
    found += [name for name, value in expected.items() if headers.get(name) != value]
    if "geolocation=()" not in headers.get("Permissions-Policy", ""):
        found.append("Permissions-Policy")
    return found


def is_kept_from_caches(answer: Any) -> bool:
    """Whether nothing between us and the person keeps the answer, nor the browser for whoever comes next."""
    asked = answer.headers.get("Cache-Control", "")
    return "no-store" in asked or "private" in asked


def test_every_answer_to_somebody_signed_in(world: World) -> None:
    """Every page, file and answer of the API; and it stays in nobody's cache."""
    wrong: dict[str, Any] = {}
    for name, client in insiders(world):
        answer = knock(client, world, name)
        if found := faults(answer):
            wrong[name] = found
        elif name != "sign-out" and not is_kept_from_caches(answer):
            wrong[name] = "may be kept"
    assert not wrong


@pytest.mark.django_db
def test_every_answer_to_a_stranger() -> None:
    """The open addresses, and one that is not there."""
    for name, kwargs in OPEN.items():
        assert not faults(Client().get(reverse(name, kwargs=kwargs))), name
    assert not faults(Client().get("/nowhere/"))


def test_behind_https_everything_is_https(cast: Cast, settings: Any) -> None:
    """Cookies go over HTTPS alone, and browsers remember it for a year."""
    settings.SECURE_HSTS_SECONDS = 31_536_000
    settings.SECURE_SSL_REDIRECT = True
    settings.SESSION_COOKIE_SECURE = settings.CSRF_COOKIE_SECURE = True
    client = Client()
    answer = client.get(reverse("sign-in"))
    assert answer.status_code == 301 and answer.headers["Location"].startswith("https://")
    answer = client.post(
        reverse("sign-in"), {"login": "x", "password": "y"}, secure=True, headers={"referer": "https://testserver/"}
    )
    assert answer.headers["Strict-Transport-Security"] == "max-age=31536000"
    client.force_login(cast.june)
    answer = client.get(reverse("cycle"), {"site": "ferrowick"}, secure=True)  # keeps the site in the session
    session = answer.cookies[settings.SESSION_COOKIE_NAME]
    assert session["httponly"] and session["samesite"] == "Lax" and session["secure"]


class TestErrors:
    """Pages of errors hold nothing of what was asked, of whom, or of the code."""

    SECRET = "Zelda Quux"

    @pytest.fixture
    def hakim(self, cast: Cast) -> Client:
        """The nurse, whose browser is shown what a browser is shown."""
        return signed_in(cast.hakim, raise_request_exception=False)

    def clean(self, answer: Any, status: int) -> None:
        """The page is of that status, has the headers, and tells nothing."""
        body = answer.content.decode()
        assert answer.status_code == status
        assert not faults(answer)
        for word in (self.SECRET, "Noor", "Traceback", "Exception Type", "DoesNotExist", "settings", ".py"):
            assert word not in body, word

    def test_400(self, hakim: Client, monkeypatch: pytest.MonkeyPatch) -> None:
        """Something was sent that no form sends."""
        self.fail(monkeypatch, SuspiciousOperation(self.SECRET))
        self.clean(hakim.get(reverse("children")), 400)

    def test_403(self, cast: Cast) -> None:
        """A form without its token."""
        client = signed_in(cast.hakim, enforce_csrf_checks=True)
        self.clean(client.post(reverse("child-report", args=[cast.noor.pk]), {"note": self.SECRET}), 403)

    def test_404(self, hakim: Client) -> None:
        """Nothing there, or nothing for this person: one and the same page."""
        self.clean(hakim.get("/nowhere/", {"q": self.SECRET}), 404)
        self.clean(hakim.get(reverse("child", args=[999_999])), 404)

    def test_405(self, hakim: Client) -> None:
        """A method that the page does not take."""
        answer = hakim.delete(reverse("children"))
        assert answer.status_code == 405 and answer.content == b"" and not faults(answer)

    def test_500(self, hakim: Client, cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
        """A fault of ours."""
        self.fail(monkeypatch, ZeroDivisionError(self.SECRET))
        self.clean(hakim.get(reverse("child", args=[cast.noor.pk])), 500)

    def fail(self, monkeypatch: pytest.MonkeyPatch, error: Exception) -> None:
        """Let the pages about children fail."""

        def render(*_: Any, **__: Any) -> None:
            raise error

        monkeypatch.setattr(children, "render", render)
