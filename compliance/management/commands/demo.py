"""`manage.py demo`: an invented school, checked as at night, and served on this machine."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.conf import settings
from django.core.management import BaseCommand, CommandError, CommandParser, call_command
from django.utils import timezone
from rich.console import Console
from rich.table import Table

from compliance.checks.exceptions import ExceptionFilter, ExceptionRow, find_exceptions
from compliance.checks.run import SiteBusy, check_site
from compliance.config.process import PortTaken, ask_for_port, serve
from compliance.demo.load import DemoRefused, DemoSignIns, load_demo
from compliance.models import Run
from compliance.reports.terminal import WIDTH, tables
from compliance.web.cautions import CAUTIONS
from menus.models import Site

HOST = "127.0.0.1"
"""The demo's password is known to everybody, so it listens to this machine alone. Passkeys want it called localhost."""
DAYS_SHOWN = 2


class Command(BaseCommand):
    help = "Load an invented school, run tonight's check, print the exceptions, and serve the pages on this machine."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--once", action="store_true", help="Stop after printing.")
        parser.add_argument("--all", action="store_true", dest="show_all", help="Print every day, not the first two.")
        parser.add_argument("--port", type=int, default=8000)

    def handle(self, *, once: bool, port: int, show_all: bool, **options: Any) -> None:
        self.console = Console()
        if not self.console.is_terminal:
            self.console = Console(width=WIDTH)
        settings.SECOND_FACTOR_ROLES = []  # everybody knows the passwords: a second factor would keep nobody out
        try:
            if not once:
                ask_for_port(HOST, port)
            self._prepare(show_all=show_all)
            if not once:
                self.console.print(f"\nServing at [bold]http://localhost:{port}[/]. Stop with Ctrl-C.")
                serve(HOST, port)
        except (PortTaken, DemoRefused) as error:
            raise CommandError(str(error)) from error

    def _prepare(self, *, show_all: bool) -> None:
        with self.console.status("Making the database …"):
            call_command("migrate", verbosity=0)
        with self.console.status("Loading the demo school …"):
            signs = load_demo()
        for site in Site.objects.all():
            with self.console.status(f"Checking {site} …"):
                self._check(site)
        self._print_exceptions(show_all=show_all)
        self._print_sign_ins(signs)

    def _check(self, site: Site) -> None:
        try:
            check_site(site=site, trigger=Run.Trigger.HAND)
        except SiteBusy as busy:
            self.console.print(f"{busy} What follows is from the check before.")

    def _print_exceptions(self, *, show_all: bool) -> None:
        rows = find_exceptions(None, ExceptionFilter(first=timezone.localdate(), last=date.max))
        days = sorted({row.date for row in rows})
        shown = days if show_all else days[:DAYS_SHOWN]
        for table in tables(row for row in rows if row.date in shown):
            self.console.print(table)
        if rest := days[len(shown) :]:
            self.console.print(_rest([row for row in rows if row.date in rest]))
        as_of = max(row.run.as_of for row in rows) if rows else timezone.now()
        self.console.print(f"As of {as_of:%Y-%m-%d %H:%M} UTC. {CAUTIONS['demo']}", style="bold")
        self.console.print(f"{CAUTIONS['decides']} {CAUTIONS['none-found']} {CAUTIONS['night']}")

    def _print_sign_ins(self, signs: DemoSignIns) -> None:
        table = Table(title=f"Sign-ins of the demo, all with the password: {signs.password}", title_justify="left")
        for heading in ("Name to sign in with", "Person", "Role", "Where"):
            table.add_column(heading)
        for each in signs.accounts:
            table.add_row(each.username, each.name, each.role, each.place)
        self.console.print(table)
        self.console.print("No second factor is asked for in the demo. In real use licensed staff, administrators and")
        self.console.print("auditors must have one; try it out under Your account.")


def _rest(rows: list[ExceptionRow]) -> str:
    days = len({row.date for row in rows})
    return (
        f"{len(rows)} more on {days} later days, to {rows[-1].date}. "
        "See them with --all, or on the page Exceptions as the administrator.\n"
    )
