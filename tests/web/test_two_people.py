"""Two people at once: what would overwrite a newer version is refused with both shown, and nothing typed is lost."""

from __future__ import annotations

import pytest
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone

from compliance.checks.referrals import answer_referrals
from compliance.models import Referral
from menus.models import Label, PlanStep, Product
from menus.services.labels import StaleLabel, record_label
from roster.models import Restriction, Statement
from roster.services import record_restriction
from tests.cast import Cast
from tests.factories import LabelFactory, ProductFactory
from tests.web import test_imports, test_orderwork, test_referrals, test_statements
from tests.web.pages import as_user, soup, words

pytestmark = pytest.mark.django_db
kitchen = test_orderwork.kitchen


def opened(cast: Cast, product: Product) -> str:
    """The version that the form says it was opened on."""
    page = soup(as_user(cast.greta).get(reverse("label-new", args=[product.pk])))
    return str(page.find("input", attrs={"name": "opened"})["value"])


def save(cast: Cast, product: Product, version: str, **typed: str) -> HttpResponse:
    filled = {"ingredients": "rice, water", "seen_on": timezone.localdate().isoformat(), "opened": version, **typed}
    return as_user(cast.greta).post(reverse("label-new", args=[product.pk]), filled, follow=True)


def test_a_label_typed_against_an_older_one_is_refused_with_both(cast: Cast) -> None:
    """The newer one may say more; what Greta typed stays in the form and is taken once she has compared them."""
    product = cast.larder.bread
    version = opened(cast, product)
    LabelFactory(product=product, ingredients="wheat flour, egg", seen_by=cast.hakim)
    page = save(cast, product, version)
    assert "Nothing was saved: Hakim recorded label 2 meanwhile" in words(page)
    both = [block.get_text(" ", strip=True) for block in soup(page).select(".both > div")]
    assert "wheat flour, egg" in both[0] and "rice, water" in both[1]
    assert soup(page).find(id="id_ingredients").get_text().strip() == "rice, water"
    assert product.labels.count() == 2
    again = str(soup(page).find("input", attrs={"name": "opened"})["value"])
    save(cast, product, again)
    assert product.labels.get(number=3).ingredients == "rice, water"


def test_a_label_typed_against_the_newest_one_is_saved(cast: Cast) -> None:
    product = cast.larder.bread
    assert "Saved as label 2" in words(save(cast, product, opened(cast, product)))


def test_two_first_labels_of_one_product_do_not_pass_unseen(cast: Cast) -> None:
    """Nobody had recorded any when the page was opened."""
    product = ProductFactory()
    version = opened(cast, product)
    LabelFactory(product=product, ingredients="oats")
    assert "recorded label 1 meanwhile" in words(save(cast, product, version))
    assert product.labels.count() == 1


def test_a_page_that_was_sent_with_mistakes_keeps_the_version_it_was_opened_on(cast: Cast) -> None:
    """Else a second try would pass over what was recorded before the first."""
    product = cast.larder.bread
    version = opened(cast, product)
    LabelFactory(product=product, ingredients="wheat flour, egg")
    page = save(cast, product, version, seen_on="")
    assert str(soup(page).find("input", attrs={"name": "opened"})["value"]) == version


@pytest.mark.parametrize("version", ["", "-1", "x", "9" * 40, "1 OR 1"])
def test_a_version_that_is_none_is_not_taken_for_one(cast: Cast, version: str) -> None:
    """It asks for no comparison, as a file does; it changes nothing else."""
    assert save(cast, cast.larder.bread, version).status_code == 200
    assert cast.larder.bread.labels.count() == 2


def test_the_service_itself_refuses(cast: Cast) -> None:
    """Whatever the page checked."""
    LabelFactory(product=cast.larder.bread, ingredients="oats")
    with pytest.raises(StaleLabel) as refused:
        record_label(product=cast.larder.bread, ingredients="rice", seen_on=timezone.localdate(), after=1)
    assert refused.value.newer.number == 2
    assert Label.objects.filter(product=cast.larder.bread).count() == 2


def test_the_same_label_is_renewed_only_by_who_saw_the_newest(cast: Cast) -> None:
    """The page of the product shows both, the newer first."""
    product = cast.larder.bread
    seen = product.labels.get()
    LabelFactory(product=product, ingredients="oats, sesame")
    page = words(as_user(cast.greta).post(reverse("label-same", args=[product.pk]), {"label": seen.pk}, follow=True))
    assert "a newer label was recorded meanwhile" in page
    assert "oats, sesame" in page and seen.ingredients in page


def by_colleague(cast: Cast, about: Referral) -> None:
    answer_referrals(
        referrals=[about],
        user=cast.hakim,
        answer="keep",
        note="The clinic says no.",
        ends_on=timezone.localdate(),
        signature="A. Colleague, MD",
    )


def test_an_answer_to_what_was_answered_meanwhile_is_refused_with_both(cast: Cast) -> None:
    (about,) = test_referrals.referred(cast, "Dara")
    by_colleague(cast, about)
    page = test_referrals.answer(cast, about)
    both = [block.get_text(" ", strip=True) for block in soup(page).select(".both > div")]
    assert "answered or fell away meanwhile" in words(page)
    assert "Signed A. Colleague, MD." in both[0] and "The clinic says no." in both[0]
    assert "Specialist letter on file." in both[1] and "Allow" in both[1]
    about.refresh_from_db()
    assert about.answer == "keep"


def test_of_two_ticked_questions_the_open_one_waits_for_a_second_look(cast: Cast) -> None:
    dara, elio = test_referrals.referred(cast, "Dara", "Elio")
    by_colleague(cast, dara)
    page = test_referrals.answer(cast, elio, referrals=[dara.pk, elio.pk])
    assert "Dara Example" in soup(page).select_one(".both").get_text(" ")
    assert soup(page).find(id="id_note").get_text().strip() == "Specialist letter on file."
    assert Referral.objects.waiting().get() == elio


def test_a_question_that_fell_away_meanwhile_is_said_to(cast: Cast) -> None:
    (about,) = test_referrals.referred(cast, "Dara")
    Referral.objects.update(withdrawn_at=timezone.now())
    assert "The question fell away" in words(test_referrals.answer(cast, about))


def test_an_answer_to_an_open_question_is_taken(cast: Cast) -> None:
    (about,) = test_referrals.referred(cast, "Dara")
    assert "Signed and kept, for 1 child" in words(test_referrals.answer(cast, about))


def test_an_order_taken_over_on_top_of_another_change_is_refused_with_both(kitchen: Cast) -> None:
    order = test_orderwork.token_on(test_orderwork.looked(kitchen))
    step = PlanStep.objects.order_by("at").first()
    assert step is not None
    PlanStep.objects.update(withdrawn_at=timezone.now())
    PlanStep.objects.create(
        site=step.site, meal=step.meal, at="10:15", surface=step.surface, recipe=step.recipe, action=step.action
    )
    page = as_user(kitchen.greta).post("/kitchen/order/change/", {"order": order, "looked": "1"}, follow=True)
    assert "was changed meanwhile" in words(page)
    assert "10:15 Peanut butter sandwich" in words(page)
    assert soup(page).find("h2", string="What was proposed to you").find_next("li").get_text().strip()
    assert test_orderwork.plan() == [("10:15", "Peanut butter sandwich")]


def test_an_end_refused_keeps_its_reason_and_goes_to_the_newer_version(cast: Cast) -> None:
    seen = test_statements.egg(cast)
    newer = record_restriction(child=cast.kofi, substance="egg", replaces=seen, note="Again.", recorded_by=cast.june)
    page = soup(test_statements.end(cast, seen))
    assert page.find(id="id_reason").get_text().strip() == "Outgrown, by the clinic's letter."
    assert page.select_one("form[action]:has(#id_reason)")["action"] == reverse("restriction-end", args=[newer.pk])


def test_a_report_beside_another_adds_and_never_takes_away(cast: Cast) -> None:
    """A report carries no version: it can only protect more, whoever else wrote meanwhile."""
    record_restriction(child=cast.bao, substance="egg", strictness="trace", recorded_by=cast.june)
    sent = {"kind": "allergy", "substances": ["egg"], "strictness": "ingredient"}
    as_user(cast.rosa).post(reverse("child-report", args=[cast.bao.pk]), sent, follow=True)
    assert Restriction.objects.known(timezone.now()).get(child=cast.bao, substance="egg").strictness == "trace"
    assert not Statement.objects.exists()


def test_a_file_is_saved_only_as_it_was_looked_at(cast: Cast) -> None:
    """The dry run carries a mark of all that saving does; when the records change, what is shown is shown anew."""
    buns = test_imports.sheet("products", test_imports.BUNS)
    seen = soup(test_imports.send(cast.hakim, "products", buns)).find("input", attrs={"name": "seen"})["value"]
    ProductFactory(code="B-1", name="Other buns")
    again = test_imports.sheet("products", test_imports.BUNS)
    page = test_imports.send(cast.hakim, "products", again, "save", seen=seen)
    assert "this is no longer what you looked at" in words(page)
    assert Product.objects.get(code="B-1").name == "Other buns"
    newer = soup(page).find("input", attrs={"name": "seen"})["value"]
    test_imports.send(cast.hakim, "products", test_imports.sheet("products", test_imports.BUNS), "save", seen=newer)
    assert Product.objects.get(code="B-1").name == "Buns"


def test_a_file_that_nobody_tried_out_is_saved_as_before(cast: Cast) -> None:
    test_imports.send(cast.hakim, "products", test_imports.sheet("products", test_imports.BUNS), "save")
    assert Product.objects.filter(code="B-1").exists()
