"""`manage.py nights`: the last nights, and what wants somebody."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management import BaseCommand, CommandError, CommandParser
from django.utils import timezone
from rich.console import Console
from rich.markup import escape
from rich.table import Table

from compliance.models import OutgoingMail
from compliance.operations.letters import open_letters
from compliance.operations.nights import night_parts, nights_within
from compliance.operations.overdue import overdue_sites
from compliance.operations.scope import Scope
from compliance.web.night_lines import LetterLine, NightLine, OverdueLine, lines_of

MOST_SHOWN = 20


class Command(BaseCommand):
    help = "Show the last nights, and say what wants somebody. Exit code 1 if anything does."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--last", type=int, default=10, metavar="N", help="How many nights to show (10).")

    def handle(self, *, last: int, **options: Any) -> None:
        scope, now = Scope.everything(), timezone.now()
        console = Console(width=None if self.stdout.isatty() else 120, highlight=False)
        console.print(_table(lines_of(night_parts(nights_within(scope, now)[: max(1, last)], scope, now))))
        late = [OverdueLine.of(each, now) for each in overdue_sites(scope, now)]
        letters = [LetterLine.of(each, now, tells_all=True) for each in open_letters(scope)]
        _list(console, [f"{each.since}. {each.cause} {each.what_to_do}" for each in late])
        _list(console, [f"{each.place}: {each.why} ({each.ago}). {each.what_to_do}" for each in letters])
        mails = OutgoingMail.objects.given_up().count()
        _list(console, [f"Mails that were given up: {mails}. The page Mail says why."] if mails else [])
        wants = len(late) + len(letters) + bool(mails)
        if wants:
            raise CommandError(f"Things that want somebody: {wants}. They stand above.")
        console.print("Every site was checked in time, and no work was given up.")


def _table(lines: list[NightLine]) -> Table:
    table = Table("Due", "How it stands", "Sites", "Slices", "Took", title=f"Nights ({settings.TIME_ZONE})")
    for line in lines:
        due = timezone.localtime(line.part.night.due_at)
        table.add_row(f"{due:%Y-%m-%d %H:%M} {line.how}", line.state, line.sites, line.slices, line.took)
    return table


def _list(console: Console, sentences: list[str]) -> None:
    for sentence in sentences[:MOST_SHOWN]:
        console.print(f"- {escape(sentence)}")
    if len(sentences) > MOST_SHOWN:
        console.print(f"- and {len(sentences) - MOST_SHOWN} more of the kind; the page Nights lists them.")
