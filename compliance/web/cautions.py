"""The cautions that pages carry, each sentence once."""

from __future__ import annotations

from django.utils.translation import gettext_noop

CAUTIONS = {
    "decides": gettext_noop(
        "This page informs; it decides nothing. The signed medical statement, the child's own plan and the school "
        "nurse or another licensed clinician prevail over what stands here."
    ),
    "none-found": gettext_noop(
        "“None found” means no conflict found in the records checked. It is no promise: it speaks of the label version "
        "and the time named here, and of nothing else."
    ),
    "unknown": (
        "Where a label is missing, out of date or not understood, nothing is known. Treat the food as one to withhold "
        "until licensed staff have answered."
    ),
    "package": (
        "Read the package again before the food is handed out: makers change what is in it without notice. Keep the "
        "package, or its label, for 24 hours afterwards."
    ),
    "substitution": "Another product or a new lot ends any earlier answer. Record its label and check again.",
    "precautionary": (
        "In the United States nobody must print “may contain”. A package without such words may still have been made "
        "beside anything."
    ),
    "nine": (
        "United States law makes labels name nine allergens. Mustard, celery, lupin, coconut and others show only "
        "where the ingredient list happens to name them."
    ),
    "kitchen-log": "Kitchen records may have gaps. A cleaning that is not recorded counts as not done.",
    "cooking": "Cooking does not take an allergen away, and hand gel does not clean hands: wash with soap and water.",
    "raw-food": (
        "This order looks at allergens alone. Raw before ready-to-eat food, temperatures and how long food may stand "
        "are the kitchen's to judge, and the local food code prevails: change the order where they ask for it."
    ),
    "reaction": gettext_noop(
        "If a child seems to be having a reaction, do not look anything up: follow the child's own emergency plan and "
        "call emergency services (911 in the United States) at once."
    ),
    "pointer": (
        "This page points to papers; it holds none. It names no drug and no dose. Plans differ from child to child: "
        "follow the child's own, and call emergency services at once. Do not look anything else up first."
    ),
    "mail": (
        "Mail comes late, or not at all. What a child must not be given stands on the pages and in the papers in hand, "
        "and nobody may wait for a mail to look there."
    ),
    "gathered": (
        "What is gathered here is what was planned, checked and handed out. Nobody recorded what the child really ate, "
        "and it says nothing of what caused what: licensed staff and physicians judge that."
    ),
    "discreet": (
        "Speak of the food, not of the child: name, single out or exclude nobody, and keep this page to those who hand "
        "out the food."
    ),
    "choking": (
        "Lists of foods that young children choke on are guidance by age, and not complete. Children differ in how "
        "they chew: cut for the youngest at the table, have them sit down, and stay with them while they eat."
    ),
    "closed": (
        "On a day without meals nothing is planned, so nothing is checked. Food that is handed out all the same is "
        "checked as a treat, or put on the plan and checked, before a child gets it."
    ),
    "family": (
        "Religious, ethical and family restrictions are the family's word; whether a food is certified was not checked."
    ),
    "night": (
        "The nightly check covers menus, labels and rosters as they were entered by the time named here. What changed "
        "since is not in it."
    ),
    "expired": gettext_noop("A statement past its date goes on protecting the child until licensed staff replace it."),
    "reported": gettext_noop(
        "A restriction that a parent reports protects at once; only a licensed person's signature relaxes one."
    ),
    "reports": (
        "What is reported may add protection at once and takes none away. In doubt write it down: licensed staff sort "
        "it out with the family."
    ),
    "health-record": (
        "A health record is no signed statement, whatever it says of itself. It adds protection, and takes none away; "
        "what a file cannot say is on the paper."
    ),
    "handed-on": (
        "Whoever receives this asks for a signed statement of their own and checks every food themselves. It tells "
        "what was on record here at the time named, and of nothing since."
    ),
    "related": (
        "Rates of related foods are published averages and say nothing of this child. Nothing is added by them unless "
        "you add it."
    ),
    "claim": (
        "What a statement lacks may stop a claim for reimbursement. It never stops the protection: act on what is "
        "clear at once."
    ),
    "protein": (
        "Which foods a child may have stands in its restrictions, not here. The figures are averages of a table; a "
        "child whose intake of protein is restricted or watched follows its own plan."
    ),
    "meals": (
        "What is credited here is worked out from recipes and labels as they were entered, for one child served every "
        "dish of the meal, or one of those that are offered instead of each other. It says nothing of what a child may "
        "not have. Local codes, the State agency and licensed practice go before it."
    ),
    "whole-meals": (
        "This plans trays; it checks nothing. No dish may be given because it stands here: the check of each dish at "
        "serving time, the package in hand and the child's own papers go before it. A dish on hand was judged by its "
        "recipe alone, without what it meets in the kitchen."
    ),
    "lunchbox": gettext_noop(
        "This page looks at this child and at the rules of its room, and at no other child's needs: ask the school "
        "what the room keeps out. Read every package again when you pack. Children differ in how they chew: they sit, "
        "and somebody stays with them while they eat."
    ),
    "texture": (
        "The level is what a clinician set, and goes before rules by age, in either direction. Nobody but licensed "
        "staff tells whether another level may stand in for it."
    ),
    "record": (
        "What stands here is about children and the people who look after them: for those who audit it, and for nobody "
        "else. A seal shows that an entry was not changed since; it does not show that what was entered is true."
    ),
    "demo": gettext_noop(
        "This is invented sample data: no child, product or place in it is real. Do not use any of it."
    ),
}
