"""Words proposed for the lexicon from a label, what licensed staff made of them, and what was taken back."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.conf import settings
from django.db import models
from django.db.models import Q

from menus.labels.lexicon import LOCAL, Entry, Meaning, words_of
from menus.models.facts import Fact
from menus.models.label import Label
from menus.models.product import Product
from menus.models.site import Site


class Sense(models.TextChoices):
    """What a word can be proposed and accepted as: some of the meanings of the lexicon, in a person's words."""

    NONE = Meaning.NONE.value, "An ordinary ingredient, which names no substance"
    NAMED = Meaning.NAMED.value, "A name of the substances below"
    DERIVED = Meaning.DERIVED.value, "Made from the substances below"
    MAY_DERIVE = Meaning.MAY_DERIVE.value, "May be made from the substances below"


SENSE_FITS = (Q(sense="") | Q(sense=Sense.NONE)) & Q(substances="") | (
    Q(sense__in=[Sense.NAMED, Sense.DERIVED, Sense.MAY_DERIVE]) & ~Q(substances="")
)
"""An ordinary ingredient names nothing, and every other sense is of something."""


class Meant(Fact):
    """A fact that says what a word means."""

    sense = models.CharField(max_length=10, choices=Sense.choices, blank=True)
    substances = models.CharField(max_length=400, blank=True, help_text="Codes, with semicolons between them.")

    class Meta:
        abstract = True

    @property
    def codes(self) -> tuple[str, ...]:
        """The substances, one by one."""
        return tuple(code for code in self.substances.split(";") if code)


class WordQuerySet(models.QuerySet["Word"]):
    """Proposed words by what became of them."""

    def waiting(self) -> WordQuerySet:
        """Those that nobody has reviewed."""
        return self.filter(review=None)

    def accepted(self) -> WordQuerySet:
        """Those that count now."""
        return self.filter(review__accepted=True, review__withdrawal=None)

    def of_phrase(self, phrase: str) -> WordQuerySet:
        """Those of this phrase, in whatever spelling."""
        return self.filter(key=" ".join(words_of(phrase)))

    def visible_at(self, sites: Iterable[Site]) -> WordQuerySet:
        """Those from a product that one of the sites may use. What is accepted counts everywhere, and shows there."""
        theirs = Q(label__product__in=Product.objects.used_at(sites))
        return self.filter(theirs | Q(review__accepted=True))


class Word(Meant):
    """A word or phrase of a label that the lexicon does not know. It counts for nothing until it is accepted."""

    label = models.ForeignKey(Label, on_delete=models.PROTECT, related_name="proposed_words")
    phrase = models.CharField(max_length=80, help_text="As it stands on the label.")
    key = models.CharField(max_length=200, db_index=True, help_text="The spelling under which it is looked up.")
    reason = models.TextField()
    looked_up = models.CharField(max_length=200, help_text="Where the proposer looked.")
    proposed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    objects = WordQuerySet.as_manager()

    class Meta:
        ordering = ["-recorded_at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=SENSE_FITS & ~Q(sense=""),
                name="word_sense_fits",
                violation_error_message="Say what the word is, and name substances unless it names none.",
            )
        ]

    def __str__(self) -> str:
        return f"“{self.phrase}”"

    @property
    def outcome(self) -> WordReview | None:
        """What licensed staff made of it; None while it waits."""
        return getattr(self, "review", None)

    @property
    def state(self) -> str:
        """ "waiting", "declined", "accepted" or "withdrawn"."""
        review = self.outcome
        if review is None:
            return "waiting"
        if not review.accepted:
            return "declined"
        return "withdrawn" if review.end else "accepted"


class WordReviewQuerySet(models.QuerySet["WordReview"]):
    """Reviews by time."""

    def standing(self, at: datetime) -> WordReviewQuerySet:
        """The acceptances that counted at that moment, in the order in which they were signed."""
        ended = WordWithdrawal.objects.filter(recorded_at__lte=at)
        accepted = self.filter(accepted=True, recorded_at__lte=at).exclude(pk__in=ended.values("review"))
        return accepted.select_related("word").order_by("pk")


class WordReview(Meant):
    """Licensed staff's signed answer to one proposal. An acceptance counts from the moment it is recorded."""

    word = models.OneToOneField(Word, on_delete=models.PROTECT, related_name="review")
    accepted = models.BooleanField()
    source = models.CharField(max_length=200, blank=True, help_text="What the meaning of the word rests on.")
    note = models.TextField(blank=True)
    seen = models.JSONField(default=list, blank=True, help_text="The doubts that the reviewer has seen and confirmed.")
    reviewed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    signature = models.CharField(max_length=120, help_text="Name and credential, as signed.")

    objects = WordReviewQuerySet.as_manager()

    class Meta:
        ordering = ["-recorded_at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=SENSE_FITS
                & ((Q(accepted=True) & ~Q(sense="") & ~Q(source="")) | (Q(accepted=False, sense="") & ~Q(note=""))),
                name="word_review_whole",
                violation_error_message="A word is accepted with a sense and a source, and declined with a note.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.word}: {'accepted' if self.accepted else 'declined'}"

    @property
    def end(self) -> WordWithdrawal | None:
        """How the acceptance ended; None while it stands."""
        return getattr(self, "withdrawal", None)

    @property
    def entry(self) -> Entry:
        """The accepted word as a row of the lexicon."""
        return Entry(
            phrase=self.word.phrase,
            substances=self.codes,
            meaning=Meaning(self.sense),
            jurisdictions=frozenset(),
            effective_from=None,
            effective_to=None,
            source=f"{self.source}; accepted by {self.signature}, {self.recorded_at:%Y-%m-%d}",
            verified=LOCAL,
            note=self.note,
        )


class WordWithdrawal(Fact):
    """The end of an acceptance: from this moment the word is unread again."""

    review = models.OneToOneField(WordReview, on_delete=models.PROTECT, related_name="withdrawal")
    reason = models.TextField()
    withdrawn_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    signature = models.CharField(max_length=120, help_text="Name and credential, as signed.")

    class Meta:
        ordering = ["-recorded_at", "-id"]

    def __str__(self) -> str:
        return f"{self.review.word}: withdrawn"
