"""Incidents: what was on record is gathered and frozen, and the child is protected until licensed staff have looked."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.utils import timezone

from compliance.checks.incident import add_note, digest_of, is_whole, open_incident
from compliance.checks.run import check_site
from compliance.checks.table import hand_out, wash
from compliance.checks.treatfood import Said, check_said
from compliance.models import Incident, IncidentNote, Run
from menus.models import Deed, Label
from menus.models.facts import FactChanged
from menus.services.kitchen import Doing, record_event
from roster.life.report import Report
from roster.models import Action, Child, Restriction, User, Verb
from tests.cast import Cast
from tests.clock import noon_at
from tests.factories import AllowanceFactory, LabelFactory, ServingFactory, SurfaceFactory, cooked

Kind = Incident.Kind


@pytest.fixture
def checked(cast: Cast) -> Cast:
    """Noon at Ferrowick, after this morning's check."""
    noon_at(cast.ferrowick)
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    return cast


def opened(cast: Cast, child: Child, *, by: User | None = None, **more: Any) -> tuple[Incident, Report | None]:
    told = {"kind": Kind.REACTION, "noticed_at": timezone.now(), "seen": "Red blotches around the mouth.", **more}
    return open_incident(child=child, site=cast.ferrowick, opened_by=by or cast.rosa, **told)


def standing(child: Child) -> list[Restriction]:
    return list(Restriction.objects.known(timezone.now()).filter(child=child).order_by("pk"))


def test_a_child_with_nothing_on_record_is_protected_at_once(checked: Cast) -> None:
    """S97. Basis: 22 to 25 % of reactions at school are of children with no known allergy (read). Bao has nothing on
    record; from now on everything that Rosa suspects is kept from Bao, just as strictly as if it were signed.
    """
    incident, protected = opened(checked, checked.bao, suspected=["egg", "sesame"])
    assert protected and [each.substance for each in protected.recorded] == ["egg", "sesame"]
    assert {(each.strictness, each.basis) for each in standing(checked.bao)} == {("trace", "reported")}
    assert incident.gathered["restrictions"] == [], "what was on record then is not what is on record now"
    said = check_said(
        user=checked.rosa, classroom=checked.larks, served_at=timezone.now(), said=Said(text="flour, egg", name="Bun")
    )
    assert checked.bao.pk in {row["child_id"] for row in said.result["withhold"]}


@pytest.mark.parametrize("more", [{}, {"unnamed": ["zorbalex"]}, {"suspected": ["egg"], "unnamed": ["zorbalex"]}])
def test_where_nobody_can_name_the_food_nothing_is_served_without_asking(checked: Cast, more: dict[str, Any]) -> None:
    """S97, the food unknown: what no check can look for stands on the list of the class. It names no condition."""
    opened(checked, checked.bao, **more)
    told = [each.told for each in standing(checked.bao) if not each.substance]
    assert len(told) == 1 and told[0].startswith("Serve nothing until licensed staff have said what")
    assert any("zorbalex" in each.note for each in standing(checked.bao)) is bool(more)


def test_a_child_that_is_on_record_already_keeps_what_it_has(checked: Cast) -> None:
    """What stands as strictly is kept as it is; nothing gets milder."""
    before = standing(checked.mateo)
    _, protected = opened(checked, checked.mateo, suspected=["peanut"])
    assert protected and not protected.recorded and protected.kept == tuple(before)


def test_shared_food_is_written_down_and_nobody_is_restricted(checked: Cast) -> None:
    """S21. Children traded pudding cups: kept, and the answer that stood at lunch is not changed afterwards."""
    served = check_said(
        user=checked.rosa, classroom=checked.larks, served_at=timezone.now(), said=Said(text="milk", name="Pudding")
    )
    incident, protected = opened(checked, checked.anneke, kind=Kind.SHARED, food="Pudding", given_by="Another child")
    assert protected is None and len(standing(checked.anneke)) == 1
    treats = incident.gathered["treats"]
    assert [(row["id"], row["outcome"]) for row in treats] == [(served.pk, "withhold")]


def test_it_gathers_what_was_served_and_from_which_labels(checked: Cast) -> None:
    """S96. Every dish of the day, its label versions, what the check had said for this child, and which check."""
    incident, _ = opened(checked, checked.mateo)
    rows = {row["dish"]: row for row in incident.gathered["servings"]}
    sandwich = rows["Peanut butter sandwich"]
    labels = {checked.larder.bread.labels.get().pk, checked.larder.peanut_butter.labels.get().pk}
    assert {label["id"] for label in sandwich["labels"]} == labels
    assert sandwich["outcome"] == "withhold" and sandwich["reasons"][0]["substance"] == "peanut"
    assert rows["Ham and rice"]["outcome"] == "none found in the records checked"
    assert sandwich["run"] == Run.objects.get().pk
    assert [run["id"] for run in incident.gathered["runs"]] == [sandwich["run"]]
    assert [row["what"] for row in incident.gathered["restrictions"]] == ["peanut"]


def test_it_gathers_the_day_before_as_well_and_no_more(checked: Cast) -> None:
    """A dish that nobody has checked says so."""
    today = timezone.now().astimezone(checked.ferrowick.zone).date()
    for days in (1, 2):
        dish = cooked(f"Soup {days} days ago", checked.larder.rice)
        ServingFactory(site=checked.ferrowick, recipe=dish, date=today - timedelta(days=days))
    incident, _ = opened(checked, checked.mateo)
    rows = {row["dish"]: row["outcome"] for row in incident.gathered["servings"]}
    assert rows["Soup 1 days ago"] == "not checked" and "Soup 2 days ago" not in rows


def test_it_gathers_what_was_done(checked: Cast) -> None:
    """What was handed out, what was washed, what the kitchen recorded, a swapped product's label."""
    served = check_said(
        user=checked.rosa, classroom=checked.larks, served_at=timezone.now(), said=Said(no_label=True, name="Muffin")
    )
    hand_out(check=served, user=checked.rosa)
    wash(classroom=checked.larks, user=checked.rosa, washing="table-soap")
    board = SurfaceFactory(site=checked.ferrowick, name="Board")
    use = Doing(Deed.USE, surface=board, serving=checked.servings[2])
    swap = Doing(
        Deed.SWAP, serving=checked.servings[2], product_out=checked.larder.ham, product_in=checked.larder.yogurt
    )
    for doing in (use, swap):
        record_event(site=checked.ferrowick, user=checked.greta, doing=doing)
    found = opened(checked, checked.mateo)[0].gathered
    assert [len(row["handed_out"]) for row in found["treats"] if row["food"] == "Muffin"] == [1]
    assert [row["what"] for row in found["table"]] == ["The class table"]
    assert [row["about"] for row in found["kitchen"]] == [
        ["Ham and rice", "Board"],
        ["Ham and rice", "Ham ran out", "Yogurt in its place"],
    ]
    ham = next(row for row in found["servings"] if row["dish"] == "Ham and rice")
    assert "Yogurt" in {label["product"] for label in ham["labels"]}


def test_it_names_the_label_of_that_moment(checked: Cast) -> None:
    """A label recorded after the reaction is not the one that was served by."""
    at = timezone.now()
    first = checked.larder.rice.labels.get()
    LabelFactory(product=checked.larder.rice, ingredients="rice, milk")
    assert Label.objects.current(timezone.now()).get(product=checked.larder.rice) != first
    found = opened(checked, checked.mateo, noticed_at=at)[0].gathered
    ham = next(row for row in found["servings"] if row["dish"] == "Ham and rice")
    assert first.pk in {label["id"] for label in ham["labels"]}


def test_it_names_the_allowances_that_held(checked: Cast) -> None:
    """With who signed."""
    AllowanceFactory(restriction=checked.mateo.restrictions.get(), signed_by=checked.hakim)
    found = opened(checked, checked.mateo)[0].gathered
    assert [(row["about"], row["signature"]) for row in found["allowances"]] == [("peanut", "A. Example, RD")]


def test_it_is_never_edited_and_a_tampered_one_is_found_out(checked: Cast) -> None:
    """The record of actions holds the same digest."""
    incident, _ = opened(checked, checked.mateo)
    incident.refresh_from_db()
    assert is_whole(incident)
    for act in (incident.save, incident.delete):
        with pytest.raises(FactChanged):
            act()
    entry = Action.objects.get(verb=Verb.RECORDED, subject=f"incident {incident.pk}")
    assert incident.digest in entry.payload and incident.seen not in entry.payload
    Incident.objects.update(seen="Nothing at all.")
    incident.refresh_from_db()
    assert not is_whole(incident) and digest_of(incident) != incident.digest


@pytest.mark.parametrize("who", ["rosa", "sefa", "greta", "tomas", "hakim", "june"])
def test_staff_of_the_class_and_the_site_open_one(checked: Cast, who: str) -> None:
    """A substitute and a cook too: whoever sees it writes it down."""
    assert opened(checked, checked.bao, by=getattr(checked, who))[0].opened_by.username == who


@pytest.mark.parametrize("who", ["dmitri", "pavel", "ursula", "amara", "wren"])
def test_nobody_else_does(checked: Cast, who: str) -> None:
    """And nothing of it is kept."""
    with pytest.raises(PermissionDenied):
        opened(checked, checked.bao, by=getattr(checked, who))
    assert not Incident.objects.exists() and not standing(checked.bao)


@pytest.mark.parametrize(
    "more", [{"noticed_at": datetime.max.replace(tzinfo=timezone.get_current_timezone())}, {"seen": " "}, {"kind": "x"}]
)
def test_what_cannot_be_is_refused(checked: Cast, more: dict[str, Any]) -> None:
    """A moment to come, nothing said, a kind that does not exist."""
    with pytest.raises(ValidationError):
        opened(checked, checked.bao, **more)
    assert not standing(checked.bao)


def test_licensed_staff_close_it_and_notes_go_on(checked: Cast) -> None:
    """Whoever opened it may add to it; only licensed staff close it."""
    incident, _ = opened(checked, checked.bao)
    add_note(incident=incident, text="The mother came at one.", written_by=checked.rosa)
    with pytest.raises(PermissionDenied):
        add_note(incident=incident, text="Done.", written_by=checked.june, closes=True)
    assert list(Incident.objects.open()) == [incident]
    add_note(incident=incident, text="Looked at with the family.", written_by=checked.hakim, closes=True)
    add_note(incident=incident, text="The clinic wrote.", written_by=checked.hakim)
    assert not Incident.objects.open().exists()
    assert Incident.objects.with_state().get().is_closed and IncidentNote.objects.count() == 3
    with pytest.raises(FactChanged):
        IncidentNote.objects.all()[0].delete()


def test_while_it_is_open_nothing_of_that_time_may_be_purged(checked: Cast) -> None:
    """What was gathered reaches back to the day before; a closed one holds nothing back."""
    assert Incident.objects.needed_from() is None
    at = timezone.now() - timedelta(hours=1)
    incident, _ = opened(checked, checked.bao, noticed_at=at)
    opened(checked, checked.mateo)
    assert Incident.objects.needed_from() == Incident.objects.needed_from(checked.ferrowick) == at - timedelta(days=2)
    assert Incident.objects.needed_from(checked.tansy_gate) is None
    add_note(incident=incident, text="Looked at.", written_by=checked.hakim, closes=True)
    later = Incident.objects.needed_from()
    assert later is not None and later > at - timedelta(days=2)


def test_gathering_does_not_grow_with_the_menu(checked: Cast, django_assert_max_num_queries) -> None:
    """Twenty dishes more cost no query more."""
    for number in range(20):
        ServingFactory(site=checked.ferrowick, recipe=cooked(f"Dish {number}", checked.larder.rice))
    with django_assert_max_num_queries(60):
        opened(checked, checked.bao, kind=Kind.SHARED)
