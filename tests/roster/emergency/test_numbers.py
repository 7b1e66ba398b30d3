"""The number to call: by country, with its source, and none where nobody knows it."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError

from menus.models.site import Jurisdiction, country_codes
from roster.emergency.numbers import emergency_numbers, number_in
from tests.factories import SiteFactory

MEMBER_STATES = [
    *("AT", "BE", "BG", "CY", "CZ", "DE", "DK", "EE", "ES"),
    *("FI", "FR", "GR", "HR", "HU", "IE", "IT", "LT", "LU"),
    *("LV", "MT", "NL", "PL", "PT", "RO", "SE", "SI", "SK"),
]


@pytest.mark.parametrize(
    ("country", "number", "source"),
    [
        ("US", "911", "Wireless Communications and Public Safety Act of 1999"),
        ("GB", "999", "NHS England"),
        ("AU", "000", "ACMA"),
        ("NZ", "111", "MBIE"),
    ],
)
def test_the_number_is_the_published_one(country: str, number: str, source: str) -> None:
    """FCC, WT Docket 00-110 (2001); NHS England, Ambulance services; ACMA and MBIE, emergency call services (read)."""
    row = number_in(country)
    assert row and row.number == number and source in row.source and row.verified == "read"


def test_every_member_state_has_112() -> None:
    """Directive (EU) 2018/1972, Article 109, by Delegated Regulation (EU) 2023/444 (read): all 27 of them."""
    assert len(MEMBER_STATES) == 27
    found = {country: number_in(country) for country in [*MEMBER_STATES, "EU"]}
    assert {country for country, row in found.items() if row is None or row.number != "112"} == set()


def test_every_row_can_be_dialled_and_names_its_source() -> None:
    """Digits alone, a country of ISO 3166-1, and whether the source was read."""
    for country, row in emergency_numbers().items():
        assert row.number.isdecimal() and len(row.number) == 3, country
        assert country in country_codes() | {"EU"}
        assert row.source and row.verified in {"read", "memory"}


def test_a_country_without_a_row_has_no_number() -> None:
    """No guess: people call their local one."""
    assert number_in("JP") is None and number_in("") is None


@pytest.mark.parametrize(
    ("law", "country", "number"),
    [
        (Jurisdiction.US, "", "911"),
        (Jurisdiction.CANADA, "", "911"),
        (Jurisdiction.UK, "", "999"),
        (Jurisdiction.EU, "", "112"),
        (Jurisdiction.EU, "IE", "112"),
        (Jurisdiction.ANZ, "", None),
        (Jurisdiction.ANZ, "NZ", "111"),
        (Jurisdiction.ANZ, "AU", "000"),
        (Jurisdiction.CODEX, "", None),
        (Jurisdiction.US, "JP", None),
    ],
)
def test_a_site_has_the_number_of_its_country(law: Jurisdiction, country: str, number: str | None) -> None:
    """As said, or else as its food law tells; Australia and New Zealand share a law and no number."""
    site = SiteFactory.build(jurisdiction=law, country=country)
    row = number_in(site.country_code)
    assert (row.number if row else None) == number


@pytest.mark.parametrize("code", ["UK", "us", "USA", "EU", "??"])
@pytest.mark.django_db
def test_what_is_no_country_is_refused(code: str) -> None:
    """ISO 3166-1: the United Kingdom is GB."""
    with pytest.raises(ValidationError, match="country"):
        SiteFactory.build(country=code).full_clean()
