"""`manage.py serve`: the service for real use, all in one process unless a broker is set."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management import BaseCommand, CommandError, CommandParser, call_command

from compliance.config.process import PortTaken, ask_for_port, serve
from compliance.demo.files import rows
from menus.models import Site
from roster.models import Post, Role
from roster.record.protect import is_protected, protect


def add_address(parser: CommandParser) -> None:
    """Let the command take where it listens."""
    parser.add_argument("--host", default="127.0.0.1", help="Address to listen on; 0.0.0.0 is every one.")
    parser.add_argument("--port", type=int, default=8000)


class Command(BaseCommand):
    help = "Serve pages, and without CELERY_BROKER_URL run the nightly checks too. No demo data, no default account."

    def add_arguments(self, parser: CommandParser) -> None:
        add_address(parser)

    def handle(self, *, host: str, port: int, **options: Any) -> None:
        try:
            ask_for_port(host, port)
            call_command("migrate", verbosity=0)
            _refuse_demo()
            if not is_protected():  # the first start, and after a migration that made the table anew
                protect()
            self._say(host, port)
            serve(host, port)
        except PortTaken as error:
            raise CommandError(str(error)) from error

    def _say(self, host: str, port: int) -> None:
        if not Post.objects.filter(role=Role.ADMINISTRATOR, user__is_active=True).exists():
            self.stdout.write(
                "There is no administrator yet. Make the first one, who gets a one-time link:\n"
                "  python3 manage.py invite NAME --email ADDRESS --role administrator"
            )
        if not settings.ONE_PROCESS:
            self.stdout.write("A broker is set: the checks are run by the Celery worker and beat, not here.")
        self.stdout.write(f"Serving at http://{host}:{port}. Stop with Ctrl-C.")


def _refuse_demo() -> None:
    if Site.objects.filter(code__in=[row["code"] for row in rows("sites.csv")]).exists():
        raise CommandError(
            "This database holds the demo school, whose passwords everybody knows. Look at it with `manage.py demo`; "
            "for real use point DATA_DIR or DATABASE_URL to an empty database."
        )
