"""Secrets of second factors, encrypted with the keys of the kept files."""

from __future__ import annotations

import pytest
from allauth.mfa.models import Authenticator
from cryptography.fernet import Fernet
from django.core.management import call_command

from menus.sealed import KeyLost, SealedStorage
from roster.accounts.codes import take_code
from roster.accounts.secrets import opened, rotate_secrets, sealed
from tests.factories import UserFactory
from tests.web.codes import SECRET, code, recovery_codes, still, with_app

__all__ = ["still"]
OLD, NEW = (Fernet.generate_key().decode() for _ in range(2))


def test_what_is_sealed_is_opened_with_any_of_the_keys(settings) -> None:
    """And with no other."""
    settings.FILE_KEYS = [OLD]
    token = sealed("secret")
    assert "secret" not in token
    settings.FILE_KEYS = [NEW, OLD]
    assert opened(token) == "secret"
    settings.FILE_KEYS = [NEW]
    with pytest.raises(KeyLost, match="FILE_KEYS"):
        opened(token)


@pytest.mark.django_db
@pytest.mark.usefixtures("still")
def test_after_rotation_the_old_key_is_not_needed(settings, monkeypatch: pytest.MonkeyPatch, tmp_path, capsys) -> None:
    """By the command that does so with the kept files; codes go on counting."""
    settings.FILE_KEYS = [OLD]
    user = with_app(UserFactory.create())
    codes = recovery_codes(user)
    assert SECRET not in str(Authenticator.objects.get(type="totp").data)
    settings.FILE_KEYS = [NEW, OLD]
    monkeypatch.setattr(
        "menus.management.commands.rotate_keys.default_storage", SealedStorage(keys=[NEW, OLD], location=tmp_path)
    )
    call_command("rotate_keys")
    assert "2 secrets of second factors" in capsys.readouterr().out
    settings.FILE_KEYS = [NEW]
    assert take_code(user, code()) is not None
    assert Authenticator.objects.get(type="recovery_codes").wrap().validate_code(codes[0])


@pytest.mark.django_db
def test_a_key_that_is_lost_changes_nothing(settings) -> None:
    """All or none."""
    settings.FILE_KEYS = [OLD]
    with_app(UserFactory.create())
    before = Authenticator.objects.get().data
    settings.FILE_KEYS = [NEW]
    with pytest.raises(KeyLost):
        rotate_secrets()
    assert Authenticator.objects.get().data == before
