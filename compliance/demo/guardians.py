"""The demo's guardians: each of the first child of a site who is kept from one substance by a signed statement."""

from __future__ import annotations

from django.contrib.auth.hashers import make_password

from compliance.demo.files import Row, rows
from compliance.demo.people import account
from roster.models import Basis, Child, Post, Role


def load_guardians(*, password: str) -> None:
    """Write the accounts, all with one password, and the post of each."""
    hashed = make_password(password)
    for row in rows("guardians.csv"):
        post = Post(user=account(row, hashed), role=Role.GUARDIAN, child=_child(row))
        post.full_clean()
        post.save()


def _child(row: Row) -> Child:
    here = Child.objects.filter(enrolments__classroom__site__code=row["site"])
    kept = here.filter(restrictions__substance=row["substance"], restrictions__basis=Basis.STATEMENT)
    return kept.order_by("pk")[0]
