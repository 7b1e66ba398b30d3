"""What the choice fields of forms offer, when it depends on who asks."""

from __future__ import annotations

from typing import Any

from django import forms
from django.db.models import QuerySet


def offer(form: forms.BaseForm, name: str, rows: QuerySet[Any]) -> forms.ModelChoiceField[Any]:
    """Let the field choose among these rows, and return it."""
    field = form.fields[name]
    assert isinstance(field, forms.ModelChoiceField)
    field.queryset = rows
    return field


def offer_choices(form: forms.BaseForm, name: str, choices: list[tuple[str, str]]) -> None:
    """Let the field choose among these values."""
    field = form.fields[name]
    assert isinstance(field, forms.ChoiceField)
    field.choices = choices
