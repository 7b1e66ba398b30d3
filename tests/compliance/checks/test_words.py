"""Accepted words as facts of a run: they count from their moment, are named among what it read, and are told of."""

from __future__ import annotations

import pytest
from django.db import connection
from django.utils import timezone

from compliance.checks.changes import check_changes
from compliance.checks.exceptions import ExceptionFilter, find_exceptions
from compliance.checks.food import reading
from compliance.checks.recheck import sites_touched
from compliance.checks.run import check_site, recompute
from compliance.checks.treatfood import Said, check_said
from compliance.checks.unreadsites import unread_changes
from compliance.checks.words import labels_holding, newest_proposals
from compliance.models import Run, UnreadChange
from compliance.tasks import recheck
from menus.lexicon import lexicon_at
from menus.models import Label, Sense, Word, WordReview
from menus.services.labels import record_label
from menus.services.words import propose_word, review_word, withdraw_word
from tests.cast import Cast
from tests.factories import LabelFactory, WordFactory, WordReviewFactory, WordWithdrawalFactory, labelled

pytestmark = pytest.mark.django_db


@pytest.fixture
def label(cast: Cast) -> Label:
    """The rice of Ferrowick's lunch with a word that nobody knows."""
    return record_label(product=cast.larder.rice, ingredients="rice, zorbalex", seen_on=timezone.localdate())


def propose(cast: Cast, label: Label, sense: Sense = Sense.NONE, *substances: str) -> Word:
    """Greta says what it is."""
    said = {"reason": "a plant gum", "looked_up": "the maker's letter", "proposed_by": cast.greta}
    return propose_word(label=label, phrase="zorbalex", sense=sense, substances=substances, **said)


def accept(cast: Cast, word: Word) -> WordReview:
    """Hakim signs it."""
    return review_word(
        word=word,
        accepted=True,
        sense=word.sense,
        substances=word.codes,
        source="the maker's letter",
        reviewed_by=cast.hakim,
        signature="H. Example, RN",
    )


def check(cast: Cast) -> Run:
    """Check Ferrowick now."""
    return check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)


def outcomes(cast: Cast) -> dict[str, str]:
    """What the dish with the rice means for each child that it means something for."""
    day = timezone.now().date()
    rows = find_exceptions(None, ExceptionFilter(day, day, site=cast.ferrowick))
    return {row.child.given_name: row.outcome.code for row in rows if row.dish == "Ham and rice"}


ALL_REFERRED = {"Noor", "Mateo", "Anneke", "Ifeoma", "Kofi"}
"""Whom an unread word in the rice concerns, beside those for whom the ham is withheld."""


def referred(cast: Cast) -> set[str]:
    return {child for child, outcome in outcomes(cast).items() if outcome == "refer"}


def test_a_word_that_waits_or_was_declined_changes_no_outcome(cast: Cast, label: Label) -> None:
    """The children are referred as if nobody had said anything, and the run says the same to the letter."""
    before = check(cast)
    assert referred(cast) == ALL_REFERRED
    word = propose(cast, label)
    assert check(cast).same_as == before
    review_word(word=word, accepted=False, note="no source", reviewed_by=cast.hakim, signature="H. Example, RN")
    assert check(cast).same_as == before
    assert referred(cast) == ALL_REFERRED


def test_an_accepted_word_counts_and_one_taken_back_does_not(cast: Cast, label: Label) -> None:
    """An ordinary ingredient asks nobody any more, until it is taken back."""
    check(cast)
    word = propose(cast, label)
    accept(cast, word)
    check(cast)
    assert referred(cast) == set()
    withdraw_word(word=word, reason="another maker", withdrawn_by=cast.hakim, signature="H. Example, RN")
    check(cast)
    assert referred(cast) == ALL_REFERRED


def test_a_word_made_from_milk_is_withheld_from_anneke_with_its_source(cast: Cast, label: Label) -> None:
    """The reason names who accepted the word."""
    accept(cast, propose(cast, label, Sense.DERIVED, "milk"))
    check(cast)
    assert outcomes(cast)["Anneke"] == "withhold"
    day = timezone.now().date()
    rows = find_exceptions(None, ExceptionFilter(day, day, site=cast.ferrowick))
    (row,) = [each for each in rows if (each.child, each.dish) == (cast.anneke, "Ham and rice")]
    assert row.main_reason.verified == "local"
    assert "accepted by H. Example, RN" in row.main_reason.source


def test_a_run_names_the_words_it_read_and_is_recomputed_to_the_same(cast: Cast, label: Label) -> None:
    """Months later, whatever was accepted or taken back since."""
    without = check(cast)
    word = propose(cast, label)
    review = accept(cast, word)
    with_word = check(cast)
    assert (without.food.words, with_word.food.words) == ([], [review.pk])
    assert with_word.result_hash != without.result_hash
    withdraw_word(word=word, reason="another maker", withdrawn_by=cast.hakim, signature="H. Example, RN")
    assert recompute(without) == without.result_hash
    assert recompute(with_word) == with_word.result_hash


def test_a_run_as_of_a_moment_reads_the_words_of_that_moment(cast: Cast, label: Label) -> None:
    """What was accepted afterwards was not known then."""
    moment = timezone.now()
    accept(cast, propose(cast, label))
    run = check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND, as_of=moment)
    assert run.food.words == []
    assert referred(cast) == ALL_REFERRED


def test_a_treat_is_judged_with_the_words_accepted_by_now(cast: Cast) -> None:
    """In a classroom as in the kitchen."""

    def ask() -> dict[str, list[dict[str, str]]]:
        said = Said(text="sugar, zorbalex", name="Sweets")
        return check_said(user=cast.rosa, classroom=cast.larks, served_at=timezone.now(), said=said).result

    assert ask()["refer"]
    accept(cast, propose(cast, Label.objects.latest("pk"), Sense.DERIVED, "milk"))
    assert {row["child"].split()[0] for row in ask()["withhold"]} == {"Anneke"}
    assert not ask()["refer"]


class TestRecheck:
    """Sites are checked again when a word begins or ceases to count."""

    @pytest.fixture
    def sent(self, cast: Cast, label: Label, monkeypatch: pytest.MonkeyPatch) -> list[object]:
        """Messages put on the queue."""
        connection.run_on_commit.clear()  # what the cast's own facts left waiting
        UnreadChange.objects.all().delete()
        messages: list[object] = []
        monkeypatch.setattr(recheck, "delay", lambda: messages.append("recheck"))
        return messages

    def test_an_acceptance_has_the_sites_checked_whose_labels_it_changes(
        self, cast: Cast, label: Label, sent: list[object], django_capture_on_commit_callbacks
    ) -> None:
        """And so has its end; a proposal has none."""
        for site in (cast.ferrowick, cast.tansy_gate):
            check_site(site=site, trigger=Run.Trigger.HAND)
        with django_capture_on_commit_callbacks(execute=True):
            word = propose(cast, label)
        assert sent == [] and not UnreadChange.objects.exists()
        with django_capture_on_commit_callbacks(execute=True):
            accept(cast, word)
        assert [note.is_of_lexicon for note in UnreadChange.objects.all()] == [True]
        assert [run.site for run in check_changes().runs] == [cast.ferrowick]
        connection.run_on_commit.clear()  # a test's transaction never ends, and what was sent counts as waiting
        with django_capture_on_commit_callbacks(execute=True):
            withdraw_word(word=word, reason="r", withdrawn_by=cast.hakim, signature="s")
        assert [run.site for run in check_changes().runs] == [cast.ferrowick]
        assert sent == ["recheck"] * 2

    def test_a_refusal_sends_nothing(
        self, cast: Cast, label: Label, sent: list[object], django_capture_on_commit_callbacks
    ) -> None:
        """Nothing is read otherwise than before."""
        with django_capture_on_commit_callbacks(execute=True):
            review_word(word=propose(cast, label), accepted=False, note="n", reviewed_by=cast.hakim, signature="s")
        assert sent == []

    def test_a_message_that_never_arrived_is_found(self, cast: Cast, label: Label) -> None:
        """By what the last check read, and no longer once the site has been checked."""
        check(cast)
        word = propose(cast, label)
        assert not unread_changes(cast.ferrowick)
        accept(cast, word)
        assert unread_changes(cast.ferrowick)
        check(cast)
        assert not unread_changes(cast.ferrowick)
        withdraw_word(word=word, reason="r", withdrawn_by=cast.hakim, signature="s")
        assert unread_changes(cast.ferrowick)

    def test_both_bear_on_the_sites_whose_labels_they_change(self, cast: Cast, label: Label) -> None:
        """Acceptance and end alike; of a word that stands on no label, none."""
        word = propose(cast, label)
        accept(cast, word)
        assert list(sites_touched(word.review)) == [cast.ferrowick]
        gone = withdraw_word(word=word, reason="r", withdrawn_by=cast.hakim, signature="s")
        assert list(sites_touched(gone)) == [cast.ferrowick]
        assert not sites_touched(WordWithdrawalFactory(review__word__phrase="Quibbleroot"))


def test_the_newest_proposal_of_each_word_is_found(cast: Cast, label: Label) -> None:
    """By the spelling under which it is looked up."""
    old = WordFactory(label=label)
    WordReviewFactory(word=old, accepted=False, sense="", source="", note="n")
    new = WordFactory(label=LabelFactory(ingredients="Zorbalexes"), phrase="Zorbalexes")
    unread = reading(label, lexicon=lexicon_at(timezone.now())).unread
    assert newest_proposals(unread) == {"zorbalex": new}
    assert newest_proposals(()) == {}


def test_labels_are_counted_by_their_newest_version(cast: Cast, label: Label) -> None:
    """In every part, whatever the spelling; a longer word is another."""
    word = WordFactory(label=label)
    labelled("salt", label={"precautionary": "May contain ZORBALEXES"})
    labelled("zorbalexian")
    assert labels_holding([word], timezone.now()) == {"zorbalex": 2}
    record_label(product=label.product, ingredients="rice", seen_on=timezone.localdate())
    assert labels_holding([word], timezone.now()) == {"zorbalex": 1}
    assert labels_holding([], timezone.now()) == {}
