"""The people who sign in, for administrators: who there is, inviting somebody, a substitute for today."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.db.models import Q
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from compliance.web.invitation import send_link
from compliance.web.people_form import InviteForm, SubstituteForm
from compliance.web.signed_in import SignedInRequest
from compliance.web.welcome import welcome_link
from roster.accounts.factors import with_factor
from roster.accounts.locks import locks_of
from roster.accounts.people import invite_person
from roster.accounts.posts import substitute_today
from roster.accounts.reach import Reach, is_over
from roster.models import Post, Role, User

PER_PAGE = 50


@dataclass(slots=True)
class Line:
    """One person as the list shows them."""

    person: User
    has_factor: bool
    locked_until: datetime | None
    posts: list[Post] = field(default_factory=list)


@require_safe
def people(request: SignedInRequest) -> HttpResponse:
    """List the people at the administrator's sites. Ten queries, however many there are."""
    reach, asked = Reach(request.user), request.GET.get("name", "").strip()
    found = reach.people.order_by("-is_active", "last_name", "first_name", "username")
    for word in asked.split()[:5]:
        found = found.filter(Q(first_name__icontains=word) | Q(last_name__icontains=word) | Q(username__icontains=word))
    shown = Paginator(found, PER_PAGE).get_page(request.GET.get("page"))
    context = {
        "shown": shown,
        "lines": lines_of(list(shown), reach),
        "asked": asked,
        "form": SubstituteForm(None, reach=reach),
    }
    return render(request, "people/people.html", context)


def lines_of(persons: list[User], reach: Reach) -> list[Line]:
    """Return the lines of these people, with the posts that are within reach and not over. Three queries."""
    factors, locks = with_factor(persons), locks_of(persons)
    lines = {each.pk: Line(each, each.pk in factors, locks.get(each.pk)) for each in persons}
    for post in reach.posts.filter(user__in=persons).order_by("role", "pk"):
        if not is_over(post):
            lines[post.user_id].posts.append(post)
    return list(lines.values())


@require_http_methods(["GET", "POST"])
def invite(request: SignedInRequest) -> HttpResponse:
    """Make an account with a first post, and mail its owner the one-time link."""
    form = InviteForm(request.POST if request.method == "POST" else None, reach=Reach(request.user))
    if request.method == "POST" and form.is_valid() and (person := _invited(request, form)):
        if send_link(person):
            messages.success(request, f"{person} is invited. The link went to {person.email}; it works once.")
        else:
            messages.warning(request, _by_hand(person))
        return redirect("person", person.pk)
    return render(request, "people/invite.html", {"form": form, "hours": settings.PASSWORD_RESET_TIMEOUT // 3600})


def _by_hand(person: User) -> str:
    """The one case in which the link is shown: a new account, and no mail that could carry it."""
    return (
        f"{person} is invited, but no mail could be sent. Hand over this link yourself, and to nobody else; it works "
        f"once: {welcome_link(person)}"
    )


def _invited(request: SignedInRequest, form: InviteForm) -> User | None:
    role = Role(form.cleaned_data["role"])
    try:
        return invite_person(by=request.user, role=role, person=form.person(), **form.post())
    except ValidationError as error:
        form.take(error)
        return None


@require_POST
def substitute(request: SignedInRequest) -> HttpResponse:
    """Let somebody stand in for a class until the end of the day."""
    form = SubstituteForm(request.POST, reach=Reach(request.user))
    if not form.is_valid():
        told = " ".join(str(message) for several in form.errors.values() for message in several)
        messages.error(request, f"Nothing was given. {told}")
        return redirect("people")
    given: dict[str, Any] = form.cleaned_data
    try:
        post = substitute_today(by=request.user, user=given["person"], classroom=given["classroom"])
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    else:
        messages.success(request, f"{post.user} stands in for {post.classroom} until the end of {post.ends_on}.")
    return redirect("people")


urls = [
    path("people/", people, name="people"),
    path("people/invite/", invite, name="people-invite"),
    path("people/substitute/", substitute, name="people-substitute"),
]
