"""Requests are counted across processes where there is a Valkey, and nobody is held up when it goes away."""

from __future__ import annotations

import pytest

from tests.services.servers import Service

pytestmark = pytest.mark.services

ASK = """
from types import SimpleNamespace
from compliance.api.limits import TreatLimit
user = SimpleNamespace(pk=7, is_authenticated=True)
print(TreatLimit().allow_request(SimpleNamespace(method="POST", user=user, META={}), None))
"""


def test_processes_count_together(valkey: str, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Two checks a minute are two, whichever process is asked."""
    service = Service(tmp_path_factory.mktemp("counts"), CELERY_BROKER_URL=valkey, RATE_TREAT="2/min")
    assert [service.script(ASK).strip() for _ in range(3)] == ["True", "True", "False"]


def test_without_its_server_a_check_goes_on(tmp_path_factory: pytest.TempPathFactory) -> None:
    """A count that cannot be had keeps nobody from asking."""
    away = Service(tmp_path_factory.mktemp("away"), CELERY_BROKER_URL="redis://127.0.0.1:1/0", RATE_TREAT="1/day")
    assert [away.script(ASK).strip() for _ in range(2)] == ["True", "True"]
