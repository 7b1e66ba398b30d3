"""Translate stored facts about food into the engine's values. The only place that does."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from functools import lru_cache

from django.conf import settings

from menus.kitchen.recipes import Pieces, RecipeFacts
from menus.labels.cues import Voice
from menus.labels.evidence import ANY, Evidence, Kind, Part, Step, lifted
from menus.labels.label import LabelText
from menus.labels.lexicon import Lexicon
from menus.labels.reader import Reading, read
from menus.models import Label, Product, RecipeLine, RecipeVersion, Site


def label_text(label: Label, *, home_made: bool = False, site: Site | None = None) -> LabelText:
    """Return the stored label as the reader takes it, under the law of the product or else of the site."""
    product = label.product
    return LabelText(
        ingredients=label.ingredients,
        contains=label.contains,
        precautionary=label.precautionary,
        claims=label.claims,
        supplied=label.supplied,
        jurisdiction=product.jurisdiction or (site.jurisdiction if site else "us"),
        regulator="none" if home_made else product.regulator,
        seen_on=label.seen_on,
    )


@lru_cache(maxsize=4096)
def _read(text: LabelText, lexicon: Lexicon) -> Reading:
    # Reading is pure and labels never change, so each text is read once a process until a word is accepted.
    return read(text, lexicon)


@lru_cache(maxsize=4096)
def _lists_food(text: LabelText, lexicon: Lexicon) -> bool:
    """Tell whether a list of ingredients is there, known or not: a lone “Contains: milk” says nothing of all else."""
    read = _read(text, lexicon)
    return any(span.part is not Part.SUPPLIED for span in read.unread) or any(
        item.voice is Voice.INGREDIENT and any(not (each.term.is_filler or each.denied) for each in item.phrases)
        for parsed in read.parsed()
        for item in parsed.items
    )


def reading(label: Label, *, lexicon: Lexicon, home_made: bool = False, site: Site | None = None) -> Reading:
    """Read the stored label by the lexicon of some moment (`menus.lexicon`)."""
    return _read(label_text(label, home_made=home_made, site=site), lexicon)


def label_evidence(
    label: Label, *, on: date, lexicon: Lexicon, home_made: bool = False, site: Site | None = None
) -> Pieces:
    """Return what the label says, and what speaks against trusting it: that it lists no ingredient (“see package”),
    that it was last read too long before that day, that the food is home-made, as said now or of the product before.
    """
    step = Step("label", str(label.pk), f"{label.product.name} (label of {label.seen_on:%Y-%m-%d})")
    text = label_text(label, home_made=home_made, site=site)
    pieces = list(lifted(_read(text, lexicon).evidence, step))
    if not _lists_food(text, lexicon):
        pieces.append(Evidence(ANY, Kind.NO_LABEL, path=(step,)))
    if home_made or label.product.is_home_made:
        pieces.append(Evidence(ANY, Kind.HOME_MADE, path=(step,)))
    if is_stale(label, on):
        pieces.append(Evidence(ANY, Kind.STALE_LABEL, path=(step,)))
    return tuple(dict.fromkeys(pieces))  # the reader itself says so of a label without any list


def is_stale(label: Label, on: date) -> bool:
    """Tell whether the package was last read more than LABEL_MAX_AGE_DAYS before the day."""
    return label.seen_on < on - timedelta(days=settings.LABEL_MAX_AGE_DAYS)


def product_evidence(product: Product, *, on: date, lexicon: Lexicon, site: Site | None = None) -> Pieces:
    """Return the evidence of a product loaded by `ProductQuerySet.with_label`."""
    step = Step("product", str(product.pk), product.name)
    if not product.current_labels:
        return (Evidence(ANY, Kind.NO_LABEL, path=(step,)),)
    return tuple(lifted(label_evidence(product.current_labels[0], on=on, lexicon=lexicon, site=site), step))


def recipe_facts(at: datetime, versions: Iterable[int] | None = None) -> dict[int, RecipeFacts]:
    """Return every recipe by id as it stood at that moment, or in the given versions. Two queries."""
    wanted = RecipeVersion.objects.current(at) if versions is None else RecipeVersion.objects.filter(pk__in=versions)
    rows = list(wanted.select_related("recipe"))
    lines: dict[int, list[RecipeLine]] = {}
    for line in RecipeLine.objects.filter(version__in=[row.pk for row in rows]).order_by("version", "position"):
        lines.setdefault(line.version_id, []).append(line)
    return {
        row.recipe_id: RecipeFacts(
            version=row.pk,
            name=row.recipe.name,
            products=tuple(line.product_id for line in lines.get(row.pk, []) if line.product_id),
            recipes=tuple(line.sub_recipe_id for line in lines.get(row.pk, []) if line.sub_recipe_id),
        )
        for row in rows
    }
