"""The lunchbox as a guardian and licensed staff put it together, and what nobody else sees of it."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.http import HttpResponse
from django.utils import timezone

from compliance.web.lunchbox_labels import labels_of
from compliance.web.lunchbox_list import to_prepare
from compliance.web.lunchbox_week import Week
from roster.life.approval import approve_product
from roster.life.lunchbox import Packed, box_of, save_box
from roster.models import Action, Basis, Child, LunchBox, Verb
from roster.services import record_restriction
from tests.cast import Cast
from tests.factories import LabelFactory, ProductFactory, TextureLevelFactory, gtin, labelled
from tests.web.pages import as_user, words


def page(cast: Cast, **more: Any) -> str:
    return words(as_user(more.pop("by", cast.amara)).get(f"/lunchboxes/{cast.noor.pk}/", more))


def do(cast: Cast, what: str, *, child: Child | None = None, **more: Any) -> HttpResponse:
    who = child or cast.noor
    box = box_of(who, timezone.localdate())
    sent = {"do": what, "under": box.pk if box else "", **more}
    return as_user(cast.amara).post(f"/lunchboxes/{who.pk}/", sent, follow=True)


class TestPacking:
    """What goes in, and what is said of it."""

    def test_a_plain_food_is_judged_for_the_child(self, cast: Cast) -> None:
        """Noor avoids gluten: an apple meets nothing, bread holds it and its package is asked for."""
        assert "Of all in the box: none found" in words(do(cast, "household", food="apple", shape="grated"))
        said = words(do(cast, "household", food="bread"))
        assert "Bread, whole wheat withhold It holds gluten." in said
        assert "Apple, grated none found" in said

    def test_a_product_by_its_number(self, cast: Cast) -> None:
        """The label on record is read, and quoted."""
        product = labelled("oats, barley malt", name="Malt bites", gtin=gtin(7))
        said = words(do(cast, "own", gtin=product.gtin))
        assert "Malt bites withhold" in said and "barley malt" in said

    def test_a_number_nobody_knows_asks_for_the_package(self, cast: Cast) -> None:
        """And keeps what was typed."""
        answer = do(cast, "own", gtin=gtin(8))
        assert "No product with this number is on record here." in words(answer)
        assert gtin(8)[1:] in answer.content.decode() and box_of(cast.noor, timezone.localdate()) is None

    def test_typed_words_are_read_and_no_label_is_not_silence(self, cast: Cast) -> None:
        """Design, idea 2."""
        assert "Pan de casa withhold" in words(do(cast, "own", name="Pan de casa", words="wheat flour, salt"))
        assert "Something refer It is not known yet" in words(do(cast, "own", name="Something"))
        assert not cast.larder.bread.labels.model.objects.filter(product__name="Pan de casa").exists()

    def test_made_at_home_is_referred(self, cast: Cast) -> None:
        """A label of its ingredients tells nothing of the kitchen."""
        assert "Rice cake refer" in words(do(cast, "own", name="Rice cake", words="rice, salt", home_made="on"))

    def test_the_search_finds_products_and_no_treats(self, cast: Cast) -> None:
        """What other families brought is nobody's to find."""
        ProductFactory.create(name="Oat star", origin="classroom")
        found = page(cast, q="oat")
        assert "Oat bar" in found and "Oat star" not in found
        assert "Oat bar" in words(do(cast, "product", product=cast.larder.oat_bar.pk))

    def test_a_cut_that_the_food_does_not_know_is_refused(self, cast: Cast) -> None:
        """It would look as if it had been judged."""
        assert "For this food choose one of:" in words(do(cast, "household", food="grapes", shape="grated"))

    def test_every_change_is_a_version_on_record(self, cast: Cast) -> None:
        """And names no food."""
        do(cast, "household", food="apple")
        do(cast, "household", food="pear")
        do(cast, "remove", number=1)
        box = box_of(cast.noor, timezone.localdate())
        assert box is not None and [item.name for item in box.items.all()] == ["Pear"]
        assert LunchBox.objects.filter(child=cast.noor).count() == 3
        entry = Action.objects.filter(verb=Verb.RECORDED, subject=f"lunch box {box.pk}").get()
        assert entry.child == cast.noor and "Pear" not in entry.payload

    def test_two_at_once(self, cast: Cast) -> None:
        """The second changes nothing, and is told."""
        do(cast, "household", food="apple")
        pear = {"do": "household", "food": "pear"}
        for sent in (pear, {"do": "product", "product": cast.larder.oat_bar.pk}, {"do": "remove", "number": 1}):
            answer = as_user(cast.amara).post(f"/lunchboxes/{cast.noor.pk}/", sent)
            assert "Somebody changed this box meanwhile" in words(answer)
        answer = as_user(cast.amara).post(f"/lunchboxes/{cast.noor.pk}/", pear)
        assert "Somebody changed this box meanwhile" in words(answer) and "Pear none found" not in words(answer)

    def test_another_day_and_none(self, cast: Cast) -> None:
        """A copy stands by itself; a withdrawn box is empty."""
        do(cast, "household", food="apple")
        to = timezone.localdate() + timedelta(days=1)
        assert f"Copied to {to}" in words(do(cast, "copy", to=to.isoformat()))
        do(cast, "withdraw")
        gone, kept = box_of(cast.noor, timezone.localdate()), box_of(cast.noor, to)
        assert gone and gone.withdrawn and kept and kept.items.count() == 1
        far = to + timedelta(days=40)
        do(cast, "household", food="apple")
        assert "within the coming four weeks" in words(do(cast, "copy", to=far.isoformat()))


class TestRoom:
    """The rules of the room, and spreads in place of peanut butter."""

    @pytest.fixture(autouse=True)
    def _rule(self, cast: Cast) -> None:
        record_restriction(child=cast.mateo, substance="peanut", basis=Basis.POLICY)

    def test_a_rule_is_told_and_nobody_is_named(self, cast: Cast) -> None:
        """Neither whose it is, nor what else the class avoids."""
        said = words(do(cast, "product", product=cast.larder.peanut_butter.pk))
        assert "Peanut butter withhold The room has a rule about peanut. It holds peanut." in said
        assert "Mateo" not in said and "sesame" not in said and "milk." not in said

    def test_only_policy_becomes_a_rule(self, cast: Cast) -> None:
        """Anneke avoids milk by a signed statement: that is nobody else's to read."""
        said = words(do(cast, "product", product=cast.larder.yogurt.pk))
        assert "Yogurt none found" in said

    def test_a_seed_butter_waits_for_the_site(self, cast: Cast) -> None:
        """Until this label of this product is approved for the room; a newer label asks again."""
        butter = labelled("sunflower seeds, salt", name="Sunflower seed butter")
        assert "Sunflower seed butter refer The site has not approved" in words(do(cast, "product", product=butter.pk))
        today = timezone.localdate()
        approve_product(
            site=cast.ferrowick,
            classrooms=[cast.larks],
            product=butter,
            label=butter.labels.get(),
            starts_on=today,
            ends_on=today,
            approved_by=cast.june,
            signature="June",
        )
        assert "Sunflower seed butter none found" in page(cast)
        LabelFactory.create(product=butter, ingredients="sunflower seeds, sugar")
        assert "Sunflower seed butter refer" in page(cast)


def test_shapes_by_age(cast: Cast) -> None:
    """Caring for Our Children 4.5.0.10 (read): grapes at three years are quartered; unknown age takes the strictest."""
    cast.noor.birth_date = timezone.localdate() - timedelta(days=3 * 366)
    cast.noor.save()
    assert "quarters" in words(do(cast, "household", food="grapes", shape="halved"))
    do(cast, "remove", number=1)
    assert "For the child's age" not in words(do(cast, "household", food="grapes", shape="quartered"))
    do(cast, "remove", number=1)
    assert "Ask" in words(do(cast, "household", food="grapes")) or "ask" in page(cast)


@pytest.mark.parametrize(("level", "said"), [("", "refer A level"), ("5", "none found"), ("7", "withhold The level")])
def test_texture(cast: Cast, level: str, said: str) -> None:
    """A level that nobody stated is asked for; one that asks for more is withheld."""
    TextureLevelFactory.create(child=cast.noor, recorded_by=cast.hakim)
    assert f"Banana, mashed {said}" in words(do(cast, "household", food="banana", shape="mashed", level=level))


def test_times(cast: Cast) -> None:
    """FDA Food Code 3-501.16 and 3-501.19 (memory): 41 °F, 135 °F, four hours without either."""
    do(cast, "household", food="chicken", shape="thin")
    assert "41 °F (5 °C)" in page(cast) and "within 2 hours" in page(cast)
    said = words(do(cast, "times", packed_at="07:00", eaten_at="12:00"))
    assert "5:00 hours from packing to eating" in said and "over the limit of 4 hours" in said
    said = words(do(cast, "times", packed_at="07:00", eaten_at="12:00", kept_at_temperature="on"))
    assert "over the limit" not in said
    assert "before it is packed" in words(do(cast, "times", packed_at="12:00", eaten_at="07:00"))


def test_nobody_else_comes_in(cast: Cast) -> None:
    """Another family's child, a teacher, a kitchen: no way in; licensed staff may."""
    assert as_user(cast.amara).get(f"/lunchboxes/{cast.mateo.pk}/").status_code == 404
    assert as_user(cast.amara).get(f"/lunchboxes/?class={cast.larks.pk}").status_code == 404
    assert as_user(cast.rosa).get(f"/lunchboxes/{cast.noor.pk}/").status_code == 404
    assert as_user(cast.hakim).get(f"/lunchboxes/{cast.noor.pk}/").status_code == 200


def test_the_week_its_list_and_its_labels(cast: Cast) -> None:
    """Counts by food and form over several children; no child on the list, and the labels are a PDF."""
    day = timezone.localdate() + timedelta(days=7 - timezone.localdate().weekday())
    grapes = Packed("Grapes", household="grapes", form="quartered", keeps="cold")
    boxes = [
        save_box(child=child, day=day, items=[grapes], by=cast.hakim, replaces=None)
        for child in (cast.noor, cast.mateo, cast.bao)
    ]
    assert [(each.food, each.shape, each.boxes) for each in to_prepare(boxes)] == [
        ("Grapes", "quartered lengthwise", 3)
    ]
    nurse, asked = as_user(cast.hakim), f"?week={day}&class={cast.larks.pk}"
    said = words(nurse.get(f"/lunchboxes/list/{asked}"))
    assert "Grapes , quartered lengthwise: 3 boxes" in said and "Mateo" not in said.split("To buy")[0]
    assert "Foods: 1" in words(nurse.get(f"/lunchboxes/{asked}"))
    made = nurse.get(f"/lunchboxes/labels.pdf{asked}&sheet=a4-3x7")
    assert made.content.startswith(b"%PDF") and "Noor" not in made.headers["Content-Disposition"]
    assert nurse.get(f"/lunchboxes/labels.pdf{asked}&sheet=none").status_code == 404


def test_a_box_is_full_at_twenty(cast: Cast) -> None:
    """And says so; nothing is lost."""
    items = [Packed("Apple", household="apple", form="grated", keeps="any")] * 20
    save_box(child=cast.noor, day=timezone.localdate(), items=items, by=cast.amara, replaces=None)
    for more in ({"food": "pear"}, {"product": cast.larder.oat_bar.pk}):
        what = "household" if "food" in more else "product"
        assert "A box holds at most 20 foods." in words(do(cast, what, **more))
    assert cast.noor.lunch_boxes.count() == 1


def test_what_is_alike_is_said_in_one_sentence(cast: Cast) -> None:
    """Twelve times “it is not known” hide the one food that is known; foods not counted are named once."""
    for code in ("milk", "sesame"):
        record_restriction(child=cast.noor, substance=code)
    said = words(do(cast, "own", name="Something"))
    assert "It is not known yet whether it holds gluten, milk, sesame." in said
    assert said.count("Not counted, as it is not known what they credit: “Something”.") == 1


def test_a_label_names_each_food_once_and_no_level_that_asks_nothing(cast: Cast) -> None:
    """A signed restriction and a rule of the site on one food; ordinary food and thin drink."""
    record_restriction(child=cast.mateo, substance="peanut", strictness="ingredient", basis=Basis.POLICY)
    record_restriction(child=cast.mateo, substance="", told="Ask the office.", basis=Basis.FAMILY)
    TextureLevelFactory.create(child=cast.mateo, recorded_by=cast.hakim, food_level=7, drink_level=0)
    TextureLevelFactory.create(child=cast.bao, recorded_by=cast.hakim, food_level=5)
    monday = timezone.localdate() + timedelta(days=7 - timezone.localdate().weekday())
    for child in (cast.bao, cast.mateo, cast.noor):
        save_box(child=child, day=monday, items=[], by=cast.hakim, replaces=None)
    week = Week((cast.bao, cast.mateo, cast.noor), cast.ferrowick, None, monday)
    bao, mateo, noor = (label.away for label in labels_of(week, timezone.now()))
    assert mateo == ["peanut (traces too)", "Ask the office"] and noor == ["gluten (traces too)"]
    assert bao == ["Food of texture level 5 (soft and moist, with small soft lumps)"]
