"""Which tables of food and roster are watched, which record themselves, and which need no entry, each with the reason.

A test walks every table: a new one without a line here, or in `compliance.checks.recorded`, fails it.
"""

from __future__ import annotations

from django.db import models

from menus.models import (
    Alternative,
    Closure,
    CycleEntry,
    CycleMenu,
    Delivery,
    KitchenEvent,
    Label,
    LabelPhoto,
    PhotoDraft,
    PlanStep,
    Product,
    ProductNutrition,
    Recipe,
    RecipeLine,
    RecipeVersion,
    Serving,
    Site,
    SitePattern,
    Supplier,
    Surface,
    Word,
    WordReview,
    WordWithdrawal,
)
from roster.models import (
    Action,
    Allowance,
    AllowanceWithdrawal,
    ChainEnd,
    Child,
    Classroom,
    EmergencyPlan,
    Enrolment,
    GuardianAnswer,
    GuardianEntry,
    HealthItem,
    HealthItemSeen,
    HealthMatch,
    HealthRecord,
    LunchBox,
    LunchBoxItem,
    Post,
    Restriction,
    Review,
    RoomApproval,
    RoomApprovalEnd,
    SignIn,
    SourceRow,
    Statement,
    TextureLevel,
    User,
)
from roster.record.watch import Watch

WATCHED: dict[type[models.Model], Watch] = {
    Site: Watch(site=lambda row: row),
    Supplier: Watch(),
    Product: Watch(site=lambda row: row.site),
    Label: Watch(
        site=lambda row: row.product.site,
        digested=("ingredients", "contains", "precautionary", "claims", "supplied"),
    ),
    LabelPhoto: Watch(site=lambda row: row.site, hidden=("image", "lines")),
    ProductNutrition: Watch(site=lambda row: row.product.site),
    SitePattern: Watch(site=lambda row: row.site),
    Recipe: Watch(site=lambda row: row.site),
    RecipeVersion: Watch(site=lambda row: row.recipe.site),
    CycleMenu: Watch(site=lambda row: row.site),
    Alternative: Watch(site=lambda row: row.site),
    Closure: Watch(site=lambda row: row.site),
    CycleEntry: Watch(site=lambda row: row.cycle.site),
    Delivery: Watch(site=lambda row: row.kitchen),
    Surface: Watch(site=lambda row: row.site),
    KitchenEvent: Watch(site=lambda row: row.site),
    # Words count at every site, so they stand in the chain of what belongs to none.
    Word: Watch(),
    WordReview: Watch(),
    WordWithdrawal: Watch(),
    Classroom: Watch(site=lambda row: row.site),
    Child: Watch(site=lambda row: row.site, child=lambda row: row),
    Enrolment: Watch(site=lambda row: row.classroom.site, child=lambda row: row.child),
    User: Watch(hidden=("last_login",), masked=("password",)),
    Post: Watch(site=lambda row: row.place),
}
"""By signals, one row at a time; whoever writes many at once tells them by `roster.record.watch.tell`."""

BY_SERVICE: dict[type[models.Model], str] = {
    Restriction: "roster.services.record_restriction",
    Allowance: "roster.services.sign_allowance",
    AllowanceWithdrawal: "roster.life.allowance.withdraw_allowance",
    EmergencyPlan: "roster.life.plan",
    GuardianEntry: "roster.life.guardian",
    GuardianAnswer: "roster.life.guardian",
    Statement: "roster.life.statement.receive_statement",
    Review: "roster.life.statement.review_statement",
    PlanStep: "compliance.web.orderwork: one entry for the whole order of work",
    HealthRecord: "roster.fhir.take.receive",
    HealthMatch: "roster.fhir.take.confirm",
    HealthItemSeen: "roster.fhir.take.see_to",
    LunchBox: "roster.life.lunchbox: one entry for a box with all that is in it",
    RoomApproval: "roster.life.approval.approve_product",
    RoomApprovalEnd: "roster.life.approval.end_approval",
    TextureLevel: "roster.life.texture.record_texture",
    Serving: "menus.services.servings: one entry for all that a plan adds and withdraws; compliance.web.exchange",
}
"""What records itself, and where: it says more than a row does, or writes many rows at once."""

NO_ENTRY: dict[type[models.Model], str] = {
    Action: "the record itself",
    ChainEnd: "the record itself",
    HealthItem: "worked out from a health record, which is on record when it is taken over",
    SourceRow: "what a class list said, for the next one to be read against; the import itself is on record",
    SignIn: "a history of its own, which the person sees",
    RecipeLine: "part of a recipe version, written with it and never after",
    LunchBoxItem: "part of a version of a lunch box, written with it and never after",
    PhotoDraft: "a photo that nobody has confirmed; discarded within a day, or kept as a LabelPhoto",
}
"""What needs no entry, and why."""
