"""People, for administrators: seen, invited, given posts and shut out within the sites that one administers."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.core import mail
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from roster.models import Action, Post, Role, User, Verb
from tests.cast import Cast
from tests.factories import PASSWORD, ClassroomFactory, PostFactory, UserFactory
from tests.web.codes import has_app, is_in, signing_in, with_app
from tests.web.pages import as_user, queries, soup, words

pytestmark = pytest.mark.django_db

INVITED = {"first_name": "Nils", "last_name": "Example", "username": "nils", "email": "nils@example.org"}


@pytest.fixture(autouse=True)
def by_mail(settings) -> None:
    """A mail server is set."""
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"


@pytest.fixture
def ansel(cast: Cast) -> User:
    """The administrator of Ferrowick alone."""
    user = UserFactory.create(username="ansel", first_name="Ansel")
    PostFactory(user=user, role=Role.ADMINISTRATOR, site=cast.ferrowick)
    return user


def invite(by: User, **post: Any) -> HttpResponse:
    """What comes of inviting Nils to that post."""
    return as_user(by).post("/people/invite/", {**INVITED, **post}, follow=True)


def give(by: User, person: User, **post: Any) -> HttpResponse:
    """What comes of giving the person that post."""
    return as_user(by).post(reverse("person", args=[person.pk]), post, follow=True)


def do(by: User, person: User, what: str) -> HttpResponse:
    """What comes of pressing that button on the person's page."""
    return as_user(by).post(reverse("person-account", args=[person.pk]), {"do": what}, follow=True)


def today_at(cast: Cast) -> date:
    """The date at Ferrowick."""
    return timezone.now().astimezone(cast.ferrowick.zone).date()


def posts_of(person: User) -> list[tuple[str, Any]]:
    """Role and place of each post."""
    return [(post.role, post.child or post.classroom or post.site) for post in person.posts.order_by("pk")]


class TestTheList:
    """Who is on it, and what it says."""

    def test_an_administrator_of_all_sites_sees_everybody(self, cast: Cast) -> None:
        """With posts, last sign-in, second factor and whether the account is open."""
        signing_in(cast.rosa)
        with_app(cast.hakim)
        User.objects.filter(pk=cast.wren.pk).update(is_active=False)
        rows = {
            row.select_one(".name").text: row.get_text(" ")
            for row in soup(as_user(cast.june).get("/people/"))("tr")[1:]
        }
        assert set(rows) == set(User.objects.values_list("username", flat=True))
        assert "Teacher, Larks" in rows["rosa"] and timezone.now().date().isoformat() in rows["rosa"]
        assert "yes" in rows["hakim"] and "never" in rows["hakim"]
        assert "closed" in rows["wren"] and "none" in rows["wren"]
        assert "Guardian, Noor Example" in rows["amara"]

    def test_an_administrator_of_one_site_sees_those_with_a_post_there(self, cast: Cast, ansel: User) -> None:
        """Not the other site's, not the nurse of all sites, not who has no post; nor their pages."""
        shown = words(as_user(ansel).get("/people/"))
        assert all(name in shown for name in ("Rosa", "Greta", "Tomas", "Sefa", "Amara", "Ansel"))
        for other in (cast.dmitri, cast.pavel, cast.hakim, cast.june, cast.ursula, cast.wren):
            assert other.first_name not in shown
            assert as_user(ansel).get(reverse("person", args=[other.pk])).status_code == 404
            assert as_user(ansel).post(reverse("person-account", args=[other.pk]), {"do": "close"}).status_code == 404

    def test_superusers_are_on_nobodys_list(self, cast: Cast) -> None:
        """They repair, and are seen to by whoever runs the service."""
        mender = User.objects.create_superuser("mender", password=PASSWORD)
        assert "mender" not in words(as_user(cast.june).get("/people/"))
        assert do(cast.june, mender, "close").status_code == 404

    def test_somebody_is_found_by_name(self, cast: Cast) -> None:
        """By part of any of the names."""
        shown = words(as_user(cast.june).get("/people/?name=ros"))
        assert "rosa" in shown and "greta" not in shown.split("Person Posts")[1]

    def test_the_queries_do_not_grow_with_the_people(self, cast: Cast) -> None:
        """Ten or thirty."""
        june = as_user(cast.june)
        small = queries(lambda: june.get("/people/"))
        for _ in range(20):
            PostFactory(role=Role.KITCHEN, site=cast.ferrowick)
        assert queries(lambda: june.get("/people/")) == small


class TestInviting:
    """An account with one post, and a link in a mail."""

    def test_the_invited_sets_a_password_and_is_in(self, cast: Cast, ansel: User) -> None:
        """The mail names nobody in its subject; the link works once."""
        page = invite(ansel, role="teacher", classroom=cast.larks.pk)
        assert "Nils Example is invited" in words(page) and "/welcome/" not in page.content.decode()
        (sent,) = mail.outbox
        assert sent.subject == "Your account" and sent.to == ["nils@example.org"]
        link = next(line for line in sent.body.splitlines() if "/welcome/" in line).removeprefix(
            "http://127.0.0.1:8000"
        )
        client = Client()
        there = client.get(link, follow=True).redirect_chain[-1][0]
        client.post(there, {"new_password1": "buns on a tuesday", "new_password2": "buns on a tuesday"})
        nils = User.objects.get(username="nils")
        assert is_in(signing_in(nils, "buns on a tuesday"))
        assert posts_of(nils) == [("teacher", cast.larks)]
        assert "no longer works" in words(Client().get(link, follow=True))

    @pytest.mark.parametrize(
        ("post", "place"),
        [
            ({"role": "kitchen", "site": "ferrowick"}, "ferrowick"),
            ({"role": "licensed", "site": "ferrowick"}, "ferrowick"),
            ({"role": "auditor", "site": "ferrowick"}, "ferrowick"),
            ({"role": "guardian", "child": "noor"}, "noor"),
        ],
    )
    def test_every_role_at_its_place(self, cast: Cast, ansel: User, post: dict[str, str], place: str) -> None:
        """A site, or the child."""
        filled = {name: value if name == "role" else getattr(cast, value).pk for name, value in post.items()}
        invite(ansel, **filled)
        assert posts_of(User.objects.get(username="nils")) == [(post["role"], getattr(cast, place))]

    @pytest.mark.parametrize(
        ("typed", "told"),
        [
            ({"username": "Rosa"}, "This name is taken"),
            ({"username": "ni ls"}, "Enter a valid username"),
            ({"email": "nils"}, "Enter a valid email address"),
            ({"email": ""}, "Give an address: without the link nobody can set a password"),
            ({"role": ""}, "Choose the role: it says what the person may do"),
            ({"role": "emperor"}, "Select a valid choice"),
            ({"role": "teacher"}, "a teacher or a substitute is there for one"),
            ({"role": "guardian"}, "Choose the child"),
            ({"role": "kitchen", "site": ""}, "A kitchen post names its site"),
            ({"role": "licensed", "site": ""}, "beyond the sites that you administer"),
            ({"role": "administrator", "site": "", "is_superuser": "on"}, "beyond the sites that you administer"),
            ({"ends_on": "2020-01-01", "starts_on": "2020-02-01"}, "would end before it begins"),
        ],
    )
    def test_what_cannot_be_is_said_and_nothing_is_half_made(
        self, cast: Cast, ansel: User, typed: dict[str, str], told: str
    ) -> None:
        """No account, no mail, and what was typed stays."""
        before = User.objects.count(), Post.objects.count()
        page = invite(ansel, **{"role": "kitchen", "site": cast.ferrowick.pk, **typed})
        assert told in words(page)
        assert soup(page).find(id="id_last_name")["value"] == "Example"
        assert (User.objects.count(), Post.objects.count(), mail.outbox) == (*before, [])

    def test_without_mail_the_link_of_a_new_account_is_handed_over(self, cast: Cast, settings) -> None:
        """A link for an account that is there already is never shown: it would open somebody else's account."""
        settings.EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"
        assert "/welcome/" in words(invite(cast.june, role="licensed"))
        page = do(cast.june, cast.rosa, "link")
        assert "No mail could be sent" in words(page) and "/welcome/" not in page.content.decode()


class TestPosts:
    """Given and ended, never to oneself and never beyond one's reach."""

    def test_a_post_is_given_and_stands_on_record(self, cast: Cast, ansel: User) -> None:
        """With who gave it."""
        page = give(ansel, cast.rosa, role="kitchen", site=cast.ferrowick.pk, ends_on="2099-12-31")
        assert "Given: Kitchen, Ferrowick Elementary School." in words(page)
        assert ("kitchen", cast.ferrowick) in posts_of(cast.rosa)
        entry = Action.objects.filter(verb=Verb.RECORDED, actor=ansel, subject__startswith="post").latest("pk")
        assert entry.site == cast.ferrowick and '"role":"kitchen"' in entry.payload.replace(" ", "")

    @pytest.mark.parametrize("who", ["june", "ansel"])
    def test_nobody_gives_a_post_to_themselves(self, cast: Cast, ansel: User, who: str) -> None:
        """Not even one that is narrower: licensed staff read what an administrator does not."""
        person = ansel if who == "ansel" else cast.june
        assert "Nobody gives a post to themselves" in words(
            give(person, person, role="licensed", site=cast.ferrowick.pk)
        )
        as_user(person).post("/people/substitute/", {"person": person.pk, "classroom": cast.larks.pk})
        as_user(person).post(reverse("post-end", args=[person.posts.get().pk]))
        assert [role for role, _ in posts_of(person)] == ["administrator"]

    @pytest.mark.parametrize(
        "post",
        [
            {"role": "kitchen", "site": "tansy_gate"},
            {"role": "teacher", "classroom": "minnows"},
            {"role": "guardian", "child": "ravi"},
            {"role": "administrator"},
            {"role": "licensed"},
            {"role": "auditor"},
        ],
    )
    def test_nobody_gives_what_lies_beyond_their_reach(self, cast: Cast, ansel: User, post: dict[str, str]) -> None:
        """Another site's, or one for all sites."""
        filled = {name: value if name == "role" else getattr(cast, value).pk for name, value in post.items()}
        before = posts_of(cast.greta)
        give(ansel, cast.greta, **filled)
        assert posts_of(cast.greta) == before

    def test_more_than_the_form_asks_for_is_passed_over(self, cast: Cast, ansel: User) -> None:
        """Mass assignment: no grant of the medical text, no other person, no mark of a superuser."""
        extra = {"reads_medical": "on", "user": cast.hakim.pk, "user_id": cast.hakim.pk, "is_superuser": "on", "id": 1}
        give(ansel, cast.greta, role="administrator", site=cast.ferrowick.pk, **extra)
        post = cast.greta.posts.get(role="administrator")
        assert (post.reads_medical, post.user) == (False, cast.greta)
        assert cast.hakim.posts.count() == 1
        invite(ansel, role="kitchen", site=cast.ferrowick.pk, is_staff="on", password="x", **extra)
        nils = User.objects.get(username="nils")
        assert not (nils.is_superuser or nils.is_staff or nils.has_usable_password())

    @pytest.mark.parametrize(("role", "sees"), [("administrator", True), ("licensed", False)])
    def test_the_medical_text_is_granted_by_an_administrator_of_all_sites(
        self, cast: Cast, role: str, sees: bool
    ) -> None:
        """With the post of an administrator, and with no other: licensed staff have it anyhow."""
        page = give(cast.june, cast.wren, role=role, site=cast.ferrowick.pk, reads_medical="on")
        assert cast.wren.posts.filter(reads_medical=True).exists() is sees
        child = as_user(cast.wren).get(reverse("child", args=[cast.noor.pk]))
        assert (child.status_code == 200) is sees
        assert sees or "has none of these" in words(page)

    def test_a_post_is_ended_at_once(self, cast: Cast, ansel: User) -> None:
        """It opens nothing any more, and the record keeps what it was."""
        client = as_user(cast.greta)
        assert client.get("/products/").status_code == 200
        as_user(ansel).post(reverse("post-end", args=[cast.greta.posts.get().pk]))
        assert client.get("/products/").status_code == 404
        assert cast.greta.posts.get().ends_on == today_at(cast) - timedelta(days=1)

    def test_a_substitutes_post_is_taken_away_and_stays_on_record(self, cast: Cast, ansel: User) -> None:
        """It is for one day and cannot end before that day."""
        pk = cast.sefa.posts.get().pk
        as_user(ansel).post(reverse("post-end", args=[pk]))
        assert not cast.sefa.posts.exists()
        ended = Action.objects.get(verb=Verb.ENDED, subject=f"post {pk}")
        assert ended.actor == ansel and '"role":"substitute"' in ended.payload.replace(" ", "")

    @pytest.mark.parametrize("who", ["dmitri", "pavel", "hakim", "june"])
    def test_a_post_beyond_reach_is_not_found(self, cast: Cast, ansel: User, who: str) -> None:
        """404, as for one that is not there."""
        post = getattr(cast, who).posts.get()
        assert as_user(ansel).post(reverse("post-end", args=[post.pk])).status_code == 404
        post.refresh_from_db()
        assert post.ends_on is None


class TestSubstitutes:
    """For one class, until the end of the day, by one touch."""

    def test_by_one_touch_until_the_end_of_the_day(self, cast: Cast, ansel: User) -> None:
        """Asked twice it is given once; the class opens to her at once, another does not."""
        owls = ClassroomFactory.create(site=cast.ferrowick, name="Owls")
        page = as_user(ansel).get(reverse("person", args=[cast.greta.pk]))
        button = soup(page).find("button", attrs={"name": "classroom", "value": str(cast.larks.pk)})
        assert button.find_parent("form")["action"] == "/people/substitute/"
        for _ in range(2):
            told = as_user(ansel).post(
                "/people/substitute/", {"person": cast.greta.pk, "classroom": cast.larks.pk}, follow=True
            )
        today = today_at(cast)
        assert f"Greta stands in for Larks until the end of {today}" in words(told)
        post = cast.greta.posts.get(role="substitute")
        assert (post.classroom, post.starts_on, post.ends_on) == (cast.larks, today, today)
        wren = as_user(cast.wren)
        as_user(cast.june).post("/people/substitute/", {"person": cast.wren.pk, "classroom": cast.larks.pk})
        assert wren.get(f"/today/?class={cast.larks.pk}").status_code == 200
        assert wren.get(f"/today/?class={owls.pk}").status_code == 404

    @pytest.mark.parametrize(("person", "room"), [("greta", "minnows"), ("dmitri", "larks"), ("hakim", "larks")])
    def test_not_beyond_ones_reach(self, cast: Cast, ansel: User, person: str, room: str) -> None:
        """Neither another site's class nor another site's person."""
        asked = {"person": getattr(cast, person).pk, "classroom": getattr(cast, room).pk}
        page = as_user(ansel).post("/people/substitute/", asked, follow=True)
        assert "Nothing was given" in words(page)
        assert not getattr(cast, person).posts.filter(role="substitute").exists()


class TestAccounts:
    """Closed, opened, given a new link, freed of a lost second factor."""

    def test_closing_ends_the_sessions_and_opening_lets_in_again(self, cast: Cast, ansel: User) -> None:
        """With before and after on record."""
        client = signing_in(cast.rosa)
        assert "is closed" in words(do(ansel, cast.rosa, "close"))
        assert not is_in(client) and not is_in(signing_in(cast.rosa))
        told = Action.objects.filter(actor=ansel, subject=f"user {cast.rosa.pk}", payload__contains="is_active").first()
        assert told is not None and "before" in told.payload and "after" in told.payload
        do(ansel, cast.rosa, "open")
        assert not is_in(client) and is_in(signing_in(cast.rosa))

    def test_a_new_link_goes_by_mail(self, cast: Cast, ansel: User) -> None:
        """To the owner alone."""
        page = do(ansel, cast.rosa, "link")
        assert mail.outbox[0].to == ["rosa@example.org"] and "Rosa" not in mail.outbox[0].subject
        assert "/welcome/" in mail.outbox[0].body and "/welcome/" not in page.content.decode()

    def test_a_lost_second_factor_is_forgotten(self, cast: Cast, ansel: User) -> None:
        """Sessions end with it."""
        with_app(cast.rosa)
        client = as_user(cast.rosa)
        assert "is taken away" in words(do(ansel, cast.rosa, "forget"))
        assert not has_app(cast.rosa) and not is_in(client)
        assert Action.objects.filter(verb=Verb.ENDED, actor=ansel, subject__startswith="second factor").exists()

    @pytest.mark.parametrize("what", ["close", "link", "forget", "lift"])
    def test_an_account_that_opens_more_is_not_touched(self, cast: Cast, ansel: User, what: str) -> None:
        """Somebody with a post at another site too, or at all sites: else one could take over what one may not see."""
        PostFactory(user=cast.rosa, role=Role.KITCHEN, site=cast.tansy_gate)
        PostFactory(user=cast.greta, role=Role.LICENSED, site=None)
        for person in (with_app(cast.rosa), with_app(cast.greta)):
            page = do(ansel, person, what)
            assert "not yours to change" in words(page)
            person.refresh_from_db()
            assert person.is_active and has_app(person) and not mail.outbox
            assert "further posts beyond your sites" in words(page)

    def test_a_post_elsewhere_that_is_over_does_not_count(self, cast: Cast, ansel: User) -> None:
        """She left that school."""
        over = today_at(cast) - timedelta(days=1)
        PostFactory(user=cast.rosa, role=Role.KITCHEN, site=cast.tansy_gate, ends_on=over)
        do(ansel, cast.rosa, "close")
        cast.rosa.refresh_from_db()
        assert not cast.rosa.is_active

    def test_nobody_touches_their_own_account_here(self, cast: Cast) -> None:
        """The last administrator does not lock herself out by a slip."""
        assert "not yours to change" in words(do(cast.june, cast.june, "close"))
        assert "This is you." in words(as_user(cast.june).get(reverse("person", args=[cast.june.pk])))


@pytest.mark.parametrize("who", ["rosa", "sefa", "greta", "tomas", "hakim", "ursula", "amara", "wren"])
def test_the_pages_are_for_administrators(cast: Cast, who: str) -> None:
    """Nobody else learns who has an account."""
    client = as_user(getattr(cast, who))
    for address in ("/people/", "/people/invite/", reverse("person", args=[cast.rosa.pk])):
        assert client.get(address).status_code == 404
    assert client.post("/people/invite/", {**INVITED, "role": "licensed"}).status_code == 404
    assert not User.objects.filter(username="nils").exists()
