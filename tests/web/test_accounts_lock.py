"""Guessing at the sign-in: the lock, the limit of the address, and answers that tell nobody which names there are."""

from __future__ import annotations

from datetime import timedelta
from statistics import median
from time import perf_counter
from typing import Any

import pytest
from axes.models import AccessAttempt
from django.core.cache import cache
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext

from compliance.config import settings as settings_module
from roster.models import Action, SignIn, Verb
from tests.cast import Cast
from tests.factories import PASSWORD
from tests.web.codes import code, is_in, signing_in, still, with_app
from tests.web.pages import as_user, soup, words

__all__ = ["still"]
pytestmark = pytest.mark.django_db

ELSEWHERE = {"REMOTE_ADDR": "203.0.113.77"}


def guess(name: str = "rosa", times: int = 5, **where: Any) -> HttpResponse:
    """The answer to the last of so many wrong passwords."""
    for _ in range(times):
        answer = Client().post("/sign-in/", {"username": name, "password": "guess"}, **where)
    return answer


def wait(minutes: int) -> None:
    """Let so many minutes pass for the lock."""
    for attempt in AccessAttempt.objects.all():
        AccessAttempt.objects.filter(pk=attempt.pk).update(
            attempt_time=attempt.attempt_time - timedelta(minutes=minutes)
        )


def test_five_wrong_passwords_lock_the_name_for_a_while(cast: Cast) -> None:
    """The page says what to do and when; the right password opens nothing meanwhile, and everything afterwards."""
    assert guess(times=4).status_code == 200
    answer = guess(times=1)
    assert answer.status_code == 429 and answer.headers["Retry-After"] == "900"
    assert "Try again in 15 minutes." in words(answer) and "administrator" in words(answer)
    assert not is_in(signing_in(cast.rosa))
    wait(10)
    assert "Try again in 5 minutes." in words(guess(times=1))
    wait(6)
    assert is_in(signing_in(cast.rosa))


def test_capitals_and_spaces_do_not_pass_by_the_lock(cast: Cast) -> None:
    """The name is taken without regard to them, so it is counted without."""
    for name in ("rosa", "Rosa", "ROSA ", " rosa", "rOsa"):
        answer = guess(name, times=1)
    assert answer.status_code == 429
    assert not is_in(signing_in(cast.rosa))


def test_the_lock_is_for_one_name_from_one_address(cast: Cast) -> None:
    """Nobody locks the nurse out of her own desk from elsewhere, and the next teacher at the tablet may sign in."""
    guess(**ELSEWHERE)
    assert not is_in(Client()) and is_in(signing_in(cast.rosa))
    assert guess(times=1, **ELSEWHERE).status_code == 429
    assert is_in(signing_in(cast.greta, client=Client(**ELSEWHERE)))


def test_signing_in_forgets_the_wrong_tries(cast: Cast) -> None:
    """Four typing errors today and one tomorrow lock nobody."""
    guess(times=4)
    assert is_in(signing_in(cast.rosa))
    assert guess(times=4).status_code == 200


@pytest.mark.usefixtures("still")
def test_wrong_codes_lock_as_wrong_passwords_do(cast: Cast) -> None:
    """Six digits can be guessed; five tries at a time do not suffice."""
    client = signing_in(with_app(cast.rosa))
    answers = [client.post("/sign-in/second-step/", {"code": f"00000{n}"}).status_code for n in range(5)]
    assert answers == [200, 200, 200, 200, 429]
    assert client.post("/sign-in/second-step/", {"code": code()}).status_code == 429
    assert not is_in(client) and not is_in(signing_in(cast.rosa))


def test_a_lock_is_on_record_once_and_names_no_typed_name(cast: Cast) -> None:
    """The auditor sees that it happened; a password typed into the wrong field is not kept."""
    guess(times=8)
    guess("a tray of cupcakes", times=8)
    locks = Action.objects.filter(verb=Verb.REFUSED)
    assert sorted(lock.subject for lock in locks) == ["unknown name", f"user {cast.rosa.pk}"]
    assert "cupcakes" not in "".join(lock.payload for lock in locks)


def test_an_administrator_lifts_it(cast: Cast) -> None:
    """It stands on the list of people, goes on record, and the person may try again at once."""
    guess()
    june = as_user(cast.june)
    assert "locked for a while" in words(june.get("/people/"))
    address = f"/people/{cast.rosa.pk}/"
    assert "Lift the lock" in words(june.get(address))
    june.post(f"{address}account/", {"do": "lift"})
    assert "locked" not in words(june.get("/people/"))
    assert is_in(signing_in(cast.rosa))
    lifted = Action.objects.get(verb=Verb.ENDED, subject=f"lock of user {cast.rosa.pk}")
    assert (lifted.actor, '"before":"locked"' in lifted.payload.replace(" ", "")) == (cast.june, True)


@pytest.mark.parametrize("unknown", ["nobody", "rosa@example.org"])
def test_no_answer_tells_which_names_there_are(cast: Cast, unknown: str) -> None:
    """Page, status, headers and queries are the same for a name that is there and one that is not, to the lock."""
    for _ in range(6):
        pages, counts, headers = [], [], []
        for name in ("rosa", unknown):
            client = Client()
            client.get("/sign-in/")
            with CaptureQueriesContext(connection) as caught:
                answer = client.post("/sign-in/", {"username": name, "password": "guess"})
            for field in soup(answer).select("input[name=username]"):
                assert field["value"] == name
            pages.append((answer.status_code, words(answer)))
            counts.append(len([query for query in caught if "sign_in" not in query["sql"]]))
            headers.append({key for key in answer.headers if key != "Set-Cookie"})
        assert pages[0] == pages[1] and headers[0] == headers[1]
        assert abs(counts[0] - counts[1]) <= 3  # those of writing down the failure for its owner


def test_one_name_cannot_be_tried_from_many_addresses_without_end(cast: Cast, settings) -> None:
    """The lock counts by address; this does not."""
    settings.ACCOUNT_RATE_LIMITS = {"login": None, "login_failed": "3/h/key"}
    cache.clear()
    for number in range(3):
        guess(times=1, REMOTE_ADDR=f"198.51.100.{number}")
    answer = Client(REMOTE_ADDR="198.51.100.9").post("/sign-in/", {"username": "rosa", "password": PASSWORD})
    cache.clear()
    assert "There were too many tries" in words(answer)


def test_an_unknown_name_costs_a_password_too(cast: Cast, settings) -> None:
    """With the hashing of real use: who measures the time learns little. Half or twice as long would tell."""
    settings.PASSWORD_HASHERS = settings_module.PASSWORD_HASHERS
    settings.AXES_FAILURE_LIMIT = 1000
    cast.rosa.set_password(PASSWORD)
    cast.rosa.save()
    took: dict[str, list[float]] = {"rosa": [], "nobody": []}
    for _ in range(7):
        for name, times in took.items():
            begun = perf_counter()
            guess(name, times=1)
            times.append(perf_counter() - begun)
    assert 0.5 < median(took["rosa"]) / median(took["nobody"]) < 2


def test_one_address_cannot_try_many_names(cast: Cast, settings) -> None:
    """Nor many passwords a minute, whatever the name; here four of them, in real use more."""
    assert settings_module.ACCOUNT_RATE_LIMITS == {"login": "120/m/ip", "login_failed": "60/m/ip,50/h/key"}
    settings.ACCOUNT_RATE_LIMITS = {"login": "4/m/ip", "login_failed": None}
    cache.clear()
    answers = [guess(f"name-{number}", times=1) for number in range(5)]
    cache.clear()
    assert [answer.status_code for answer in answers[:4]] == [200] * 4
    assert (answers[-1].status_code, answers[-1].headers["Retry-After"]) == (429, "60")
    assert "Wait a minute, then try again." in words(answers[-1])


def test_the_history_shows_sign_ins_and_failures_to_their_owner_alone(cast: Cast) -> None:
    """When, how, from what network and what kind of browser; nothing that tells more."""
    line = "Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0.0.0 Safari/537.36"
    guess(times=1, **ELSEWHERE)
    client = Client(headers={"User-Agent": line}, REMOTE_ADDR="198.51.100.23")
    signing_in(cast.rosa, client=client)
    shown = words(client.get("/account/"))
    assert "198.51.100.0, Chrome on Linux" in shown and "198.51.100.23" not in shown
    assert "Failed: password 203.0.113.0" in shown
    assert "203.0.113.0" not in words(as_user(cast.greta).get("/account/"))
    assert SignIn.objects.filter(user=cast.rosa).count() == 2


def test_coming_and_going_stand_on_the_record_of_actions(cast: Cast) -> None:
    """For the auditor: who and by what, and no address."""
    client = signing_in(cast.rosa)
    client.post("/sign-out/")
    came, went = Action.objects.filter(actor=cast.rosa).order_by("pk")
    assert (came.verb, went.verb) == (Verb.SIGNED_IN, Verb.SIGNED_OUT)
    assert '"way":"password"' in came.payload.replace(" ", "") and "127." not in came.payload


def test_the_lock_keeps_no_password(cast: Cast) -> None:
    """Of what was typed the name alone is counted."""
    Client().post("/sign-in/", {"username": "rosa", "password": "a guess to keep", "next": "/today/"})
    (kept,) = AccessAttempt.objects.values()
    assert kept["username"] == "rosa" and "a guess to keep" not in str(kept)


def test_old_entries_of_the_history_go(cast: Cast, settings) -> None:
    """They serve their owner for half a year."""
    guess(times=1)
    SignIn.objects.update(recorded_at=SignIn.objects.get().recorded_at - timedelta(days=181))
    signing_in(cast.rosa)
    assert SignIn.objects.get(user=cast.rosa).came_in
