"""What forms have in common that write the next version of what a child has one of: a pointer to a plan, a level."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict

from roster.life.stale import OneOfAChild, Stale


class DayInput(forms.DateInput):
    """A day, picked or typed."""

    input_type = "date"

    def __init__(self) -> None:
        super().__init__(format="%Y-%m-%d")


class VersionForm(forms.Form):
    """A form that carries the version it was opened on, so that a newer one is noticed. It knows the site's `today`."""

    under = forms.IntegerField(required=False, widget=forms.HiddenInput)
    today: date

    def refuse_to_come(self, day: date | None, paper: str) -> date | None:
        """Return the day that stands on the paper; refuse one to come."""
        if day and day > self.today:
            raise ValidationError(f"{day} is still to come. Give the date that stands on the {paper}.")
        return day

    def keep(self, record: Callable[[], object]) -> OneOfAChild | None:
        """Record what the form says. What stands against it goes on the form; a newer version is returned.

        Whoever has seen the newer version sends what they typed anew, and it replaces that one knowingly.
        """
        try:
            record()
        except Stale as error:
            self.add_error(None, ValidationError(error.messages))
            sent = QueryDict(mutable=True)
            sent.update(self.data)
            sent["under"] = str(error.newer.pk)
            self.data = sent
            return error.newer
        except ValidationError as error:
            self.add_error(None, ValidationError(error.messages))
        return None
