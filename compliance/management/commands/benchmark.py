"""`manage.py benchmark`: measure speed."""

from __future__ import annotations

import json
from argparse import ArgumentTypeError
from pathlib import Path
from typing import Any

from django.core.management import BaseCommand, CommandError, CommandParser

from compliance.benchmarks.database import NoDatabase, own_database
from compliance.benchmarks.growth import growth
from compliance.benchmarks.meals import meals
from compliance.benchmarks.problem import CannotMeasure
from compliance.benchmarks.stage import run_stage
from compliance.benchmarks.workers import workers
from compliance.benchmarks.world.size import NAMED
from menus.management import speed

DISTRICT = {
    "nightly": "the nightly run, beside writing every exception, a plain loop and one SQL statement",
    "change": "how long after a new label the verdicts that it changes are committed",
}
"""What is measured at the sites of an invented district. These, `treat`, `growth`, `meals` and `workers` print JSON."""


class Command(BaseCommand):
    """`benchmark labels`, `carryover`, `treat`, `growth`, `meals`, `workers`, and those of DISTRICT."""

    help = "Print how fast something is, beside a plain way of doing it, and how that grows."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        subjects = parser.add_subparsers(dest="subject", required=True)
        labels = subjects.add_parser("labels", help="how fast labels are read")
        labels.add_argument("--statements", type=Path, metavar="FILE", help="JSON lines with real statements")
        labels.add_argument("--count", type=int, default=2_000, help="how many labels to make where no file is given")
        subjects.add_parser("carryover", help="how fast a kitchen's day is followed")
        of_treat = subjects.add_parser("treat", help="how long a teacher's treat check takes over HTTP")
        of_treat.add_argument("--times", type=_positive, default=200, metavar="N", help="how many checks")
        _add_database(of_treat)
        of_growth = subjects.add_parser("growth", help="how the nightly run grows with children and with dishes")
        _add_size(of_growth)
        of_meals = subjects.add_parser("meals", help="a whole meal for each restricted child, beside swapping by hand")
        _add_size(of_meals)
        of_meals.add_argument("--weeks", type=int, default=1, help="how many weeks together, up to 12")
        of_meals.add_argument("--limits", action="store_true", help="hold lunches to the week's limits for nutrients")
        of_workers = subjects.add_parser("workers", help="the nightly run by one worker and by two, on PostgreSQL")
        _add_size(of_workers)
        _add_sites(of_workers)
        for name, what in DISTRICT.items():
            of = subjects.add_parser(name, help=what)
            _add_size(of)
            _add_database(of)
            _add_sites(of)

    def handle(self, *args: Any, subject: str, **options: Any) -> None:
        match subject:
            case "labels":
                speed.labels(self.stdout.write, options["statements"], options["count"])
            case "carryover":
                speed.carryover(self.stdout.write)
            case _:
                try:
                    figures = _figures(subject, **options)
                except CannotMeasure as error:
                    raise CommandError(str(error)) from error
                self.stdout.write(json.dumps({"benchmark": subject} | figures, indent=2))


def _add_size(parser: CommandParser) -> None:
    parser.add_argument("--size", choices=tuple(NAMED), default="school")
    parser.add_argument("--children", type=_positive, metavar="N", help="so many instead of those of a size")


def _add_database(parser: CommandParser) -> None:
    parser.add_argument(
        "--database", default="", metavar="URL", help="an empty database; else one is made, and gone afterwards"
    )


def _add_sites(parser: CommandParser) -> None:
    parser.add_argument("--sites", type=_positive, metavar="N", help="measure the first so many sites; all are there")


def _positive(text: str) -> int:
    if not text.isdigit() or not int(text):
        raise ArgumentTypeError(f"{text!r} is no number to measure with. Give 1 or more.")
    return int(text)


def _figures(subject: str, **asked: Any) -> dict[str, Any]:
    if subject == "treat":
        with own_database(asked["database"]) as address:
            told: dict[str, Any] = run_stage("treat", address, times=asked["times"])
            return told
    children = asked["children"] or NAMED[asked["size"]]
    if subject == "meals":
        return meals(children, asked["weeks"], limits=asked["limits"])
    if subject == "growth":
        return growth(children)
    if subject == "workers":
        with own_database() as address:
            world = run_stage("world", address, children=children)
            return {"world": world} | workers(address, asked["sites"])
    with own_database(asked["database"]) as address:
        world = run_stage("world", address, children=children)
        queued = _queued(address, asked["sites"]) if subject == "nightly" and not asked["database"] else {}
        told = run_stage(subject, address, most_sites=asked["sites"])
        return {"world": world} | told | queued


def _queued(world: str, most_sites: int | None) -> dict[str, Any]:
    """Run the same nights through the queue with two workers, where there are the services for it."""
    try:
        return {"two_workers": workers(world, most_sites, counts=[2])["nights"]["2"]}
    except NoDatabase as error:
        return {"two_workers": str(error)}
