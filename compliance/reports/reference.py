"""The reference pages that are generated from the code and its data files, as Markdown."""

from __future__ import annotations

from compliance.reports.markdown import GENERATED, table
from compliance.reports.reference_access import access_page
from compliance.reports.reference_api import api_page
from compliance.reports.reference_imports import imports_page
from compliance.reports.reference_lexicon import lexicon_page
from compliance.reports.reference_supplied import supplied_page
from compliance.rules.register import RETIRED, RULES
from compliance.rules.rule import Rule
from menus.kitchen.cleaning import method_names, methods
from menus.labels.evidence import LEVEL_OF_KIND, Kind
from menus.substances.catalogue import Catalogue
from menus.substances.groups import load_groups


def pages() -> dict[str, str]:
    """Return the generated pages by file name."""
    return {
        "access.md": f"{GENERATED}\n{access_page()}",
        "rules.md": rules_page(),
        "substances.md": substances_page(),
        "cleaning.md": cleaning_page(),
        "imports.md": f"{GENERATED}\n{imports_page()}",
        "lexicon.md": f"{GENERATED}\n{lexicon_page()}",
        "api.md": f"{GENERATED}\n{api_page()}",
        "supplied.md": f"{GENERATED}\n{supplied_page()}",
    }


def rules_page() -> str:
    """Return the catalogue of rules."""
    parts = [
        GENERATED,
        "# Rules\n",
        "Each rule judges one kind of evidence. It yields a finding; the gravest finding decides, and all are kept. "
        "A finding that a licensed person's allowance covers is shown and does not count.\n",
        *(_rule(rule) for rule in RULES),
    ]
    if RETIRED:
        parts += ["## Retired\n", *(f"- {rule}: {reason}" for rule, reason in RETIRED.items())]
    return "\n".join(parts)


def _rule(rule: Rule) -> str:
    kinds = ", ".join(f"`{kind}` ({LEVEL_OF_KIND[kind].name.lower()})" for kind in Kind if kind in rule.kinds)
    return (
        f"## {rule.id}: {rule.title}\n\n"
        f"- Judges: {kinds}\n"
        f"- Restriction that reaches to traces: **{rule.trace.words}**; on the ingredient alone: "
        f"**{rule.ingredient.words}**\n"
        f"- Says: {rule.reason}\n"
        f"- Why: {rule.why}\n"
        f"- Source ({rule.verified}): {rule.source}\n"
        f"- Fires on: `{rule.fires.evidence.kind}` evidence; must not fire on: `{rule.quiet.evidence.kind}` evidence\n"
    )


def substances_page() -> str:
    """Return the catalogue of substances, and the groups that each jurisdiction's law makes a label name, and when."""
    catalogue = Catalogue.load()
    rows = [
        (
            f"`{substance.code}`",
            substance.name,
            ", ".join(f"`{code}`" for code in substance.member_of),
            ", ".join(f"`{code}`" for code in substance.may_carry),
            substance.source,
            substance.verified,
        )
        for substance in catalogue
    ]
    groups = [
        (
            group.jurisdiction,
            group.name,
            ", ".join(f"`{code}`" for code in group.substances),
            group.effective_from.isoformat(),
            group.effective_to.isoformat() if group.effective_to else "",
            f"{group.instrument}; {group.source}",
            group.verified,
        )
        for group in load_groups()
    ]
    return "\n".join(
        [
            GENERATED,
            "# Substances\n",
            "Everything that a restriction can name. A member counts as its group; a group named without the member "
            "leaves the member possible.\n",
            table(("Code", "Name", "Member of", "May carry", "Source", "Seen"), rows),
            "\n## Groups that the law makes a label name\n",
            table(("Jurisdiction", "Group", "Substances", "From", "To", "Source", "Seen"), groups),
        ]
    )


def cleaning_page() -> str:
    """Return the table of cleaning methods."""
    rows = [
        (f"`{code}`", method_names()[code], material, "yes" if removes else "no")
        for code, judged in methods().items()
        for material, removes in judged.items()
    ]
    return "\n".join(
        [
            GENERATED,
            "# Cleaning methods\n",
            "Whether a method removes allergens from a material. A pair that is not here removes nothing; a cleaning "
            "that nobody recorded did not happen. Sources stand in `menus/kitchen/data/cleaning_methods.csv`.\n",
            table(("Code", "Method", "Material", "Removes allergens"), rows),
        ]
    )
