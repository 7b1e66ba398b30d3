"""Every service that writes, and what it leaves on record; a new one without a line here fails."""

from __future__ import annotations

import ast
import json
from collections.abc import Iterator
from datetime import timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

from django.utils import timezone

from compliance.checks.referrals import answer_referrals
from compliance.checks.run import check_site
from compliance.checks.table import hand_out
from compliance.checks.treatfood import Said, check_said
from compliance.models import Referral, Run
from menus.models import Deed
from menus.services.kitchen import Doing, record_event, take_back
from menus.services.words import propose_word
from roster.imports.plan import plan_import
from roster.models import Action, Verb
from roster.record.verify import faults
from tests.cast import Cast
from tests.factories import ServingFactory, SurfaceFactory, cooked, labelled

ROOT = Path(__file__).resolve().parents[3]
PLACES = ("menus/services", "roster", "roster/accounts", "roster/fhir", "roster/life", "compliance/checks")

ACTIONS: dict[str, Verb | None] = {
    "menus/services/alternatives.add_alternative": Verb.RECORDED,
    "menus/services/alternatives.end_alternative": Verb.RECORDED,
    "menus/services/exchange.exchange_dish": Verb.RECORDED,
    "menus/services/kitchen.record_event": Verb.RECORDED,
    "menus/services/labels.record_label": Verb.RECORDED,
    "menus/services/labels.record_supplied": Verb.RECORDED,
    "menus/services/nutrition.record_panel": Verb.RECORDED,
    "menus/services/nutrition.record_table_food": Verb.RECORDED,
    "menus/services/orderwork.change_plan": Verb.RECORDED,
    "menus/services/orderwork.restore_plan": Verb.RECORDED,
    "menus/services/patterns.set_pattern": Verb.RECORDED,
    "menus/services/photos.bind_photos": Verb.RECORDED,
    "menus/services/photos.discard_photo": None,  # a draft that nobody confirmed
    "menus/services/products.add_product": Verb.RECORDED,
    "menus/services/recipes.record_recipe": Verb.RECORDED,
    "menus/services/recipes.state_texture": Verb.RECORDED,
    "menus/services/calendar.lift_closure": Verb.RECORDED,
    "menus/services/calendar.record_closure": Verb.RECORDED,
    "menus/services/servings.plan_all": Verb.RECORDED,
    "menus/services/sites.change_site": Verb.RECORDED,
    "menus/services/treats.record_treat": Verb.RECORDED,
    "menus/services/words.propose_word": Verb.RECORDED,
    "menus/services/words.review_word": Verb.RECORDED,
    "menus/services/words.withdraw_word": Verb.RECORDED,
    "roster/enrolling.change_days": Verb.RECORDED,
    "roster/enrolling.enrol_all": Verb.RECORDED,
    "roster/services.record_restriction": Verb.RECORDED,
    "roster/services.sign_allowance": Verb.RECORDED,
    "roster/accounts/codes.take_code": None,  # the signature or sign-in that the code is for is what is kept
    "roster/accounts/factors.forget_factors": Verb.ENDED,
    "roster/accounts/people.close_account": Verb.RECORDED,
    "roster/accounts/people.invite_person": Verb.RECORDED,
    "roster/accounts/people.lift_lock": Verb.ENDED,
    "roster/accounts/people.open_account": Verb.RECORDED,
    "roster/accounts/posts.end_post": Verb.RECORDED,
    "roster/accounts/posts.give_post": Verb.RECORDED,
    "roster/accounts/secrets.rotate_secrets": None,  # the same secrets under another key
    "roster/fhir/take.take_over": Verb.RECORDED,
    "roster/life/approval.approve_product": Verb.RECORDED,
    "roster/life/approval.end_approval": Verb.ENDED,
    "roster/life/allowance.withdraw_allowance": Verb.ENDED,
    "roster/life/guardian.answer_entry": Verb.ANSWERED,
    "roster/life/lunchbox.save_box": Verb.RECORDED,
    "roster/life/plan.record_plan": Verb.RECORDED,
    "roster/life/report.protect": Verb.RECORDED,
    "roster/life/report.report": Verb.RECORDED,
    "roster/life/statement.end_restriction": Verb.ENDED,
    "roster/life/statement.review_statement": Verb.ANSWERED,
    "roster/life/texture.record_texture": Verb.RECORDED,
    "compliance/checks/digest.send_for": None,  # mails of counts about runs, which are on record
    "compliance/checks/incident.add_note": Verb.RECORDED,
    "compliance/checks/incident.open_incident": Verb.RECORDED,
    "compliance/checks/recordintake.take_in": Verb.RECORDED,
    "compliance/checks/referrals.answer_referrals": Verb.ANSWERED,
    "compliance/checks/table.hand_out": Verb.RECORDED,
    "compliance/checks/table.wash": Verb.RECORDED,
    "compliance/checks/treatfood.check_said": Verb.CHECKED,
}
"""The services, and the verb of the entry that each leaves; None with the reason why it leaves none."""


def services() -> Iterator[str]:
    """Every public function in the packages of services that runs in a transaction of its own."""
    for place in PLACES:
        for path in sorted((ROOT / place).glob("*.py")):
            for each in ast.parse(path.read_text(encoding="utf-8")).body:
                if isinstance(each, ast.FunctionDef) and not each.name.startswith("_") and _writes(each):
                    yield f"{path.relative_to(ROOT).with_suffix('')}.{each.name}"


def _writes(function: ast.FunctionDef) -> bool:
    return any("atomic" in ast.unparse(decorator) for decorator in function.decorator_list)


def test_every_service_has_a_line() -> None:
    """And every line is a service."""
    assert sorted(set(services()) - ACTIONS.keys()) == []
    assert sorted(ACTIONS.keys() - set(services())) == []


def newest() -> tuple[Action, dict[str, Any]]:
    """The newest entry, and what it says."""
    entry = Action.objects.latest("pk")
    return entry, json.loads(entry.payload)["said"]


def test_a_treat_check_is_one_entry_with_what_it_answered(cast: Cast) -> None:
    """Label, product and questions with it; children by number, and no word of the food."""
    count = Action.objects.count()
    said = Said(text="wheat flour, zorbalex", name="Star biscuits")
    check = check_said(user=cast.rosa, classroom=cast.larks, served_at=timezone.now(), said=said)
    entry, told = newest()
    assert Action.objects.count() == count + 1
    assert (entry.verb, entry.actor, entry.site) == (Verb.CHECKED, cast.rosa, cast.ferrowick)
    assert entry.subject == f"treat check {check.pk}"
    assert cast.noor.pk in told["withhold"] and told["refer"] and told["asked"]
    assert told["made"]["label"] == [told["label"]] and "product" in told["made"]
    assert "zorbalex" not in entry.payload and "Star" not in entry.payload


def test_a_run_and_its_questions_are_one_entry(cast: Cast) -> None:
    """Who began it, over which days, with which result."""
    ServingFactory.create(site=cast.ferrowick, recipe=cooked("Bun", labelled("wheat flour, zorbalex", name="Bun")))
    run = check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    entry, told = newest()
    assert (entry.verb, entry.subject) == (Verb.CHECKED, f"run {run.pk}")
    assert told["result"] == run.result_hash and len(told["asked"]) == run.counts["referrals"] > 0


def test_an_answer(cast: Cast) -> None:
    """Under its child."""
    check_said(user=cast.rosa, classroom=cast.larks, served_at=timezone.now(), said=Said(no_label=True, name="Cake"))
    question = Referral.objects.waiting().latest("pk")
    day = timezone.localdate() + timedelta(days=3)
    answer_referrals(referrals=[question], user=cast.hakim, answer="keep", note="", ends_on=day, signature="H. RN")
    entry, told = newest()
    assert (entry.verb, entry.child, told["answer"]) == (Verb.ANSWERED, question.child, "keep")


def test_what_is_done_in_kitchen_and_class(cast: Cast) -> None:
    """A wash, its taking back, a food handed out, a word proposed: each with who did it."""
    slicer = SurfaceFactory.create(site=cast.ferrowick, name="Slicer")
    doing = Doing(Deed.CLEAN, surface=slicer, method="wash_rinse_sanitize")
    event = record_event(site=cast.ferrowick, user=cast.greta, doing=doing)
    assert newest()[0].subject == f"kitchen event {event.pk}" and newest()[0].actor == cast.greta
    undone = take_back(event=event, user=cast.greta)
    assert newest()[1]["after"]["corrects_id"] == event.pk and newest()[0].subject.endswith(str(undone.pk))
    check = check_said(user=cast.rosa, classroom=cast.larks, served_at=timezone.now(), said=Said(no_label=True))
    hand_out(check=check, user=cast.rosa)
    assert newest()[0].actor == cast.rosa and newest()[1]["after"]["check_made_id"] == check.pk
    label = labelled("wheat flour, zorbalex", name="Bun", site=cast.ferrowick).labels.get()
    propose_word(
        label=label, phrase="zorbalex", sense="none", reason="New.", looked_up="The maker.", proposed_by=cast.greta
    )
    assert newest()[0].actor == cast.greta


def test_an_import_is_one_entry_with_the_digest_of_its_file(cast: Cast) -> None:
    """And how many rows of what; a refused one leaves none."""
    head = (
        "code,gtin,name,supplier,jurisdiction,regulator,ready_to_eat,ingredients,contains,precautionary,claims,seen_on"
    )
    rows = ["x-1,,Crackers,,,,,wheat flour,,,,2026-01-02", "x-2,,Jam,,,,,plums,,,,2026-01-02"]
    plan = plan_import("products", BytesIO("\n".join([head, *rows]).encode()), "Noor.csv")
    assert not plan.problems, plan.problems
    count = Action.objects.count()
    plan.save(cast.june)
    entry, told = newest()
    assert Action.objects.count() == count + 1
    assert (entry.verb, entry.subject, entry.actor) == (Verb.IMPORTED, "file of products", cast.june)
    assert told["counts"]["product"] == {"new": 2} and len(told["made"]["label"]) == 2
    assert len(told["file_sha256"]) == 64 and "Noor" not in entry.payload
    assert not list(faults())
