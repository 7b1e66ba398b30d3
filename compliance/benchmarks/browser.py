"""The pages over HTTP: the service in a process of its own, and somebody who signs in and sends forms."""

from __future__ import annotations

import os
import re
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http.cookiejar import CookieJar
from typing import Any
from urllib.error import HTTPError
from urllib.parse import urlencode
from urllib.request import HTTPCookieProcessor, HTTPRedirectHandler, build_opener

from django.conf import settings

from compliance.benchmarks.problem import CannotMeasure


class Unanswered(CannotMeasure):
    """The service did not answer as it should. The message says what it said."""


class _Stay(HTTPRedirectHandler):
    """Do not follow: the answer to a form is where it can be read."""

    def redirect_request(self, *_: Any) -> None:
        return None


class Browser:
    """Keeps cookies, sends forms with their token."""

    def __init__(self) -> None:
        self._opener = build_opener(HTTPCookieProcessor(CookieJar()), _Stay())

    def open(self, address: str) -> str:
        """Return the page."""
        with self._opener.open(address, timeout=30) as answer:
            return str(answer.read().decode())

    def token(self, address: str) -> str:
        """Return what proves that a form was sent from the page. Raises Unanswered when there is no form."""
        found = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', self.open(address))
        if found is None:
            raise Unanswered(f"There is no form at {address}.")
        return found[1]

    def send(self, address: str, said: dict[str, str], token: str) -> None:
        """Send the form. Raises Unanswered unless the answer leads elsewhere: else the form is wanted again."""
        sent = urlencode(said | {"csrfmiddlewaretoken": token}).encode()
        try:
            with self._opener.open(address, sent, timeout=30) as answer:
                raise Unanswered(f"{address} showed its form again ({answer.status}).")
        except HTTPError as answer:
            with answer:
                if answer.status != 302:
                    raise Unanswered(f"{address} answered {answer.status}.") from answer

    def ask(self, address: str, said: dict[str, str]) -> None:
        """Open the page and send its form. Raises Unanswered."""
        self.send(address, said, self.token(address))


@contextmanager
def served() -> Iterator[str]:
    """Serve the pages, and nothing else, in a process of its own without a limit on how often one may ask."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    address = f"http://127.0.0.1:{port}"
    command = [sys.executable, "-m", "waitress", f"--listen=127.0.0.1:{port}", "compliance.config.wsgi:application"]
    process = subprocess.Popen(
        command,
        cwd=settings.BASE_DIR,
        env=os.environ | {"RATE_TREAT": "1000000/min"},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        _wait_for(f"{address}/healthz", process)
        yield address
    finally:
        process.terminate()
        process.wait(timeout=30)


def _wait_for(address: str, process: subprocess.Popen[bytes]) -> None:
    opener = build_opener()
    for _ in range(600):
        if process.poll() is not None:
            raise Unanswered("The service did not start: python3 manage.py serve says why.")
        try:
            with opener.open(address, timeout=2):
                return
        except OSError:  # nobody listens yet, or it is still loading
            time.sleep(0.1)
    raise Unanswered("The service did not answer within a minute.")
