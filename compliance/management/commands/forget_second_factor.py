"""`manage.py forget_second_factor`: for somebody who lost phone, passkey and recovery codes."""

from __future__ import annotations

from typing import Any

from django.core.management import BaseCommand, CommandError, CommandParser

from roster.accounts.factors import forget_factors
from roster.models import User


class Command(BaseCommand):
    help = "Take somebody's second factor away and end their sessions. Make sure first that it is they who ask."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("username")

    def handle(self, *, username: str, **options: Any) -> None:
        user = User.objects.filter(username=username).first()
        if user is None:
            raise CommandError(f"There is no account {username}. Names are told apart by capital letters here.")
        if not forget_factors(user):
            raise CommandError(f"{username} has no second factor, so there is nothing to take away.")
        self.stdout.write(
            f"The second factor of {username} is taken away and every session has ended. Where a post asks for one, "
            "they set up another at the next sign-in."
        )
