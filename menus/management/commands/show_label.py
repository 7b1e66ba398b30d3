"""Show how a label is read."""

from __future__ import annotations

import argparse
import sys
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from menus.labels.explained import explained
from menus.labels.label import LabelText, LabelTooLong
from menus.labels.printed import printed
from menus.labels.reader import read
from menus.substances.groups import JURISDICTIONS


class Command(BaseCommand):
    """`show_label [TEXT] [--contains …] [--precautionary …] [--supplied …] [--jurisdiction us] [--regulator …] …`."""

    help = "Print a label's list as it nests, with places, the lexicon rows that matched, and what they say of it."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("text", nargs="?", metavar="TEXT", help="the label's words; without it, standard input")
        parser.add_argument("--contains", default="", help="the declaration, where it is stored apart")
        parser.add_argument("--precautionary", default="", help="the precautionary statement, where it is stored apart")
        parser.add_argument(
            "--supplied", default="", help="the supplier's allergen codes: “AM CONTAINS; AS MAY_CONTAIN”"
        )
        parser.add_argument("--jurisdiction", choices=JURISDICTIONS, default="us")
        parser.add_argument("--regulator", choices=("fda", "fsis", "none"), default="", help="none: home-made")
        parser.add_argument("--seen-on", type=date.fromisoformat, metavar="DATE", help="the day of the label")

    def handle(self, *args: Any, text: str | None, **options: Any) -> None:
        parts = ("contains", "precautionary", "supplied", "jurisdiction", "regulator", "seen_on")
        try:
            label = LabelText(sys.stdin.read() if text is None else text, **{name: options[name] for name in parts})
        except LabelTooLong as error:
            raise CommandError(str(error)) from error
        for line in printed(explained(read(label))):
            self.stdout.write(line)
        self.stdout.write("This is how the words were read. It is no statement that the food may be served to anyone.")
