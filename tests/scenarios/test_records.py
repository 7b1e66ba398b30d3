"""Health records that come in, and the copy that goes out to a guardian."""

from __future__ import annotations

import pytest
from django.urls import reverse
from django.utils import timezone

from compliance.reports.guardiancopy import guardian_document
from compliance.web.handover import file_of
from roster.life.statement import end_restriction
from roster.models import Child, HealthItem, Restriction, State, Verb
from roster.record.write import record
from tests.cast import Cast
from tests.compliance.reports.test_childrecord import said
from tests.factories import labelled
from tests.roster.fhir.entries import entry, status, taken
from tests.scenarios.stage import NONE_FOUND, Stage, at_treat
from tests.web.pages import as_user

pytestmark = pytest.mark.django_db


def known(stage: Stage, *substances: str) -> Child:
    """A child of the class whom clinics know by number."""
    child = stage.child(*substances)
    child.source, child.source_id = "SAMPLE", "usr-1"
    child.save()
    return child


def avoided(child: Child) -> set[str]:
    return {each.substance for each in Restriction.objects.known(timezone.now()).filter(child=child, ends_on=None)}


@pytest.mark.parametrize("kind", ["allergy", "intolerance"])
def test_what_a_clinic_knows_is_withheld_from_then_on(kind: str) -> None:
    """S82's file, by its active entries. Basis: FHIR R4 (read). An intolerance is no milder than an allergy."""
    stage = Stage.set()
    child, label = known(stage), labelled("wheat flour", label={"precautionary": "May contain milk."}).labels.get()
    assert at_treat(stage.treat(label), child) == NONE_FOUND
    taken(child, entry("Cow milk", type=kind))
    assert at_treat(stage.treat(label), child) == "withhold"


def test_s72_a_clinic_and_the_school_do_not_agree() -> None:
    """S72. Basis: common practice, no source. What staff ended and a clinic still names protects again."""
    stage = Stage.set()
    child = known(stage, "egg")
    Restriction.objects.filter(child=child).update(ends_on=stage.today)
    taken(child, entry("Egg"))
    assert avoided(child) == {"egg"}


def test_s74_nuts() -> None:
    """S74. Basis: design. Peanut and tree nuts at once, and on the list of licensed staff to confirm."""
    child = known(Stage.set())
    taken(child, entry("nuts"))
    assert avoided(child) == {"peanut", "tree-nut"}
    assert HealthItem.objects.get().words == "nuts"


def test_s75_a_misspelled_food_in_a_record() -> None:
    """S75. Basis: design. Suggested and not taken; its words stand on the list of the class meanwhile."""
    child = known(Stage.set())
    taken(child, entry("PNUT"))
    (told,) = Restriction.objects.filter(child=child)
    assert told.substance == "" and "“PNUT”" in told.told


def test_s81_a_record_says_resolved(cast: Cast) -> None:
    """S81. Basis: design. A proposal alone; the nurse ends it with a reason and a signature."""
    cast.ravi.source, cast.ravi.source_id = "SAMPLE", "usr-1"
    cast.ravi.save()
    taken(cast.ravi, entry("Milk", clinicalStatus=status("clinical", "resolved")), by=cast.hakim)
    milk = HealthItem.objects.get().restriction
    assert milk is not None and avoided(cast.ravi) == {"milk"}
    today = timezone.now().astimezone(cast.tansy_gate.zone).date()
    ended = end_restriction(
        version=milk, last_day=today, reason="The clinic's letter.", ended_by=cast.hakim, signature="Hakim, RN"
    )
    assert ended.state_on(ended.ends_on.replace(year=ended.ends_on.year + 1)) == State.ENDED


def test_s82_a_record_refutes_sesame() -> None:
    """S82. Basis: FHIR R4, verificationStatus (read). Not added as active; shown for review."""
    child = known(Stage.set())
    taken(child, entry("Sesame", verificationStatus=status("verification", "refuted")))
    assert not avoided(child) and HealthItem.objects.get().finding == "review"


def test_s88_a_guardian_asks_for_the_record(cast: Cast) -> None:
    """S88. Basis: FERPA, 34 CFR 99.10 (memory). Own child only, and who has viewed it; a correction can be asked."""
    record(Verb.READ, cast.noor, site=cast.ferrowick, child=cast.noor, by=cast.hakim.pk)
    guardian = as_user(cast.amara)
    assert guardian.get(reverse("guardian-copy", args=[cast.noor.pk])).status_code == 200
    assert guardian.get(reverse("guardian-copy", args=[cast.ravi.pk])).status_code == 404
    words = said(guardian_document(file_of(cast.noor, timezone.now()), "en"))
    assert "Nurse or other licensed staff" in words and "ask for a correction" in words and "Ravi" not in words
