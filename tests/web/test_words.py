"""Words proposed for the lexicon from a label's page, and licensed staff's answers."""

from __future__ import annotations

from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone

from menus.labels.doubts import doubts
from menus.labels.lexicon import Lexicon
from menus.models import Label, Word, WordReview
from tests.cast import Cast
from tests.factories import PASSWORD, WordFactory, WordReviewFactory, WordWithdrawalFactory, cooked, labelled
from tests.web.pages import as_user, queries, soup, words

pytestmark = pytest.mark.django_db

PROPOSAL = {"phrase": "zorbalex", "sense": "none", "reason": "A plant gum.", "looked_up": "The maker's letter"}
SIGNED = {"signature": "H. Example, RN", "password": PASSWORD}
ANSWER = {"answer": "accept", "sense": "none", "source": "The maker's letter", **SIGNED}


@pytest.fixture
def label(cast: Cast) -> Label:
    """The label of a snack that a dish at Ferrowick is made of, with one word that nobody knows."""
    snack = labelled("rice, zorbalex, salt", name="Odd snack")
    cooked("Bowl", snack)
    return snack.labels.get()


def propose(cast: Cast, label: Label, **typed: Any) -> HttpResponse:
    """Greta fills in the form."""
    return as_user(cast.greta).post(reverse("word-new", args=[label.pk]), {**PROPOSAL, **typed}, follow=True)


def answer(cast: Cast, word: Word, **typed: Any) -> HttpResponse:
    """Hakim fills in the form."""
    return as_user(cast.hakim).post(reverse("word-review", args=[word.pk]), {**ANSWER, **typed}, follow=True)


class TestProposing:
    """From the unread word to the list of licensed staff."""

    @pytest.mark.parametrize("page", ["label-work", "label", "label-how"])
    def test_the_unread_word_leads_to_the_form_with_the_word_in_it(self, cast: Cast, label: Label, page: str) -> None:
        """One tap from wherever it is shown."""
        greta = as_user(cast.greta)
        shown = soup(greta.get(reverse(page, args=[] if page == "label-work" else [label.pk])))
        address = reverse("word-new", args=[label.pk])
        (link,) = [each["href"] for each in shown.select("main a") if each["href"].startswith(address)]
        assert parse_qs(urlsplit(link).query) == {"word": ["zorbalex"]}
        form = soup(greta.get(link))
        assert form.find(id="id_phrase")["value"] == "zorbalex"
        assert [mark.get_text() for mark in form.select("mark")] == ["zorbalex"]

    def test_a_proposal_is_kept_and_said_to_change_nothing_yet(self, cast: Cast, label: Label) -> None:
        """The label's page says who said what it is, and offers it to nobody else."""
        page = propose(cast, label)
        assert "waits for licensed staff. Until they have answered, it stays unread" in words(page)
        assert "it waits for licensed staff" in words(page)
        assert not soup(page).select(".propose")
        assert Word.objects.get().proposed_by == cast.greta

    def test_substances_are_ticked_or_named(self, cast: Cast, label: Label) -> None:
        """Both together, by any name of the catalogue."""
        propose(cast, label, sense="derived", groups=["milk", "soy"], others="Cashew, kiwi,")
        assert Word.objects.get().codes == ("milk", "soy", "tree-nut.cashew", "kiwi")

    @pytest.mark.parametrize(
        ("typed", "told"),
        [
            ({"phrase": "yumbolex"}, "“yumbolex” does not stand on this label"),
            ({"phrase": ""}, "Give the word, as it stands on the label"),
            ({"sense": ""}, "Choose what it is"),
            ({"sense": "derived"}, "Say which substances"),
            ({"sense": "derived", "others": "unobtainium"}, "No substance is called"),
            ({"sense": "filler"}, "Select a valid choice"),
            ({"reason": ""}, "Say in a sentence how you know"),
            ({"looked_up": ""}, "Say where you looked it up"),
        ],
    )
    def test_what_is_wrong_is_said_and_nothing_typed_is_lost(
        self, cast: Cast, label: Label, typed: dict[str, str], told: str
    ) -> None:
        """And nothing is kept."""
        page = propose(cast, label, **typed)
        assert told in words(page)
        assert soup(page).find(id="id_looked_up").get("value", "") == {**PROPOSAL, **typed}["looked_up"]
        assert not Word.objects.exists()

    def test_sent_twice_it_is_one_proposal(self, cast: Cast, label: Label) -> None:
        """The second is told that it waits already."""
        propose(cast, label)
        assert "was proposed by Greta" in words(propose(cast, label))
        assert Word.objects.count() == 1

    def test_a_word_that_waits_leads_to_where_it_waits(self, cast: Cast, label: Label) -> None:
        """So that nobody fills in a form for nothing; from a label of any spelling."""
        word = WordFactory(label=label)
        page = as_user(cast.greta).get(reverse("word-new", args=[label.pk]), {"word": "ZORBALEXES"})
        assert page.headers["Location"] == reverse("word", args=[word.pk])

    def test_a_declined_word_shows_why_and_may_be_proposed_again(self, cast: Cast, label: Label) -> None:
        """On the label's page, where the cook looks."""
        word = WordFactory(label=label)
        WordReviewFactory(word=word, accepted=False, sense="", source="", note="The letter is of another maker.")
        page = as_user(cast.greta).get(reverse("label", args=[label.pk]))
        assert "declined : The letter is of another maker." in words(page)
        assert soup(page).select_one(".propose")

    def test_a_label_of_another_site_is_not_there(self, cast: Cast) -> None:
        """Nor is a word proposed from it, until it counts everywhere; its label stays there then too."""
        theirs = labelled("zorbalex", name="Their buns", site=cast.tansy_gate).labels.get()
        word = WordFactory(label=theirs)
        greta = as_user(cast.greta)
        assert greta.get(reverse("word-new", args=[theirs.pk])).status_code == 404
        assert greta.get(reverse("label-how", args=[theirs.pk])).status_code == 404
        assert greta.get(reverse("word", args=[word.pk])).status_code == 404
        assert "zorbalex" not in words(greta.get(reverse("words")))
        WordReviewFactory(word=word)
        shown = words(greta.get(reverse("word", args=[word.pk])))
        assert "In the lexicon" in shown and "Their buns" not in shown


class TestAnswering:
    """Licensed staff look it up and sign."""

    def test_the_list_says_what_waits_and_on_how_many_labels_it_stands(self, cast: Cast, label: Label) -> None:
        """Plural or not; an older version of a label is no label any more."""
        WordFactory(label=label, proposed_by=cast.greta)
        labelled("sugar, ZORBALEXES")
        labelled("zorbalexian")
        shown = words(as_user(cast.hakim).get(reverse("words")))
        assert "1 word of labels waits for licensed staff" in shown
        assert "zorbalex : an ordinary ingredient" in shown
        assert "Proposed by Greta" in shown and "from Odd snack. It stands on 2 labels on record." in shown

    def test_only_licensed_staff_are_asked_for_an_answer(self, cast: Cast, label: Label) -> None:
        """The kitchen sees where it stands; an answer it sends all the same is not taken."""
        word = WordFactory(label=label)
        for user, may in ((cast.hakim, True), (cast.greta, False), (cast.june, False)):
            page = as_user(user).get(reverse("word", args=[word.pk]))
            assert bool(soup(page).find(id="id_signature")) is may
        for user in (cast.greta, cast.june, cast.rosa, cast.wren):
            assert as_user(user).post(reverse("word-review", args=[word.pk]), ANSWER).status_code == 404
        assert not WordReview.objects.exists()

    def test_whoever_signs_reads_first_that_it_counts_everywhere(self, cast: Cast, label: Label) -> None:
        """One signature changes outcomes at sites that the signer does not look after."""
        page = words(as_user(cast.hakim).get(reverse("word", args=[WordFactory(label=label).pk])))
        assert "An accepted word counts at every site" in page
        assert page.index("counts at every site") < page.index("Sign the answer")

    def test_the_form_starts_with_what_was_proposed(self, cast: Cast, label: Label) -> None:
        """So that accepting it takes a look, a source and a signature; nothing is chosen of the answer itself."""
        word = WordFactory(label=label, sense="derived", substances="milk;tree-nut.cashew")
        page = soup(as_user(cast.hakim).get(reverse("word", args=[word.pk])))
        assert [each["value"] for each in page.select("input[checked]")] == ["derived", "milk"]
        assert page.find(id="id_others")["value"] == "cashew"

    def test_an_accepted_word_is_read_on_the_label_with_who_accepted_it(self, cast: Cast, label: Label) -> None:
        """And it is on no list of work any more."""
        answer(cast, WordFactory(label=label), sense="derived", groups=["milk"])
        greta = as_user(cast.greta)
        assert "Milk : “zorbalex” (made from it)" in words(greta.get(reverse("label", args=[label.pk])))
        how = words(greta.get(reverse("label-how", args=[label.pk])))
        assert "zorbalex : made from milk [" in how
        assert f"The maker's letter; accepted by H. Example, RN, {timezone.now():%Y-%m-%d} (accepted here)" in how
        assert "Odd snack" not in words(greta.get(reverse("label-work")))

    def test_a_declined_word_stays_unread(self, cast: Cast, label: Label) -> None:
        """Whatever else the form says."""
        page = answer(cast, WordFactory(label=label), answer="decline", note="No such letter.")
        assert "is declined and stays unread" in words(page)
        assert "Odd snack" in words(as_user(cast.greta).get(reverse("label-work")))

    @pytest.mark.parametrize(
        ("typed", "told"),
        [
            ({"answer": ""}, "Choose: accept or decline"),
            ({"sense": ""}, "Choose what it is, or decline it"),
            ({"source": ""}, "Say what the meaning of the word rests on"),
            ({"signature": ""}, "This is signed"),
            ({"password": "not hers"}, "This is not your password"),
            ({"answer": "decline"}, "Say why it is declined"),
            ({"sense": "named"}, "Say which substances"),
        ],
    )
    def test_half_an_answer_is_not_kept(self, cast: Cast, label: Label, typed: dict[str, str], told: str) -> None:
        """It is said what is missing."""
        assert told in words(answer(cast, WordFactory(label=label), **typed))
        assert not WordReview.objects.exists()

    def test_a_word_near_a_name_is_accepted_only_when_seen(self, cast: Cast) -> None:
        """The page shows the name, the answer without the tick is refused, with the tick it is kept with it."""
        word = WordFactory(phrase="almods")
        page = soup(as_user(cast.hakim).get(reverse("word", args=[word.pk])))
        assert "“almods” is a slip or two away from: almond" in page.find("main").get_text()
        assert "Look again at “almods” (almond)" in words(answer(cast, word))
        assert not WordReview.objects.exists()
        (doubt,) = doubts("almods", Lexicon.load())
        answer(cast, word, seen=[doubt.key])
        assert WordReview.objects.get().seen == [doubt.key]

    def test_who_comes_second_is_told(self, cast: Cast, label: Label) -> None:
        """The answer that stands is on the page."""
        word = WordFactory(label=label)
        WordReviewFactory(word=word)
        assert "was answered by A. Example, RD" in words(answer(cast, word))

    def test_a_word_is_taken_back_with_a_reason(self, cast: Cast, label: Label) -> None:
        """It is unread from then on, and the history keeps both signatures."""
        word = WordReviewFactory(word=WordFactory(label=label)).word
        gone = {"reason": "Another maker.", **SIGNED}
        hakim, address = as_user(cast.hakim), reverse("word-withdraw", args=[word.pk])
        assert "Say why it is taken back" in words(hakim.post(address, {**gone, "reason": ""}))
        assert "This is not your password" in words(hakim.post(address, {**gone, "password": "not hers"}))
        assert as_user(cast.greta).post(address, gone).status_code == 404
        assert "is unread again from now on" in words(hakim.post(address, gone, follow=True))
        shown = words(hakim.get(reverse("word", args=[word.pk])))
        assert "A. Example, RD" in shown and "Another maker. H. Example, RN" in shown
        assert "Odd snack" in words(as_user(cast.greta).get(reverse("label-work")))
        assert "is not in the lexicon now" in words(hakim.post(address, gone))

    def test_what_people_wrote_is_text(self, cast: Cast) -> None:
        """On the label, the list and the word's page, and so is the label itself."""
        html = "'><img src=x onerror=alert(1)>"
        label = labelled(f"zorbalex {html}", name=html).labels.get()
        old = WordFactory(label=label, reason=html, looked_up=html)
        WordReviewFactory(word=old, accepted=False, sense="", source="", note=html, signature=html)
        new = WordFactory(label=label, phrase="onerror", reason=html, looked_up=html)
        hakim = as_user(cast.hakim)
        pages = [reverse(name, args=[label.pk]) for name in ("label", "label-how", "word-new")]
        pages += [reverse("words"), *(reverse("word", args=[each.pk]) for each in (old, new))]
        for page in pages:
            shown = hakim.get(page).content.decode()
            assert "<img" not in shown and "&lt;img" in shown, page

    def test_queries_do_not_grow(self, cast: Cast, label: Label) -> None:
        """The list and a word cost the same for few as for many."""
        word = WordFactory(label=label)
        WordWithdrawalFactory(review__word__phrase="yumbolex")
        hakim = as_user(cast.hakim)
        pages = [reverse("words"), reverse("word", args=[word.pk])]
        small = [queries(lambda page=page: hakim.get(page)) for page in pages]
        for n in range(12):
            WordFactory(phrase=f"yumbolex {n}")
            WordReviewFactory(word__phrase=f"wumbolex {n}")
        # session, user, all-sites post, sites; words that wait, the labels on record, words answered: how many, which;
        # roles for the menu
        # session, user, all-sites post, sites; the word, may answer?, its product here?, the labels on record, words
        # accepted, other proposals of the word; roles for the menu
        assert [queries(lambda page=page: hakim.get(page)) for page in pages] == small == [9, 11]
