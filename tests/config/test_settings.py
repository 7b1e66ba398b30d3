"""A wrong setting stops the start, by name."""

from __future__ import annotations

from pathlib import Path

import pytest
from cryptography.fernet import Fernet
from django.core.exceptions import ImproperlyConfigured

from compliance.config import checks, env
from compliance.config import settings as settings_module
from compliance.config.checks import check_settings
from menus.sealed import SealedStorage

KEY, OTHER = (Fernet.generate_key().decode() for _ in range(2))


def test_a_flag_that_is_neither_yes_nor_no(monkeypatch: pytest.MonkeyPatch) -> None:
    """The message names the variable, its value and what to write."""
    monkeypatch.setenv("BEHIND_HTTPS", "maybe")
    with pytest.raises(ImproperlyConfigured, match=r"BEHIND_HTTPS is 'maybe', which is neither yes nor no\."):
        env.flag("BEHIND_HTTPS", default=False)


@pytest.mark.parametrize(("text", "value"), [("1", True), ("Yes", True), ("off", False), ("", False)])
def test_a_flag_in_its_spellings(monkeypatch: pytest.MonkeyPatch, text: str, value: bool) -> None:
    """Yes and no in the ways that people write them."""
    monkeypatch.setenv("BEHIND_HTTPS", text)
    assert env.flag("BEHIND_HTTPS", default=not value) is value


def test_a_number_that_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    """The message names the variable, its value and what to write."""
    monkeypatch.setenv("NIGHTLY_HOUR", "two")
    with pytest.raises(ImproperlyConfigured, match="NIGHTLY_HOUR is 'two', which is not a whole number"):
        env.number("NIGHTLY_HOUR", 2)


def test_words_are_split_at_commas(monkeypatch: pytest.MonkeyPatch) -> None:
    """Spaces and empty places count for nothing."""
    monkeypatch.setenv("ALLOWED_HOSTS", "a.example, b.example,,")
    assert env.words("ALLOWED_HOSTS") == ["a.example", "b.example"]


@pytest.mark.parametrize(
    ("name", "value", "found"),
    [
        ("NIGHTLY_HOUR", 24, ["compliance.E001"]),
        ("NIGHTLY_HOUR", 0, []),
        ("NIGHTLY_WINDOW_DAYS", 0, ["compliance.E002"]),
        ("LABEL_MAX_AGE_DAYS", -1, ["compliance.E002"]),
        ("SITE_ADDRESS", "menus.school.example", ["compliance.E003"]),
        ("SITE_ADDRESS", "https://menus.school.example", []),
        ("EMAIL_BACKEND", "django.core.mail.backends.smtp.EmailBackend", ["compliance.W001"]),
    ],
)
def test_settings_that_make_no_sense(settings, name: str, value: object, found: list[str]) -> None:
    """Each has an id, and a hint that names the setting."""
    settings.EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"
    setattr(settings, name, value)
    messages = check_settings()
    assert [message.id for message in messages] == found
    assert all(message.hint for message in messages)


class TestKeysOfFiles:
    """Whether the kept files can be opened is known at the start."""

    @pytest.fixture
    def begun(self, tmp_path: Path) -> Path:
        """A folder begun with KEY."""
        assert SealedStorage(keys=[KEY], location=tmp_path).is_readable()
        return tmp_path

    @pytest.mark.parametrize(("keys", "found"), [([KEY], []), ([OTHER, KEY], []), ([OTHER], ["compliance.E004"])])
    def test_keys_that_fit_and_that_do_not(
        self, monkeypatch: pytest.MonkeyPatch, begun: Path, keys: list[str], found: list[str]
    ) -> None:
        """One key that fits is enough; with none the start says so, and how to mend it."""
        monkeypatch.setattr(checks, "default_storage", SealedStorage(keys=keys, location=begun))
        messages = checks.check_files()
        assert [message.id for message in messages] == found
        assert all("FILE_KEYS" in str(message.hint) for message in messages)

    def test_a_new_folder_is_begun(self, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
        """Nothing is wrong on the first start."""
        monkeypatch.setattr(checks, "default_storage", SealedStorage(keys=[KEY], location=tmp_path / "files"))
        assert checks.check_files() == []

    def test_a_key_made_on_first_start_is_kept(self, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
        """Made once, readable by its owner only, whoever starts beside."""
        monkeypatch.setattr(settings_module, "DATA_DIR", tmp_path)
        monkeypatch.delenv("FILE_KEY", raising=False)
        made = settings_module._secret("FILE_KEY", lambda: KEY)
        assert made == KEY == settings_module._secret("FILE_KEY", lambda: OTHER)
        (kept,) = tmp_path.iterdir()
        assert kept.stat().st_mode & 0o777 == 0o600
