"""Where an emergency plan is kept: said by licensed staff, version by version, and asked for anew in time."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.utils import timezone

from menus.models.facts import FactChanged
from roster.life.plan import plan_of, record_plan
from roster.life.plan_due import plans_due
from roster.life.stale import Stale
from roster.models import Action, Child, EmergencyPlan, User, Verb
from tests.cast import Cast
from tests.factories import EmergencyPlanFactory, RestrictionFactory


def said(cast: Cast, *, by: User | None = None, replaces: EmergencyPlan | None = None, **more: Any) -> EmergencyPlan:
    today = timezone.localdate()
    fields = {"plan_place": "Red binder", "dated": today, "review_on": today + timedelta(days=365), **more}
    return record_plan(child=cast.mateo, recorded_by=by or cast.hakim, replaces=replaces, **fields)


def test_a_new_version_takes_the_place_of_the_old_one(cast: Cast) -> None:
    """The old one stays readable, and nobody edits or deletes either."""
    first = said(cast)
    second = said(cast, replaces=first, plan_place="Blue binder")
    assert plan_of(cast.mateo) == second and second.replaces == first
    assert EmergencyPlan.objects.known(first.recorded_at).get() == first
    for act in (first.save, first.delete):
        with pytest.raises(FactChanged):
            act()


def test_every_version_is_on_record_with_what_stood_before(cast: Cast) -> None:
    """Who, for whom, before and after."""
    second = said(cast, replaces=said(cast), plan_place="Blue binder")
    entry = Action.objects.filter(verb=Verb.RECORDED, subject=f"emergency plan {second.pk}").get()
    assert (entry.actor, entry.child, entry.site) == (cast.hakim, cast.mateo, cast.ferrowick)
    assert "Red binder" in entry.payload and "Blue binder" in entry.payload


@pytest.mark.parametrize("who", ["rosa", "sefa", "greta", "tomas", "june", "amara", "wren"])
def test_nobody_but_licensed_staff_says_it(cast: Cast, who: str) -> None:
    """Whoever reads the pointer does not write it."""
    with pytest.raises(PermissionDenied):
        said(cast, by=getattr(cast, who))
    assert plan_of(cast.mateo) is None


def test_two_at_once_do_not_overwrite_each_other(cast: Cast) -> None:
    """The second is told who was first."""
    newest = said(cast)
    with pytest.raises(Stale, match="Hakim recorded another version meanwhile"):
        said(cast, plan_place="Blue binder")
    assert plan_of(cast.mateo) == newest


@pytest.mark.parametrize("more", [{"plan_place": ""}, {"dated": None}, {"review_on": None}])
def test_a_pointer_says_where_and_from_when(cast: Cast, more: dict[str, Any]) -> None:
    """A pointer to nowhere would be trusted."""
    with pytest.raises(ValidationError):
        said(cast, **more)


def test_a_plan_that_is_kept_no_more_points_nowhere(cast: Cast) -> None:
    """It is the newest word, and in an emergency nobody is sent for it."""
    gone = record_plan(child=cast.mateo, recorded_by=cast.hakim, replaces=said(cast), withdrawn=True)
    assert plan_of(cast.mateo) == gone
    assert not EmergencyPlan.objects.kept(timezone.now()).exists()


@pytest.mark.parametrize(("days_left", "is_due"), [(61, False), (60, True), (0, True), (-400, True)])
def test_a_newer_plan_is_asked_for_in_time(cast: Cast, days_left: int, is_due: bool) -> None:
    """From sixty days before, as a statement is; a plan past its date stays on the list, and is still kept."""
    review_on = timezone.localdate() + timedelta(days=days_left)
    plan = EmergencyPlanFactory(child=cast.bao, review_on=review_on, dated=review_on - timedelta(days=365))
    due = plans_due(Child.objects.filter(pk=cast.bao.pk), timezone.localdate(), timezone.now())
    assert bool(due.ending) is is_due
    assert list(EmergencyPlan.objects.kept(timezone.now())) == [plan]


@pytest.mark.parametrize(
    ("kind", "basis", "is_missing"),
    [
        ("peanut-allergy", "statement", True),
        ("fpies", "reported", True),
        ("", "reported", True),
        ("coeliac-disease", "statement", False),
        ("halal", "religious", False),
    ],
)
def test_a_missing_plan_is_named_where_one_is_usual(cast: Cast, kind: str, basis: str, is_missing: bool) -> None:
    """Common practice, no source. A kind that nobody has said may be any."""
    RestrictionFactory(child=cast.bao, substance="peanut", kind=kind, basis=basis)
    children = Child.objects.filter(pk=cast.bao.pk)
    assert bool(plans_due(children, timezone.localdate(), timezone.now()).missing) is is_missing
    EmergencyPlanFactory(child=cast.bao)
    assert not plans_due(children, timezone.localdate(), timezone.now()).missing
