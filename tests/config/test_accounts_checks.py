"""Settings of accounts that make no sense are said at start."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.config.accounts_checks import check_accounts, check_factors
from compliance.config.sso import single_sign_on


@pytest.mark.parametrize(
    ("name", "value", "found"),
    [
        ("SECOND_FACTOR_ROLES", ["licensed", "auditor"], []),
        ("SECOND_FACTOR_ROLES", ["nurse"], ["compliance.E021"]),
        ("SIGN_IN_TRIES", 0, ["compliance.E002"]),
        ("SIGN_IN_TRIES", 1, []),
        ("SIGN_IN_PAUSE_MINUTES", 0, ["compliance.E002"]),
        ("SIGN_IN_KEPT_DAYS", 0, ["compliance.E002"]),
        ("SSO_ISSUER", "http://sign-on.example", ["compliance.E020"]),
        ("SSO_ISSUER", "https://sign-on.example", []),
    ],
)
def test_settings_that_make_no_sense(settings: Any, name: str, value: object, found: list[str]) -> None:
    """Each has an id, and a hint that says what to set."""
    setattr(settings, name, value)
    messages = check_accounts()
    assert [message.id for message in messages] == found
    assert all(message.hint for message in messages)


@pytest.mark.parametrize(("client_id", "secret"), [("", "x"), ("menus", ""), ("", "")])
def test_single_sign_on_is_set_as_a_whole(settings: Any, client_id: str, secret: str) -> None:
    """Or not at all."""
    issuer = "https://sign-on.example"
    settings.SOCIALACCOUNT_PROVIDERS = single_sign_on(issuer=issuer, name="x", client_id=client_id, secret=secret)
    assert [message.id for message in check_accounts()] == ["compliance.E022"]
    assert single_sign_on(issuer="", name="x", client_id=client_id, secret=secret) == {}


@pytest.mark.parametrize(("roles", "found"), [([], ["compliance.W020"]), (["licensed"], [])])
def test_a_second_factor_turned_off_is_no_way_to_go_live(settings: Any, roles: list[str], found: list[str]) -> None:
    """`manage.py check --deploy` says so."""
    settings.SECOND_FACTOR_ROLES = roles
    assert [message.id for message in check_factors()] == found
