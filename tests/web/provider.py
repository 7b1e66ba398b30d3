"""A provider of single sign-on on this machine: OpenID Connect Core 1.0, code flow, as much of it as is asked for."""

from __future__ import annotations

import base64
import hashlib
import json
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Thread
from typing import Any
from urllib.parse import parse_qs, urlsplit

import jwt
from django.test import Client

from compliance.config.sso import single_sign_on

CLIENT = {"client_id": "menus", "secret": "between us two"}


@dataclass
class Provider:
    """What the provider tells of whoever signs in there. Claims may be changed between two sign-ins."""

    port: int = 0
    claims: dict[str, Any] = field(default_factory=dict)
    token: dict[str, Any] = field(default_factory=dict)
    asked: list[dict[str, str]] = field(default_factory=list)
    challenge: str = ""

    @property
    def issuer(self) -> str:
        return f"http://localhost:{self.port}"

    def settings(self) -> dict[str, Any]:
        """What the settings make of the provider."""
        return single_sign_on(issuer=self.issuer, name="the school's sign-on", **CLIENT)

    def answer(self, path: str, form: dict[str, str]) -> tuple[int, dict[str, Any]]:
        """Answer one request."""
        if path == "/.well-known/openid-configuration":
            places = {"authorization": "/authorize", "token": "/token", "userinfo": "/userinfo"}
            found = {f"{name}_endpoint": self.issuer + place for name, place in places.items()}
            return 200, {"issuer": self.issuer, "jwks_uri": f"{self.issuer}/jwks", **found}
        if path == "/token":
            self.asked.append(form)
            proof = base64.urlsafe_b64encode(hashlib.sha256(form["code_verifier"].encode()).digest()).rstrip(b"=")
            if proof.decode() != self.challenge or form["client_secret"] != CLIENT["secret"]:
                return 400, {"error": "invalid_grant"}
            now = int(time.time())
            said = {"iss": self.issuer, "aud": CLIENT["client_id"], "iat": now, "exp": now + 60, **self.claims}
            signed = jwt.encode(said | self.token, "x" * 32, algorithm="HS256")
            return 200, {"access_token": "open", "token_type": "Bearer", "id_token": signed}
        if path == "/userinfo":
            return 200, self.claims
        return 404, {}


@contextmanager
def providing() -> Iterator[Provider]:
    """Run a provider while the block lasts."""
    provider = Provider()

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self._say(*provider.answer(self.path, {}))

        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"])).decode()
            self._say(*provider.answer(self.path, {name: value[0] for name, value in parse_qs(body).items()}))

        def _say(self, status: int, body: dict[str, Any]) -> None:
            self.send_response(status)
            self.send_header("Content-Type", "application/json")
            self.end_headers()
            self.wfile.write(json.dumps(body).encode())

        def log_message(self, *_: Any) -> None:
            """Say nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    provider.port = server.server_port
    thread = Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield provider
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def go_through(client: Client, provider: Provider, asked: str = "", **answer: str) -> Any:
    """Follow the link to the provider and come back with what it answers; return where that leads."""
    away = client.get("/sign-in/single/", {"next": asked} if asked else {})
    assert away.status_code == 302 and away.url.startswith(f"{provider.issuer}/authorize?"), away.url
    sent = {name: value[0] for name, value in parse_qs(urlsplit(away.url).query).items()}
    provider.challenge = sent["code_challenge"]
    assert sent["redirect_uri"] == "http://testserver/sign-in/single/back/"
    return client.get("/sign-in/single/back/", {"state": sent["state"], "code": "once", **answer})
