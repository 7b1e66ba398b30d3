"""Single sign-on by OpenID Connect, as the settings give it."""

from __future__ import annotations

from typing import Any

PROVIDER = "sso"
"""What our one provider is called inside; it stands in no address."""


def single_sign_on(*, issuer: str, name: str, client_id: str, secret: str) -> dict[str, Any]:
    """Return the provider in the shape that allauth reads; none without an issuer."""
    if not issuer:
        return {}
    provider = {
        "provider_id": PROVIDER,
        "name": name,
        "client_id": client_id,
        "secret": secret,
        "settings": {"server_url": issuer, "oauth_pkce_enabled": True},
    }
    return {"openid_connect": {"APPS": [provider]}}
