"""Words proposed for the lexicon, reviewed, and taken back."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from menus.labels.doubts import doubts
from menus.labels.label import LabelText
from menus.labels.lexicon import LOCAL, Lexicon
from menus.labels.reader import read
from menus.lexicon import lexicon_at
from menus.models import Label, Sense, Word, WordReview, WordWithdrawal
from menus.models.facts import FactChanged
from menus.services.words import propose_word, review_word, withdraw_word
from menus.signals import facts_changed
from roster.models import User
from tests.factories import UserFactory, labelled

pytestmark = pytest.mark.django_db

TEXT = "rice, zorbalex gum, almods, salt"


@pytest.fixture
def label() -> Label:
    """A label with two words that nobody knows, one of them a slip away from a nut."""
    return labelled(TEXT).labels.get()


@pytest.fixture
def greta() -> User:
    return UserFactory.create()


@pytest.fixture
def hakim() -> User:
    return UserFactory.create()


@pytest.fixture
def changed() -> Any:
    """What was said to have changed."""
    heard: list[object] = []

    def hear(instance: object, **_: Any) -> None:
        heard.append(instance)

    facts_changed.connect(hear)
    yield heard
    facts_changed.disconnect(hear)


def propose(label: Label, by: User, **said: Any) -> Word:
    """Greta says that it is an ordinary gum."""
    told = {"phrase": "zorbalex", "sense": Sense.NONE, "reason": "a plant gum", "looked_up": "maker's letter", **said}
    return propose_word(label=label, proposed_by=by, **told)


def accept(word: Word, by: User, **said: Any) -> WordReview:
    """Hakim accepts the proposal as it stands."""
    told = {"sense": word.sense, "substances": word.codes, "source": "maker's letter", **said}
    return review_word(word=word, accepted=True, reviewed_by=by, signature="H. Example, RN", **told)


def decline(word: Word, by: User, **said: Any) -> WordReview:
    """Hakim finds no source."""
    told = {"note": "no source found", "signature": "H. Example, RN", **said}
    return review_word(word=word, accepted=False, reviewed_by=by, **told)


def unread() -> list[str]:
    """The words of the label that nobody knows now."""
    return [span.words for span in read(LabelText(TEXT), lexicon_at(timezone.now())).unread]


class TestProposals:
    """Anybody of the site may say what a word is; it changes nothing yet."""

    def test_a_proposal_waits_and_changes_no_reading(self, label: Label, greta: User, changed: list[object]) -> None:
        """The word stays unread, and nothing is checked again."""
        word = propose(label, greta)
        assert (word.state, word.key, word.proposed_by) == ("waiting", "zorbalex", greta)
        assert "zorbalex" in unread()
        assert lexicon_at(timezone.now()) is Lexicon.load()
        assert changed == []

    def test_a_phrase_is_kept_as_written_and_found_as_it_is_looked_up(self, label: Label, greta: User) -> None:
        """The plural is the same word."""
        word = propose(label, greta, phrase=" Zorbalex  gums ", sense=Sense.DERIVED, substances=["soy", "milk", "soy"])
        assert (word.phrase, word.key, word.codes) == ("Zorbalex gums", "zorbalex gum", ("soy", "milk"))

    @pytest.mark.parametrize(
        ("said", "told"),
        [
            ({"phrase": "zorbalex, almods"}, "without commas or brackets"),
            ({"phrase": "may contain zorbalex"}, "without “contains” or “may contain”"),
            ({"phrase": ""}, "Give one ingredient"),
            ({"phrase": "yumbolex"}, "“yumbolex” does not stand on this label"),
            ({"phrase": "rice"}, "“rice” can be read already"),
            ({"phrase": "gum"}, "“gum” can be read already"),
            ({"sense": Sense.NONE, "substances": ["milk"]}, "names no substance. Take the substances away"),
            ({"sense": Sense.DERIVED}, "Say which substances"),
            ({"sense": Sense.NAMED, "substances": ["unobtainium"]}, "“unobtainium” is no substance of the catalogue"),
            ({"sense": "claim", "substances": ["milk"]}, "not a valid choice"),
            ({"reason": " "}, "cannot be blank"),
            ({"looked_up": ""}, "cannot be blank"),
        ],
    )
    def test_what_is_no_proposal_is_refused_and_nothing_is_kept(
        self, label: Label, greta: User, said: dict[str, Any], told: str
    ) -> None:
        """With a sentence that says how to mend it."""
        with pytest.raises(ValidationError, match=told):
            propose(label, greta, **said)
        assert not Word.objects.exists()

    def test_one_word_waits_once(self, label: Label, greta: User) -> None:
        """The second is told who was first, from another label and in another spelling too."""
        propose(label, greta)
        other = labelled("ZORBALEXES").labels.get()
        with pytest.raises(ValidationError, match=r"was proposed by .* and waits"):
            propose(other, greta, phrase="ZORBALEXES")

    def test_a_declined_word_may_be_proposed_again(self, label: Label, greta: User, hakim: User) -> None:
        """With what was missing."""
        decline(propose(label, greta), hakim)
        assert propose(label, greta).state == "waiting"


class TestReview:
    """Licensed staff's signed answer."""

    def test_an_accepted_word_counts_from_that_moment(
        self, label: Label, greta: User, hakim: User, changed: list[object]
    ) -> None:
        """Not before: a run as of an earlier moment does not read it."""
        word = propose(label, greta)
        before = timezone.now()
        review = accept(word, hakim)
        assert word.phrase not in unread()
        assert lexicon_at(before) is Lexicon.load()
        assert changed == [review]

    def test_it_says_who_accepted_it_on_what_source(self, label: Label, greta: User, hakim: User) -> None:
        """The mark is neither `read` nor `memory`."""
        accept(propose(label, greta, sense=Sense.DERIVED, substances=["milk"]), hakim, source="Codex CXS 192")
        (piece,) = read(LabelText("zorbalex"), lexicon_at(timezone.now())).evidence
        today = f"{timezone.now():%Y-%m-%d}"
        assert (piece.substance, piece.verified) == ("milk", LOCAL)
        assert piece.source == f"Codex CXS 192; accepted by H. Example, RN, {today}"

    def test_it_may_be_accepted_as_something_else(self, label: Label, greta: User, hakim: User) -> None:
        """What the reviewer signs counts, not what was proposed."""
        accept(propose(label, greta), hakim, sense=Sense.NAMED, substances=["tree-nut.cashew"])
        assert {piece.substance for piece in read(LabelText("zorbalex"), lexicon_at(timezone.now())).evidence} == {
            "tree-nut.cashew"
        }

    def test_a_declined_word_changes_nothing(
        self, label: Label, greta: User, hakim: User, changed: list[object]
    ) -> None:
        """It stays unread, and no menu is checked again."""
        review = decline(propose(label, greta), hakim)
        assert "zorbalex" in unread()
        assert (review.sense, review.substances, review.source) == ("", "", "")
        assert changed == []

    def test_the_same_set_of_words_is_the_same_lexicon(self, label: Label, greta: User, hakim: User) -> None:
        """So that labels are not read again each time."""
        accept(propose(label, greta), hakim)
        assert lexicon_at(timezone.now()) is lexicon_at(timezone.now())

    @pytest.mark.parametrize(
        ("said", "told"),
        [
            ({"source": " "}, "Say what the meaning of the word rests on"),
            ({"signature": " "}, "An answer is signed"),
            ({"sense": ""}, "Say which substances"),
            ({"sense": Sense.MAY_DERIVE}, "Say which substances"),
            ({"substances": ["unobtainium"]}, "no substance of the catalogue"),
        ],
    )
    def test_half_an_answer_is_refused(
        self, label: Label, greta: User, hakim: User, said: dict[str, Any], told: str
    ) -> None:
        """And the word goes on waiting."""
        word = propose(label, greta)
        whole = {"sense": Sense.NONE, "source": "maker's letter", "signature": "H. Example, RN", **said}
        with pytest.raises(ValidationError, match=told):
            review_word(word=word, accepted=True, reviewed_by=hakim, **whole)
        assert Word.objects.get().state == "waiting"

    def test_a_word_is_not_declined_without_a_reason(self, label: Label, greta: User, hakim: User) -> None:
        """The kitchen learns why."""
        with pytest.raises(ValidationError, match="Say why it is declined"):
            decline(propose(label, greta), hakim, note="")

    @pytest.mark.parametrize("first", [accept, decline])
    def test_an_answer_stands(self, label: Label, greta: User, hakim: User, first: Any) -> None:
        """The second reviewer is told who was first."""
        word = propose(label, greta)
        first(word, hakim)
        with pytest.raises(ValidationError, match=r"was answered by H\. Example, RN on"):
            accept(word, hakim)

    def test_what_can_be_read_by_now_is_not_accepted_once_more(self, label: Label, greta: User, hakim: User) -> None:
        """Two proposals may have crossed: one meaning a word."""
        first, second = propose(label, greta), Word(label=label, phrase="zorbalex", key="zorbalex", sense=Sense.NAMED)
        second.substances, second.reason, second.looked_up, second.proposed_by = "milk", "r", "l", greta
        second.save()
        accept(first, hakim)
        with pytest.raises(ValidationError, match="can be read already"):
            accept(second, hakim)

    def test_facts_are_written_once(self, label: Label, greta: User, hakim: User) -> None:
        """Proposal, review and withdrawal alike."""
        word = propose(label, greta)
        review = accept(word, hakim)
        gone = withdraw_word(word=word, reason="wrong", withdrawn_by=hakim, signature="H. Example, RN")
        for fact in (word, review, gone):
            with pytest.raises(FactChanged):
                fact.save()
            with pytest.raises(FactChanged):
                fact.delete()

    @pytest.mark.parametrize(
        "wrong",
        [
            {"accepted": True, "sense": "none", "source": ""},
            {"accepted": True, "sense": "", "source": "s"},
            {"accepted": True, "sense": "named", "source": "s"},
            {"accepted": True, "sense": "none", "substances": "milk", "source": "s"},
            {"accepted": False, "note": ""},
            {"accepted": False, "note": "n", "sense": "none"},
        ],
    )
    def test_the_database_keeps_no_half_answer(
        self, label: Label, greta: User, hakim: User, wrong: dict[str, Any]
    ) -> None:
        """Whatever wrote it."""
        word = propose(label, greta)
        with pytest.raises(IntegrityError), transaction.atomic():
            WordReview(word=word, reviewed_by=hakim, signature="s", **wrong).save()


class TestDoubts:
    """The dangerous direction: a word that comes near a name, or holds one, taken for harmless."""

    def test_a_slip_of_a_name_is_not_harmless_unseen(self, label: Label, greta: User, hakim: User) -> None:
        """It is accepted once the reviewer has confirmed that it is something else, and that is kept."""
        word = propose(label, greta, phrase="almods")
        with pytest.raises(ValidationError, match=r"Look again at “almods” \(almond\)"):
            accept(word, hakim)
        with pytest.raises(ValidationError, match="Look again"):
            accept(word, hakim, seen=["something else"])
        (doubt,) = doubts("almods", Lexicon.load())
        assert accept(word, hakim, seen=[doubt.key]).seen == [doubt.key]
        assert "almods" not in unread()

    def test_a_known_word_in_the_phrase_is_not_silenced_unseen(self, greta: User, hakim: User) -> None:
        """ "Zorbalex milk" as an ordinary ingredient would hide the milk."""
        word = propose(labelled("zorbalex milk").labels.get(), greta, phrase="zorbalex milk")
        with pytest.raises(ValidationError, match=r"Look again at “milk” \(milk\)"):
            accept(word, hakim)
        with pytest.raises(ValidationError, match=r"Look again at “milk” \(milk\)"):
            accept(word, hakim, sense=Sense.NAMED, substances=["soy"])
        with pytest.raises(ValidationError, match=r"Look again at “milk” \(milk\)"):
            accept(word, hakim, sense=Sense.MAY_DERIVE, substances=["milk"])
        assert accept(word, hakim, sense=Sense.DERIVED, substances=["milk", "soy"]).seen == []

    def test_a_word_accepted_before_raises_doubts_too(self, greta: User, hakim: User) -> None:
        """Not only what ships."""
        label = labelled("zorbalex, zorbalax").labels.get()
        accept(propose(label, greta, sense=Sense.NAMED, substances=["egg"]), hakim)
        with pytest.raises(ValidationError, match=r"Look again at “zorbalax” \(zorbalex\)"):
            accept(propose(label, greta, phrase="zorbalax"), hakim)

    @pytest.mark.parametrize("phrase", ["milk", "wheatflour", "peanut sugar"])
    def test_a_known_word_cannot_even_be_proposed(self, greta: User, phrase: str) -> None:
        """Nor one that is read as the words it is made of."""
        with pytest.raises(ValidationError, match="can be read already"):
            propose(labelled(f"{phrase}, zorbalex").labels.get(), greta, phrase=phrase)


class TestWithdrawal:
    """Taken back, the word is unread again."""

    def test_from_that_moment_on(self, label: Label, greta: User, hakim: User, changed: list[object]) -> None:
        """What was read between counts as it was then."""
        word = propose(label, greta)
        accept(word, hakim)
        between = timezone.now()
        gone = withdraw_word(word=word, reason="the maker changed it", withdrawn_by=hakim, signature="H. Example, RN")
        assert "zorbalex" in unread()
        assert lexicon_at(between).terms.keys() - Lexicon.load().terms.keys() == {("zorbalex",)}
        assert changed[-1] == gone
        assert Word.objects.get().state == "withdrawn"

    def test_it_may_be_proposed_and_accepted_again(self, label: Label, greta: User, hakim: User) -> None:
        """A word taken back is like any other that nobody knows."""
        word = propose(label, greta)
        accept(word, hakim)
        withdraw_word(word=word, reason="wrong source", withdrawn_by=hakim, signature="H. Example, RN")
        accept(propose(label, greta), hakim)
        assert "zorbalex" not in unread()

    @pytest.mark.parametrize("said", [{"reason": " "}, {"signature": ""}])
    def test_with_reason_and_signature_only(self, label: Label, greta: User, hakim: User, said: dict[str, str]) -> None:
        """And nothing is kept without."""
        word = propose(label, greta)
        accept(word, hakim)
        with pytest.raises(ValidationError, match="cannot be blank"):
            withdraw_word(word=word, withdrawn_by=hakim, **{"reason": "r", "signature": "s", **said})
        assert not WordWithdrawal.objects.exists()

    def test_only_what_counts_is_taken_back(self, label: Label, greta: User, hakim: User) -> None:
        """Not what waits, what was declined, what is gone already."""
        word = propose(label, greta)
        end: dict[str, Any] = {"reason": "r", "withdrawn_by": hakim, "signature": "s"}
        with pytest.raises(ValidationError, match="is not in the lexicon now"):
            withdraw_word(word=word, **end)
        accept(word, hakim)
        withdraw_word(word=word, **end)
        with pytest.raises(ValidationError, match="is not in the lexicon now"):
            withdraw_word(word=word, **end)


def test_what_stood_at_a_moment_is_found_months_later(label: Label, greta: User, hakim: User) -> None:
    """By the time of recording alone."""
    review = accept(propose(label, greta), hakim)
    standing = WordReview.objects.standing
    assert list(standing(review.recorded_at)) == [review]
    assert list(standing(review.recorded_at - timedelta(microseconds=1))) == []
