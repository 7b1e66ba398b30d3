"""Levels of texture, lunchboxes and approved products on the papers about a child: its own, and of nobody else."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from compliance.reports.childrecord import transfer_document
from compliance.reports.childrecord_pdf import document_pdf
from compliance.reports.guardiancopy import guardian_document
from compliance.web.handover import file_of
from roster.life.lunchbox import Packed, save_box
from roster.life.texture import record_texture
from roster.models import Child, Enrolment
from tests.cast import Cast
from tests.compliance.reports.test_childrecord import said
from tests.factories import LabelFactory, RoomApprovalFactory, TextureLevelFactory, labelled
from tests.web.pages import as_user

pytestmark = pytest.mark.django_db

GRAPES = Packed("Grapes", household="grapes", form="quartered", keeps="cold")


def boxed(cast: Cast, child: Child, *, days: int = 1, item: Packed = GRAPES) -> None:
    """A box that the nurse put together, for so many days from today."""
    day = timezone.localdate() + timedelta(days=days)
    save_box(child=child, day=day, items=[item], by=cast.hakim, replaces=None)


def papers(child: Child) -> list[str]:
    """The words of the record, of the copy in English and of the copy in Spanish."""
    file = file_of(child, timezone.now())
    made = [transfer_document(file), guardian_document(file, "en"), guardian_document(file, "es")]
    assert all(document_pdf(document).startswith(b"%PDF") for document in made)
    return [said(document) for document in made]


def test_a_level_stands_on_every_paper_with_whose_statement(cast: Cast) -> None:
    """By number and in neutral words, in the language of the paper."""
    TextureLevelFactory.create(child=cast.noor, recorded_by=cast.hakim, signatory="P. Example", food_level=5)
    record, english, spanish = papers(cast.noor)
    assert "Level 5 (soft and moist" in record and "P. Example" in record and "holds past that day too" in record
    assert "Food: level 5 (soft and moist" in english and "P. Example" in english
    assert "Comida: nivel 5" in spanish and "Food:" not in spanish


def test_an_ended_level_is_told_as_ended_and_not_as_set(cast: Cast) -> None:
    """The next school does not prepare to a level that nobody sets; the family reads what stood before."""
    level = TextureLevelFactory.create(child=cast.noor, recorded_by=cast.hakim, food_level=5)
    record_texture(
        child=cast.noor, recorded_by=cast.hakim, replaces=level, ended=True, end_reason="New letter.", signature="H. RN"
    )
    record, english, _ = papers(cast.noor)
    assert "Level 5" not in record and "New letter." in record
    assert "No level is set any more" in english and "Stood before, and was replaced." in english


def test_boxes_stand_on_the_copy_and_those_to_come_on_the_record(cast: Cast) -> None:
    """Household foods in the language of the paper."""
    boxed(cast, cast.noor, days=-3, item=Packed("Leftover rice", words="rice", seen_on=timezone.localdate()))
    boxed(cast, cast.noor)
    record, english, spanish = papers(cast.noor)
    assert "Grapes, quartered lengthwise" in record and "Leftover rice" not in record
    assert "Grapes, quartered lengthwise" in english and "Leftover rice" in english
    assert "Uvas, en cuartos a lo largo" in spanish


def test_a_box_taken_back_is_on_no_paper(cast: Cast) -> None:
    """It is packed for nobody."""
    boxed(cast, cast.noor)
    box = cast.noor.lunch_boxes.get()
    save_box(child=cast.noor, day=box.day, items=[], by=cast.hakim, replaces=box, withdrawn=True)
    assert all("Grapes" not in paper and "Uvas" not in paper for paper in papers(cast.noor))


def test_approved_products_of_the_childs_own_room_while_their_label_stands(cast: Cast) -> None:
    """Another room's, another site's, and one with a newer label count for nothing there."""
    here, old, there = (labelled("sunflower seeds", name=name) for name in ("Seed dab", "Stale dab", "Far dab"))
    june = cast.june
    RoomApprovalFactory.create(site=cast.ferrowick, classroom=cast.larks, approved_by=june, product=here)
    RoomApprovalFactory.create(site=cast.ferrowick, approved_by=june, product=old)
    RoomApprovalFactory.create(site=cast.tansy_gate, approved_by=june, product=there)
    LabelFactory.create(product=old, ingredients="sunflower seeds, sugar")
    record, english, spanish = papers(cast.noor)
    assert "Seed dab" in record and "They hold for no room elsewhere" in record
    assert "Seed dab" in english and "Seed dab" in spanish
    assert all("Stale dab" not in paper and "Far dab" not in paper for paper in (record, english, spanish))
    assert all("Seed dab" not in paper and "Far dab" in paper for paper in papers(cast.ravi))


def test_nothing_of_another_child(cast: Cast) -> None:
    """Neither its level, nor its boxes, nor who has read them."""
    TextureLevelFactory.create(child=cast.mateo, recorded_by=cast.hakim, food_level=5)
    boxed(cast, cast.mateo)
    record, english, _ = papers(cast.noor)
    assert "None is on record." in record and "Level 5" not in record and "Grapes" not in record
    assert "texture" not in english.lower() and "Grapes" not in english and "a lunchbox" not in english


def test_who_packed_and_who_printed_is_told_by_role(cast: Cast) -> None:
    """S88. Each child's own copy names its own labels alone, though one sheet held both."""
    to_monday = 7 - timezone.localdate().weekday()
    boxed(cast, cast.noor, days=to_monday)
    boxed(cast, cast.mateo, days=to_monday)
    asked = f"?week={timezone.localdate() + timedelta(days=to_monday)}&class={cast.larks.pk}"
    assert as_user(cast.hakim).get(f"/lunchboxes/labels.pdf{asked}").content.startswith(b"%PDF")
    for child in (cast.noor, cast.mateo):
        lines = [row for row in _readers(child) if row[2] == "a lunchbox"]
        assert [row[1] for row in lines] == ["Handed out", "Recorded"]
        assert all(row[3] == "Nurse or other licensed staff" for row in lines)
    assert not [row for row in _readers(cast.bao) if row[2] == "a lunchbox"]


def _readers(child: Child) -> list[tuple[str, ...]]:
    document = guardian_document(file_of(child, timezone.now()), "en")
    return [tuple(row) for row in document.sections[-1].rows]


def test_a_child_in_no_class_keeps_its_papers(cast: Cast) -> None:
    """Levels and boxes go with the child; what was approved for the room stays with the room."""
    TextureLevelFactory.create(child=cast.noor, recorded_by=cast.hakim, food_level=5)
    boxed(cast, cast.noor, days=0)
    dab = labelled("sunflower seeds", name="Seed dab")
    RoomApprovalFactory.create(site=cast.ferrowick, approved_by=cast.june, product=dab)
    assert all("Seed dab" in paper for paper in papers(cast.noor))
    yesterday = timezone.localdate() - timedelta(days=1)
    Enrolment.objects.filter(child=cast.noor).update(starts_on=yesterday - timedelta(days=90), ends_on=yesterday)
    record, english, _ = papers(cast.noor)
    assert "Level 5" in record and "Grapes" in english and "Seed dab" not in english + record
