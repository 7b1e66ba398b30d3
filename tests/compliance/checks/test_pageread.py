"""What a page was made from, as a mark that differs as soon as a fact behind it does."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from compliance.checks import slices
from compliance.checks.pageread import (
    KINDS,
    changed,
    mark_of,
    read_of_class,
    read_of_kitchen,
    read_of_serving,
    read_of_treat,
)
from compliance.checks.run import check_site
from compliance.checks.treat import check_treat
from compliance.models import Run, RunRestriction, TreatCheck
from menus.models import Serving
from menus.services.labels import record_label
from roster.enrolling import enrol
from roster.models import Child, Enrolment, Restriction
from roster.services import record_restriction
from tests.cast import Cast
from tests.factories import (
    AllowanceFactory,
    ChildFactory,
    PlanStepFactory,
    SurfaceFactory,
    TextureLevelFactory,
    WordReviewFactory,
)

FACTS = st.lists(st.tuples(st.sampled_from(sorted(KINDS)), st.text("0123456789 x", max_size=6)), max_size=12)


@given(facts=FACTS, more=st.randoms())
def test_the_order_in_which_facts_come_does_not_matter(facts, more) -> None:
    mixed = list(facts)
    more.shuffle(mixed)
    assert changed(mark_of(facts), mark_of(mixed)) == []


@given(facts=FACTS, kind=st.sampled_from(sorted(KINDS)))
def test_one_fact_more_differs_in_its_kind_alone(facts, kind) -> None:
    assert changed(mark_of(facts), mark_of([*facts, (kind, "new")])) == [KINDS[kind]]


@given(text=st.text(max_size=40))
def test_any_text_is_taken_for_a_mark_or_for_none(text) -> None:
    """Whoever alters the address is told to load the page again, and no more."""
    assert changed(text, text) in ([], list(KINDS.values()))


def today(cast: Cast) -> date:
    return timezone.now().astimezone(cast.ferrowick.zone).date()


Act = Callable[[Cast], object]
ACTS: dict[str, tuple[Act, str]] = {
    "a restriction": (lambda cast: record_restriction(child=cast.bao, substance="egg"), "r"),
    "a stricter version": (
        lambda cast: record_restriction(
            child=cast.kofi, substance="egg", replaces=Restriction.objects.get(child=cast.kofi, substance="egg")
        ),
        "r",
    ),
    "a child who comes": (
        lambda cast: enrol(child=ChildFactory(), classroom=cast.larks, starts_on=today(cast)),
        "c",
    ),
    "a child who left": (
        lambda cast: Enrolment.objects.filter(child=cast.bao).update(ends_on=today(cast) - timedelta(days=1)),
        "c",
    ),
    "a birth date": (lambda cast: Child.objects.filter(pk=cast.bao.pk).update(birth_date=None), "c"),
    "a level of texture": (lambda cast: TextureLevelFactory(child=cast.bao), "t"),
    "a level in another class": (lambda cast: TextureLevelFactory(child=cast.ravi), ""),
    "an allowance": (lambda cast: AllowanceFactory(restriction=cast.anneke.restrictions.get()), "a"),
    "nothing": (lambda cast: None, ""),
    "a restriction in another class": (lambda cast: record_restriction(child=cast.ravi, substance="egg"), ""),
}


@pytest.mark.django_db
@pytest.mark.parametrize("name", ACTS)
def test_the_page_of_a_class_rests_on_its_children_and_what_they_avoid(cast: Cast, name: str) -> None:
    act, kind = ACTS[name]
    before = read_of_class(cast.larks, today(cast))
    act(cast)
    assert changed(before, read_of_class(cast.larks, today(cast))) == ([KINDS[kind]] if kind else [])


@pytest.mark.django_db
def test_an_answer_rests_on_allowances_the_label_and_the_lexicon_too(cast: Cast) -> None:
    label = cast.larder.oat_bar.labels.get()
    others = cast.larder.ham

    def read() -> str:
        return read_of_treat(cast.larks, today(cast), label)

    before = read()
    record_label(product=others, ingredients="pork", seen_on=timezone.localdate())
    assert changed(before, read()) == []
    record_label(product=cast.larder.oat_bar, ingredients="oats, egg", seen_on=timezone.localdate())
    assert changed(before, read()) == [KINDS["l"]]
    before = read()
    AllowanceFactory(restriction=Restriction.objects.get(child=cast.mateo))
    assert changed(before, read()) == [KINDS["a"]]
    before = read()
    WordReviewFactory()
    assert changed(before, read()) == [KINDS["w"]]


@pytest.mark.django_db
def test_the_page_of_a_dish_rests_on_its_check_and_its_labels(cast: Cast) -> None:
    serving = Serving.objects.get(site=cast.ferrowick, recipe=cast.dishes.oat_bar)
    before = read_of_serving(serving)
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    checked = read_of_serving(serving)
    assert changed(before, checked) == [KINDS["d"]]
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    assert changed(checked, read_of_serving(serving)) == []
    record_label(product=cast.larder.ham, ingredients="pork, egg", seen_on=timezone.localdate())
    assert changed(checked, read_of_serving(serving)) == []
    record_label(product=cast.larder.oat_bar, ingredients="oats, egg", seen_on=timezone.localdate())
    assert changed(checked, read_of_serving(serving)) == [KINDS["l"]]
    before = read_of_serving(serving)
    TextureLevelFactory(child=cast.bao)
    assert changed(before, read_of_serving(serving)) == [KINDS["t"]]
    assert changed(read_of_serving(serving, Run.objects.latest("as_of").as_of), read_of_serving(serving)) == [
        KINDS["l"]
    ]
    Serving.objects.filter(pk=serving.pk).update(withdrawn_at=timezone.now())
    assert KINDS["d"] in changed(checked, read_of_serving(serving))


@pytest.mark.django_db
def test_the_day_of_a_kitchen_rests_on_its_plan_and_on_children_elsewhere_whom_it_cooks_for(cast: Cast) -> None:
    before = read_of_kitchen(cast.ferrowick, today(cast))
    PlanStepFactory(surface=SurfaceFactory(site=cast.ferrowick), recipe=cast.dishes.oat_bar)
    assert changed(before, read_of_kitchen(cast.ferrowick, today(cast))) == [KINDS["k"]]
    before = read_of_kitchen(cast.ferrowick, today(cast))
    record_restriction(child=cast.ravi, substance="egg")
    assert changed(before, read_of_kitchen(cast.ferrowick, today(cast))) == []
    cast.tansy_gate.delivered.create(kitchen=cast.ferrowick, meal="lunch")
    before = read_of_kitchen(cast.ferrowick, today(cast))
    record_restriction(child=cast.ravi, substance="sesame")
    assert changed(before, read_of_kitchen(cast.ferrowick, today(cast))) == [KINDS["r"]]


@pytest.mark.django_db
def test_each_mark_is_one_query_however_large_the_class(cast: Cast, django_assert_num_queries) -> None:
    serving = Serving.objects.filter(site=cast.ferrowick).first()
    assert serving is not None
    label, day = cast.larder.oat_bar.labels.get(), today(cast)
    for _ in range(2):
        with django_assert_num_queries(4):
            read_of_class(cast.larks, day)
            read_of_treat(cast.larks, day, label)
            read_of_serving(serving)
            read_of_kitchen(cast.ferrowick, day)
        for _ in range(20):
            enrol(child=ChildFactory(), classroom=cast.larks, starts_on=day)


def asked(cast: Cast) -> TreatCheck:
    return check_treat(
        user=cast.rosa,
        classroom=cast.larks,
        served_at=timezone.now(),
        source=TreatCheck.Source.PASTED,
        food="Peanut cookies",
        label=cast.larder.peanut_butter.labels.get(),
    )


@pytest.mark.django_db
def test_a_restriction_added_while_an_answer_is_made_is_in_the_next_and_the_first_says_so(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Recorded after the class was read and before the answer is stored, as a nurse's phone may do it."""
    from compliance.checks import treat

    result = treat._result

    def meanwhile(*given, **more):
        monkeypatch.setattr(treat, "_result", result)
        record_restriction(child=cast.bao, substance="peanut")
        return result(*given, **more)

    monkeypatch.setattr(treat, "_result", meanwhile)
    first, day = asked(cast), today(cast)
    assert cast.bao.pk not in {row["child_id"] for row in first.result["withhold"]}
    assert changed(first.result["read"], read_of_treat(cast.larks, day, first.label)) == [KINDS["r"]]
    second = asked(cast)
    assert cast.bao.pk in {row["child_id"] for row in second.result["withhold"]}
    assert changed(second.result["read"], read_of_treat(cast.larks, day, second.label)) == []


@pytest.mark.django_db
def test_a_restriction_added_while_a_site_is_checked_is_in_the_next_check(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was recorded after the moment of which a run speaks is left to the run that its recording asks for."""
    store, added = slices.store_verdicts, []

    def meanwhile(*given):
        if not added:
            added.append(record_restriction(child=cast.bao, substance="peanut"))
        return store(*given)

    monkeypatch.setattr(slices, "store_verdicts", meanwhile)
    first = check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    assert added and added[0].recorded_at > first.as_of
    assert not RunRestriction.objects.filter(run=first, restriction=added[0]).exists()
    second = check_site(site=cast.ferrowick, trigger=Run.Trigger.CHANGE)
    assert RunRestriction.objects.filter(run=second, restriction=added[0]).exists()
