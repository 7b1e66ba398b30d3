"""What each page is about, and so who may come in: roster.permits says which roles.

A page without a line here does not answer, and `manage.py check` says so. The API has its own table beside its views.
"""

from __future__ import annotations

from django.db.models import QuerySet
from django.http import HttpRequest

from compliance.web.signed_in import SignedInRequest
from roster.access import children_with
from roster.models import Child
from roster.permits import Act, Permit, Thing

SIGNED_IN = None
"""For everybody who has signed in, with or without a post."""

GATES: dict[str, Permit | None] = {
    "home": SIGNED_IN,
    "rules": SIGNED_IN,
    "sign-out": SIGNED_IN,
    "sign-in-again": SIGNED_IN,
    "account": SIGNED_IN,
    "account-password": SIGNED_IN,
    "account-elsewhere": SIGNED_IN,
    "second-factor": SIGNED_IN,
    "codes-set-up": SIGNED_IN,
    "passkey-add": SIGNED_IN,
    "recovery-codes": SIGNED_IN,
    "recovery-renew": SIGNED_IN,
    "factor-remove": SIGNED_IN,
    "people": Permit(Thing.STAFF, Act.READ),
    "people-invite": Permit(Thing.STAFF, Act.CHANGE),
    "people-substitute": Permit(Thing.STAFF, Act.CHANGE),
    "person": Permit(Thing.STAFF, Act.CHANGE),
    "person-account": Permit(Thing.STAFF, Act.CHANGE),
    "post-end": Permit(Thing.STAFF, Act.CHANGE),
    "site-settings": Permit(Thing.SITE, Act.CHANGE),
    "closures": Permit(Thing.SITE, Act.CHANGE),
    "meal-patterns": Permit(Thing.SITE, Act.CHANGE),
    "closure": Permit(Thing.SITE, Act.CHANGE),
    "closure-lift": Permit(Thing.SITE, Act.CHANGE),
    "treat-history": SIGNED_IN,  # lists the checks of one's own classes: none for who has none
    "today": Permit(Thing.CLASS_DAY, Act.READ),
    "today-state": Permit(Thing.CLASS_DAY, Act.READ),
    "treat": Permit(Thing.TREAT_CHECK, Act.ADD),
    "treat-matches": Permit(Thing.TREAT_CHECK, Act.ADD),
    "treat-result": Permit(Thing.TREAT_CHECK, Act.READ),
    "treat-state": Permit(Thing.TREAT_CHECK, Act.READ),
    "table-handed": Permit(Thing.TREAT_CHECK, Act.ADD),
    "table-washed": Permit(Thing.TREAT_CHECK, Act.ADD),
    "meal-exchange": Permit(Thing.FOOD_FILE, Act.IMPORT),  # whoever may change the cycle menu
    "cycle": Permit(Thing.MENU, Act.READ),
    "cycle-check": Permit(Thing.MENU, Act.READ),
    "cycle-recheck": Permit(Thing.MENU, Act.CHANGE),
    "serving": Permit(Thing.MENU, Act.READ),
    "serving-state": Permit(Thing.MENU, Act.READ),
    "serving-texture": Permit(Thing.FOOD_FILE, Act.IMPORT),  # whoever may change recipes
    "order-of-work": Permit(Thing.ORDER_OF_WORK, Act.READ),
    "order-change": Permit(Thing.ORDER_OF_WORK, Act.CHANGE),
    "order-restore": Permit(Thing.ORDER_OF_WORK, Act.CHANGE),
    "order-sheet": Permit(Thing.ORDER_OF_WORK, Act.READ),
    "whole-meals": Permit(Thing.WHOLE_MEALS, Act.READ),
    "whole-meals-work": Permit(Thing.WHOLE_MEALS, Act.ADD),
    "whole-meals-weeks": Permit(Thing.WHOLE_MEALS, Act.READ),
    "whole-meals-now": Permit(Thing.WHOLE_MEALS, Act.READ),
    "meal-counts": Permit(Thing.WHOLE_MEALS, Act.EXPORT),
    "tray-cards": Permit(Thing.WHOLE_MEALS, Act.EXPORT),
    "on-hand": Permit(Thing.WHOLE_MEALS, Act.CHANGE),
    "on-hand-end": Permit(Thing.WHOLE_MEALS, Act.CHANGE),
    "kitchen-day": Permit(Thing.KITCHEN_DAY, Act.READ),
    "kitchen-news": Permit(Thing.KITCHEN_DAY, Act.READ),
    "kitchen-state": Permit(Thing.KITCHEN_DAY, Act.READ),
    "kitchen-record": Permit(Thing.KITCHEN_DAY, Act.ADD),
    "kitchen-undo": Permit(Thing.KITCHEN_DAY, Act.ADD),
    "kitchen-dish": Permit(Thing.KITCHEN_DAY, Act.ADD),
    "label-work": Permit(Thing.PRODUCT, Act.READ),
    "label": Permit(Thing.PRODUCT, Act.READ),
    "label-how": Permit(Thing.PRODUCT, Act.READ),
    "label-new": Permit(Thing.PRODUCT, Act.ADD),
    "label-same": Permit(Thing.PRODUCT, Act.ADD),
    "label-preview": Permit(Thing.PRODUCT, Act.ADD),
    "photo": Permit(Thing.TREAT_CHECK, Act.READ),  # of what was checked for the own class, or bought for the kitchen
    "photo-draft": Permit(Thing.TREAT_CHECK, Act.ADD),
    "products": Permit(Thing.PRODUCT, Act.READ),
    "product": Permit(Thing.PRODUCT, Act.READ),
    "product-new": Permit(Thing.PRODUCT, Act.ADD),
    "words": Permit(Thing.WORD, Act.READ),
    "word": Permit(Thing.WORD, Act.READ),
    "word-new": Permit(Thing.WORD, Act.ADD),
    "word-review": Permit(Thing.WORD, Act.SIGN),
    "word-withdraw": Permit(Thing.WORD, Act.SIGN),
    "exceptions": Permit(Thing.EXCEPTION, Act.READ),
    "exceptions-export": Permit(Thing.EXCEPTION, Act.EXPORT),
    "runs": Permit(Thing.RUN, Act.READ),
    "run": Permit(Thing.RUN, Act.READ),
    "run-again": Permit(Thing.RUN, Act.CHANGE),
    "nights": Permit(Thing.NIGHT, Act.READ),
    "nights-now": Permit(Thing.NIGHT, Act.READ),
    "letter-again": Permit(Thing.NIGHT, Act.CHANGE),
    "site-again": Permit(Thing.NIGHT, Act.CHANGE),
    "mail": Permit(Thing.MAIL, Act.READ),
    "mail-again": Permit(Thing.MAIL, Act.CHANGE),
    "mail-all-again": Permit(Thing.MAIL, Act.CHANGE),
    "referrals": Permit(Thing.REFERRAL, Act.READ),
    "referral": Permit(Thing.REFERRAL, Act.SIGN),
    "due": Permit(Thing.MEDICAL, Act.SIGN),
    "amount": Permit(Thing.MEDICAL, Act.SIGN),
    "meals": Permit(Thing.MEALS, Act.READ),
    "milk-drink": Permit(Thing.NUTRITION, Act.READ),
    "protein": Permit(Thing.NUTRITION, Act.READ),
    "children": Permit(Thing.CHILD_NAMES, Act.READ),
    "child": Permit(Thing.MEDICAL, Act.READ),
    "child-report": Permit(Thing.REPORT, Act.ADD),
    "restriction": Permit(Thing.MEDICAL, Act.READ),
    "restriction-end": Permit(Thing.MEDICAL, Act.SIGN),
    "child-allowances": Permit(Thing.MEDICAL, Act.READ),
    "allowance-withdraw": Permit(Thing.MEDICAL, Act.SIGN),
    "statement-new": Permit(Thing.MEDICAL, Act.SIGN),
    "statement": Permit(Thing.MEDICAL, Act.READ),
    "statement-scan": Permit(Thing.MEDICAL, Act.READ),
    "statement-review": Permit(Thing.MEDICAL, Act.SIGN),
    "guardian": Permit(Thing.OWN_CHILD, Act.READ),
    "guardian-child": Permit(Thing.OWN_CHILD, Act.READ),
    "lunchboxes": Permit(Thing.LUNCHBOX, Act.READ),
    "lunchbox": Permit(Thing.LUNCHBOX, Act.ADD),
    "lunchbox-list": Permit(Thing.LUNCHBOX, Act.READ),
    "lunchbox-labels": Permit(Thing.LUNCHBOX, Act.READ),
    "approvals": Permit(Thing.APPROVAL, Act.READ),
    "approval-new": Permit(Thing.APPROVAL, Act.CHANGE),
    "approval-end": Permit(Thing.APPROVAL, Act.CHANGE),
    "child-texture": Permit(Thing.MEDICAL, Act.SIGN),
    "guardian-need": Permit(Thing.OWN_CHILD, Act.ADD),
    "guardian-request": Permit(Thing.OWN_CHILD, Act.ADD),
    "guardian-scan": Permit(Thing.OWN_CHILD, Act.READ),
    "guardian-paper": SIGNED_IN,  # a blank form
    "from-guardians": Permit(Thing.GUARDIAN_ENTRY, Act.READ),
    "from-guardian": Permit(Thing.GUARDIAN_ENTRY, Act.SIGN),
    "from-guardian-scan": Permit(Thing.GUARDIAN_ENTRY, Act.READ),
    "record": Permit(Thing.RECORD, Act.READ),
    "record-verify": Permit(Thing.RECORD, Act.READ),
    "record-export": Permit(Thing.RECORD, Act.EXPORT),
    "child-emergency": Permit(Thing.EMERGENCY, Act.READ),
    "emergency-sheet": Permit(Thing.EMERGENCY, Act.READ),
    "room-sheet": Permit(Thing.ROOM_SHEET, Act.READ),
    "child-plan": Permit(Thing.EMERGENCY, Act.CHANGE),
    "incident-new": Permit(Thing.INCIDENT, Act.ADD),
    "incident-note": Permit(Thing.INCIDENT, Act.ADD),
    "incidents": Permit(Thing.INCIDENT, Act.READ),
    "incident": Permit(Thing.INCIDENT, Act.READ),
    "incident-report": Permit(Thing.INCIDENT, Act.READ),
    "imports": Permit(Thing.FOOD_FILE, Act.IMPORT),
    "import-template": Permit(Thing.FOOD_FILE, Act.IMPORT),
    "import-products": Permit(Thing.FOOD_FILE, Act.IMPORT),
    "import-recipes": Permit(Thing.FOOD_FILE, Act.IMPORT),
    "import-supplied": Permit(Thing.FOOD_FILE, Act.IMPORT),
    "import-nutrition": Permit(Thing.FOOD_FILE, Act.IMPORT),
    "import-cycle": Permit(Thing.FOOD_FILE, Act.IMPORT),
    "import-closures": Permit(Thing.SITE, Act.CHANGE),
    "import-restrictions": Permit(Thing.RESTRICTION_FILE, Act.IMPORT),
    "import-roster": Permit(Thing.ROSTER_FILE, Act.IMPORT),
    "import-fhir": Permit(Thing.HEALTH_FILE, Act.IMPORT),
    "health-record": Permit(Thing.HEALTH_FILE, Act.IMPORT),
    "health-item-seen": Permit(Thing.HEALTH_FILE, Act.IMPORT),
    "child-handover": Permit(Thing.MEDICAL, Act.EXPORT),
    "child-fhir": Permit(Thing.MEDICAL, Act.EXPORT),
    "child-record": Permit(Thing.MEDICAL, Act.EXPORT),
    "guardian-copy": Permit(Thing.COPY, Act.EXPORT),
}

BY_TOKEN = frozenset({"metrics"})
"""Pages for programs: nobody signs in there, and each asks for a token of its own."""


def children_for(request: SignedInRequest) -> QuerySet[Child]:
    """Return the children, enrolled from now on, with whom the person may do what the page is for. Two queries."""
    permit = permit_of(request)
    assert permit is not None
    return children_with(request.user, *permit)


def permit_of(request: HttpRequest) -> Permit | None:
    """Return the permit that the page asks for; None where signing in is enough."""
    assert request.resolver_match is not None  # a view is answering
    return GATES[request.resolver_match.view_name]
