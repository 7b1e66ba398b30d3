"""python3 manage.py protect_record [--role ROLE]"""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from roster.record.protect import CannotProtect, protect


class Command(BaseCommand):
    help = (
        "Let the database refuse edits of the record of actions. Run it as the owner of the tables; again is harmless."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--role", default="", help="PostgreSQL: the role as which the service connects, which owns no table"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            protect(options["role"])
        except CannotProtect as error:
            raise CommandError(str(error)) from error
        rights = f", and {options['role']} may only add to it" if options["role"] else ""
        self.stdout.write(f"The record of actions is protected by triggers{rights}.")
