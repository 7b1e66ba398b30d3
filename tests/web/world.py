"""The cast after a night, with something of Ferrowick behind every address that names a row."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import time, timedelta
from typing import Any

from django.utils import timezone

from compliance.checks.incident import open_incident
from compliance.checks.run import check_site
from compliance.checks.treatfood import Said, check_said
from compliance.checks.wholemeals.keep import work_out
from compliance.checks.wholemeals.standing import standing_on
from compliance.models import DeadLetter, Incident, Night, OutgoingMail, Referral, Run, TreatCheck
from menus.models import Alternative, Closure, Deed, KitchenEvent, Label, LabelPhoto, Product, Recipe, Word
from menus.models.cycle import monday_of
from menus.services.kitchen import Doing, record_event
from roster.life.guardian import send_in
from roster.life.scan import Scan
from roster.life.statement import receive_statement
from roster.models import (
    Allowance,
    Asks,
    Basis,
    Credential,
    GuardianEntry,
    HealthItem,
    Restriction,
    RoomApproval,
    Statement,
)
from tests.cast import Cast
from tests.compliance.checks.mails import mail_to
from tests.compliance.operations.rows import letter_of, night_of
from tests.factories import (
    AllowanceFactory,
    AlternativeFactory,
    ClosureFactory,
    LabelPhotoFactory,
    PlanStepFactory,
    RoomApprovalFactory,
    SurfaceFactory,
    WordFactory,
    cooked,
    labelled,
)
from tests.roster.fhir.entries import entry, status, taken


@dataclass(frozen=True)
class World:
    """The cast after a night, with something of Ferrowick behind every address that names a row."""

    cast: Cast
    check: TreatCheck
    run: Run
    referral: Referral
    product: Product
    word: Word
    photo: LabelPhoto
    record: KitchenEvent
    statement: Statement

    @property
    def restriction(self) -> Restriction:
        """What stands under the statement."""
        return self.statement.restrictions.get()

    @property
    def sent(self) -> GuardianEntry:
        """What Amara sent in about Noor."""
        return self.cast.noor.guardian_entries.get()

    @property
    def allowance(self) -> Allowance:
        """What was allowed under it."""
        held = Allowance.objects.filter(restriction=self.restriction).first()
        return held or AllowanceFactory.create(restriction=self.restriction, signed_by=self.cast.hakim)

    @property
    def on_hand(self) -> Alternative:
        """A dish that Ferrowick can prepare beside its menu."""
        held = Alternative.objects.filter(site=self.cast.ferrowick).first()
        return held or AlternativeFactory.create(site=self.cast.ferrowick, recipe=self.cast.dishes.yogurt_cup)

    @property
    def incident(self) -> Incident:
        """What Rosa wrote down about Bao."""
        return Incident.objects.first() or shared_pudding(self.cast)

    @property
    def proposal(self) -> HealthItem:
        """What a file of health records says of Kofi's sesame."""
        return HealthItem.objects.filter(seen=None).first() or a_proposal(self.cast)

    @property
    def closure(self) -> Closure:
        """A day without meals at Ferrowick."""
        held = Closure.objects.newest().filter(site=self.cast.ferrowick).first()
        return held or ClosureFactory.create(site=self.cast.ferrowick)

    @property
    def night(self) -> Night:
        """The night in which Ferrowick was checked."""
        return Night.objects.first() or night_of([self.cast.ferrowick])

    @property
    def letter(self) -> DeadLetter:
        """A check of Ferrowick that was given up."""
        found = DeadLetter.objects.unsettled().first()
        return found or letter_of(self.cast.ferrowick)

    @property
    def approval(self) -> RoomApproval:
        """A product that June approved for the rooms of Ferrowick."""
        held = RoomApproval.objects.filter(site=self.cast.ferrowick).first()
        return held or RoomApprovalFactory.create(site=self.cast.ferrowick, approved_by=self.cast.june)

    @property
    def mail(self) -> OutgoingMail:
        """One to Greta, that waits."""
        return OutgoingMail.objects.filter(to=self.cast.greta, sent_at=None).first() or mail_to(self.cast.greta)

    @property
    def label(self) -> Label:
        return self.product.labels.get()


def after_a_night(cast: Cast) -> World:
    """The cast, checked, with a treat check, a referral and a product of Ferrowick's own."""
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    check = check_said(user=cast.rosa, classroom=cast.larks, served_at=timezone.now(), said=Said(no_label=True))
    product = labelled("wheat flour, sugar, zorbalex", name="Bun", site=cast.ferrowick)
    word = WordFactory.create(label=product.labels.get(), proposed_by=cast.greta)
    photo = LabelPhotoFactory.create(label=product.labels.get(), site=cast.ferrowick, taken_by=cast.greta)
    check_said(user=cast.rosa, classroom=cast.larks, served_at=timezone.now(), said=Said(product=product))
    referral = Referral.objects.filter(child=cast.kofi).latest("pk")
    a_family_form(cast)
    return World(cast, check, Run.objects.get(), referral, product, word, photo, a_morning(cast), a_statement(cast))


def a_family_form(cast: Cast) -> GuardianEntry:
    """What Amara sends in about Noor, with a paper."""
    return send_in(
        child=cast.noor,
        sent_by=cast.amara,
        scan=Scan(b"%PDF-1.4 %%EOF", "application/pdf"),
        asks=Asks.AVOID,
        basis=Basis.REPORTED,
        words="kiwi",
        language="es",
        signature="Amara E.",
    )


def a_statement(cast: Cast) -> Statement:
    """What the nurse received for Kofi about egg, with its scan."""
    today = timezone.localdate()
    return receive_statement(
        child=cast.kofi,
        received_by=cast.hakim,
        under=[cast.kofi.restrictions.get(substance="egg")],
        further={},
        scan=Scan(b"%PDF-1.4 %%EOF", "application/pdf"),
        signatory="P. Example",
        credential=Credential.PRESCRIBER,
        licence_state="Illinois",
        signed_on=today,
        review_on=today + timedelta(days=365),
        program="nslp",
        omit="Egg in every form.",
    )


def a_proposal(cast: Cast) -> HealthItem:
    """What Hakim took over: a clinic's file that calls Kofi's sesame allergy resolved."""
    cast.kofi.source, cast.kofi.source_id = "SAMPLE", "usr-kofi"
    cast.kofi.save()
    taken(cast.kofi, entry("Sesame", clinicalStatus=status("clinical", "resolved")), by=cast.hakim)
    return HealthItem.objects.get()


def a_meal_plan(cast: Cast) -> dict[str, Any]:
    """The question about today's meals, worked out for Ferrowick's week."""
    today = timezone.localdate()
    if standing_on(cast.ferrowick, today) is None:
        work_out(site=cast.ferrowick, monday=monday_of(today), user=cast.greta)
    return {"day": today.isoformat()}


def a_trial(cast: Cast) -> dict[str, Any]:
    """The question whether rice bowls may stand in for today's sandwich."""
    bowl = Recipe.objects.filter(name="Rice bowl").first() or cooked("Rice bowl", cast.larder.rice)
    serving = cast.servings[0]
    return {"meal": serving.meal, "try": f"{serving.pk}:{bowl.code}", "take": serving.pk}


def shared_pudding(cast: Cast) -> Incident:
    """What Rosa saw at lunch, and nobody was unwell."""
    incident, _ = open_incident(
        child=cast.bao,
        site=cast.ferrowick,
        kind=Incident.Kind.SHARED,
        noticed_at=timezone.now(),
        seen="Bao traded a pudding cup with the child beside.",
        food="Pudding",
        given_by="The child beside",
        opened_by=cast.rosa,
    )
    return incident


def a_morning(cast: Cast) -> KitchenEvent:
    """Two dishes on one slicer of Ferrowick's, and a wash of it by Greta."""
    slicer = SurfaceFactory.create(site=cast.ferrowick, name="Slicer")
    for hour, dish in enumerate((cast.dishes.peanut_sandwich, cast.dishes.ham_and_rice), start=9):
        PlanStepFactory.create(surface=slicer, at=time(hour), recipe=dish)
    wash = Doing(Deed.CLEAN, surface=slicer, method="wash_rinse_sanitize")
    return record_event(site=cast.ferrowick, user=cast.greta, doing=wash)
