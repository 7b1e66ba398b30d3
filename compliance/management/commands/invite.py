"""`manage.py invite`: an account without a password, and the one-time link by which its owner sets one."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.management import BaseCommand, CommandError, CommandParser

from compliance.web.welcome import invite, welcome_link
from menus.models import Site
from roster.models import Classroom, Role, User


class Command(BaseCommand):
    help = "Make an account and print the one-time link that sets its password; for an account that is there, the link."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("username")
        parser.add_argument("--email", default="", help="Where the digest goes.")
        parser.add_argument("--role", choices=Role.values, help="Required for a new account.")
        parser.add_argument("--site", metavar="CODE", help="Where the role is held; left out: everywhere.")
        parser.add_argument("--classroom", metavar="NAME", help="The teacher's classroom at the site.")

    def handle(self, *, username: str, role: str | None, **options: Any) -> None:
        user = User.objects.filter(username=username).first()
        if user is None or role:
            user = self._new(username, role, **options)
        hours = settings.PASSWORD_RESET_TIMEOUT // 3600
        self.stdout.write(
            f"{user.username} sets a password at this address, once, within {hours} hours. "
            "Hand it to nobody else; whoever opens it holds the account.\n"
            f"{welcome_link(user)}"
        )

    def _new(
        self, username: str, role: str | None, *, email: str, site: str | None, classroom: str | None, **_: Any
    ) -> User:
        if not role:
            raise CommandError(f"There is no account {username}. To make it, say its role: --role administrator.")
        place = _site(site)
        room = _classroom(place, classroom)
        try:
            return invite(
                username=username,
                email=email,
                role=Role(role),
                site=None if room else place,
                classroom=room,
            )
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from error


def _site(code: str | None) -> Site | None:
    if code is None:
        return None
    site = Site.objects.filter(code=code).first()
    if site is None:
        known = ", ".join(Site.objects.values_list("code", flat=True)) or "none yet"
        raise CommandError(f"There is no site {code!r}. The sites are: {known}.")
    return site


def _classroom(site: Site | None, name: str | None) -> Classroom | None:
    if name is None:
        return None
    if site is None:
        raise CommandError("A classroom is known by its site too. Add --site CODE.")
    room = Classroom.objects.filter(site=site, name=name).first()
    if room is None:
        known = ", ".join(site.classrooms.values_list("name", flat=True)) or "none yet"
        raise CommandError(f"{site} has no classroom {name!r}. Its classrooms are: {known}.")
    return room
