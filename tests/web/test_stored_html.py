"""What people and files brought in is text on every page, whatever it looks like."""

from __future__ import annotations

import pytest
from django.test import Client
from django.utils import timezone
from django.utils.html import escape

from compliance.checks.run import check_site
from compliance.checks.treatfood import Said, check_said
from compliance.models import NightSlice, Referral, Run, TreatCheck
from menus.models import Label, Product, Recipe, Site, Surface
from roster.models import Child, Classroom, Restriction, Role, Statement, User
from tests.cast import Cast
from tests.compliance.checks.mails import mail_to
from tests.compliance.operations.rows import letter_of, slice_of
from tests.factories import ClosureFactory
from tests.web.doors import ACTORS, PAGES, World, after_a_night, knock, may_come_in

HTML = "\"'><img src=x onerror=alert(1)>"
LABEL = f"{HTML} wheat flour, eggs, milk, zanthopyl"


@pytest.fixture
def world(cast: Cast) -> World:
    """The cast after a night, with every name and every label as hostile as can be."""
    Child.objects.update(given_name=HTML)
    Classroom.objects.filter(pk=cast.larks.pk).update(name=HTML)
    Recipe.objects.update(name=HTML)
    Product.objects.update(name=HTML)
    Label.objects.update(ingredients=LABEL)
    Restriction.objects.update(note=HTML)
    User.objects.update(first_name=HTML)
    made = after_a_night(cast)
    Surface.objects.update(name=HTML)
    Site.objects.update(name=HTML)
    today = timezone.localdate()
    ClosureFactory.create(site=cast.ferrowick, first_day=today, last_day=today, meals=["supper"], reason=HTML)
    letter_of(cast.ferrowick, error=HTML)
    slice_of(made.night, 2, [cast.ferrowick.pk], state=NightSlice.State.FAILED, error=HTML)
    mail_to(cast.greta, error=HTML)
    Statement.objects.update(signatory=HTML, licence_state=HTML, impairment=HTML, omit=HTML)
    return made


NO_PAGE = {"sign-out", "exceptions-export", "record-export", "order-sheet", "photo", "statement-scan"}
"""Addresses that lead on or hand out a file."""


@pytest.mark.parametrize("actor", [name for name, role in ACTORS.items() if role])
@pytest.mark.django_db
def test_no_page_takes_stored_text_for_markup(world: World, actor: str) -> None:
    """Every page of every role; and the text does stand there, so that the test would see it."""
    client, shown = Client(), 0
    client.force_login(getattr(world.cast, actor))
    for name in PAGES:
        if ACTORS[actor] in may_come_in(name) and name not in NO_PAGE:
            answer = knock(client, world, name)
            if not answer.headers["Content-Type"].startswith("text/html"):
                continue  # a file: no browser takes it for a page
            page = answer.content.decode()
            assert "<img src=x" not in page, name
            shown += escape(HTML) in page
    assert shown >= (1 if ACTORS[actor] in (Role.AUDITOR, Role.GUARDIAN) else 3)


def test_a_pasted_label_and_its_name_are_text_in_answer_history_and_referrals(cast: Cast) -> None:
    """The way from a parent's package to the nurse's list."""
    said = Said(text=LABEL, name=HTML)
    check = check_said(user=cast.rosa, classroom=cast.larks, served_at=timezone.now(), said=said)
    assert TreatCheck.objects.get().food == HTML
    rosa, hakim = Client(), Client()
    rosa.force_login(cast.rosa)
    hakim.force_login(cast.hakim)
    question = Referral.objects.filter(label=check.label).latest("pk")
    pages = [rosa.get(f"/treat/{check.pk}/"), rosa.get("/treat/history/"), rosa.get("/treat/matches/?words=img")]
    pages += [hakim.get("/referrals/"), hakim.get(f"/referrals/{question.pk}/")]
    for page in (each.content.decode() for each in pages):
        assert "<img" not in page and escape(HTML) in page


def test_a_failed_run_tells_its_reason_as_text(cast: Cast) -> None:
    """An error may repeat what was stored."""
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    Run.objects.update(state=Run.State.FAILED, error=HTML)
    june = Client()
    june.force_login(cast.june)
    page = june.get("/runs/").content.decode()
    assert "<img" not in page and escape(HTML) in page
