"""Propose words of labels for the lexicon, review the proposals, and take back what was accepted."""

from __future__ import annotations

from collections.abc import Iterable

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from menus.labels.doubts import Doubt, doubts, is_one_phrase, stands_in, strange_words
from menus.labels.lexicon import Lexicon, Meaning, words_of
from menus.lexicon import lexicon_at
from menus.models import Label, Sense, Word, WordReview, WordWithdrawal
from menus.services.labels import TEXTS
from menus.signals import facts_changed
from menus.substances.catalogue import Catalogue


@transaction.atomic
def propose_word(
    *,
    label: Label,
    phrase: str,
    sense: str,
    substances: Iterable[str] = (),
    reason: str,
    looked_up: str,
    proposed_by: AbstractBaseUser,
) -> Word:
    """Put a word of the label on the list of licensed staff. It changes no reading.

    Raises ValidationError for a phrase that the label does not hold, that is no single phrase, that can be read
    already or waits already, and for a proposal that is not whole. `substances` are codes.
    """
    label = Label.objects.select_for_update().get(pk=label.pk)  # a form sent twice is one proposal
    phrase = " ".join(phrase.split())
    key = words_of(phrase)
    _refuse_no_phrase(phrase)
    if not any(stands_in(key, getattr(label, part)) for part in TEXTS):
        raise ValidationError(
            "“%(phrase)s” does not stand on this label. Give the words as they stand there.",
            code="word-not-there",
            params={"phrase": phrase},
        )
    _refuse_known(phrase, lexicon_at(timezone.now()))
    word = Word(
        label=label,
        phrase=phrase,
        key=" ".join(key),
        sense=sense,
        substances=_codes(sense, substances),
        reason=reason.strip(),
        looked_up=looked_up.strip(),
        proposed_by_id=proposed_by.pk,
    )
    _refuse_waiting(word)
    word.full_clean()
    word.save()
    return word


@transaction.atomic
def review_word(
    *,
    word: Word,
    accepted: bool,
    sense: str = "",
    substances: Iterable[str] = (),
    source: str = "",
    note: str = "",
    seen: Iterable[str] = (),
    reviewed_by: AbstractBaseUser,
    signature: str,
) -> WordReview:
    """Keep the signed answer to a proposal. An accepted word counts from this moment, and menus are checked again.

    `seen` are the keys of the doubts that the reviewer has seen and confirmed. The caller has made sure that
    `reviewed_by` is licensed. Raises ValidationError when the answer is not whole, when it was given already, when the
    word can be read by now, and when a doubt that the sense does not answer was not confirmed.
    """
    list(Word.objects.select_for_update().filter(key=word.key))  # of two proposals of one word one can be accepted
    word = Word.objects.get(pk=word.pk)
    _refuse_reviewed(word)
    review = WordReview(
        word=word, accepted=accepted, note=note.strip(), reviewed_by_id=reviewed_by.pk, signature=signature.strip()
    )
    if accepted:
        lexicon = lexicon_at(timezone.now())
        _refuse_known(word.phrase, lexicon)
        review.sense, review.source = sense, source.strip()
        review.substances = _codes(sense, substances)
        review.seen = _confirmed(doubts(word.phrase, lexicon), review, set(seen))
    _refuse_half(review)
    review.full_clean()
    review.save()
    if accepted:
        facts_changed.send(sender=WordReview, instance=review)
    return review


@transaction.atomic
def withdraw_word(*, word: Word, reason: str, withdrawn_by: AbstractBaseUser, signature: str) -> WordWithdrawal:
    """Take an acceptance back: from this moment the word is unread again, and menus are checked again.

    The caller has made sure that `withdrawn_by` is licensed. Raises ValidationError when the word does not count now,
    and without reason or signature.
    """
    review = WordReview.objects.select_for_update().filter(word=word, accepted=True).first()
    if review is None or review.end is not None:
        raise ValidationError(
            "%(word)s is not in the lexicon now, so it cannot be taken back. Reload the page to see what became of it.",
            code="word-not-accepted",
            params={"word": word},
        )
    withdrawal = WordWithdrawal(
        review=review, reason=reason.strip(), withdrawn_by_id=withdrawn_by.pk, signature=signature.strip()
    )
    withdrawal.full_clean()
    withdrawal.save()
    facts_changed.send(sender=WordWithdrawal, instance=withdrawal)
    return withdrawal


def _refuse_no_phrase(phrase: str) -> None:
    if not is_one_phrase(phrase):
        raise ValidationError(
            "Give one ingredient, in words alone: without commas or brackets, and without “contains” or “may contain”.",
            code="word-not-one",
        )


def _refuse_known(phrase: str, lexicon: Lexicon) -> None:
    if not strange_words(phrase, lexicon):
        raise ValidationError(
            "“%(phrase)s” can be read already, and what is known of it is not changed here. "
            "If it is read wrongly, tell whoever looks after the lexicon.",
            code="word-known",
            params={"phrase": phrase},
        )


def _refuse_waiting(word: Word) -> None:
    earlier = Word.objects.waiting().filter(key=word.key).select_related("proposed_by").first()
    if earlier:
        raise ValidationError(
            "%(word)s was proposed by %(who)s on %(day)s and waits for licensed staff.",
            code="word-waits",
            params={"word": word, "who": earlier.proposed_by, "day": f"{earlier.recorded_at:%Y-%m-%d}"},
        )


def _refuse_reviewed(word: Word) -> None:
    if word.outcome:
        raise ValidationError(
            "%(word)s was answered by %(who)s on %(day)s. Reload the page to see the answer.",
            code="word-reviewed",
            params={"word": word, "who": word.outcome.signature, "day": f"{word.outcome.recorded_at:%Y-%m-%d}"},
        )


def _refuse_half(review: WordReview) -> None:
    if review.accepted and not review.source:
        raise ValidationError(
            "Say what the meaning of the word rests on: a published source, or the maker's answer.", code="word-source"
        )
    if not review.accepted and not review.note:
        raise ValidationError("Say why it is declined: the kitchen reads it on the label's page.", code="word-note")
    if not review.signature:
        raise ValidationError("An answer is signed. Type your name and credential.", code="signature")


def _codes(sense: str, substances: Iterable[str]) -> str:
    codes = tuple(dict.fromkeys(substances))
    for code in codes:
        if code not in Catalogue.load():
            raise ValidationError(
                "“%(code)s” is no substance of the catalogue.", code="substance", params={"code": code}
            )
    if sense == Sense.NONE and codes:
        raise ValidationError(
            "An ordinary ingredient names no substance. Take the substances away, or say that it is made from them.",
            code="word-sense",
        )
    if sense != Sense.NONE and not codes:
        raise ValidationError(
            "Say which substances, or that it is an ordinary ingredient which names none.", code="word-sense"
        )
    return ";".join(codes)


def _confirmed(found: Iterable[Doubt], review: WordReview, seen: set[str]) -> list[str]:
    """The keys of the doubts that count against this answer; every one of them must have been confirmed."""
    held = [doubt for doubt in found if not doubt.is_answered(Meaning(review.sense), review.codes)]
    missed = [doubt for doubt in held if doubt.key not in seen]
    if missed:
        raise ValidationError(
            "Look again at %(words)s, and confirm that you did: it is, or comes near, a name that is known.",
            code="word-doubt",
            params={"words": ", ".join(f"“{doubt.word}” ({', '.join(doubt.names)})" for doubt in missed)},
        )
    return [doubt.key for doubt in held]
