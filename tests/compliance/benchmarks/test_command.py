"""`benchmark` for a district: a database of its own, stages in processes of their own, JSON at the end."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from compliance.benchmarks.database import own_database
from compliance.benchmarks.stage import StageFailed, run_stage
from compliance.management.commands import benchmark


def test_it_asks_each_stage_on_a_database_of_its_own(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """First the district of the size, then the measuring; not on the database in use, which is gone into no stage."""
    asked: list[tuple[str, str, dict[str, Any]]] = []

    def stage(name: str, database: str, **wanted: Any) -> dict[str, Any]:
        asked.append((name, database, wanted))
        return {"sites": 200} if name == "world" else {"seconds": {}}

    monkeypatch.setattr(benchmark, "run_stage", stage)
    call_command("benchmark", "nightly", "--size", "district", "--sites", "3")
    told = json.loads(capsys.readouterr().out)
    assert "need PostgreSQL" in told.pop("two_workers")
    assert told == {"benchmark": "nightly", "world": {"sites": 200}, "seconds": {}}
    (world, address, size), (name, same, most) = asked
    assert (world, size, name, most) == ("world", {"children": 100_000}, "nightly", {"most_sites": 3})
    assert address == same and "benchmark-" in address


def test_its_own_database_is_gone_afterwards_and_a_given_one_is_taken() -> None:
    """Nothing is left of it."""
    with own_database() as address:
        folder = Path(address.removeprefix("sqlite:///")).parent
        assert folder.is_dir()
    assert not folder.exists()
    with own_database("postgresql://somewhere/empty") as given:
        assert given == "postgresql://somewhere/empty"


@pytest.mark.parametrize("argument", [["--children", "0"], ["--sites", "none"], ["--size", "planet"]])
def test_nothing_to_measure_is_refused(argument: list[str]) -> None:
    """With what to give instead, before anything is made."""
    with pytest.raises(CommandError, match=r"Give 1 or more|invalid choice"):
        call_command("benchmark", "nightly", *argument)


def test_a_stage_that_fails_says_why(tmp_path: Path) -> None:
    """Its last words are the message, of the command as well."""
    with pytest.raises(StageFailed, match="no such table"):
        run_stage("nightly", f"sqlite:///{tmp_path / 'empty.sqlite3'}", most_sites=None)
