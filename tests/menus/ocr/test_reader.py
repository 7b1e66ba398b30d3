"""Photos are read: drawn labels by the real reader, in a process of its own. Nothing here is a stand-in for it."""

from __future__ import annotations

import difflib
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from menus.ocr import reader
from menus.ocr.engine import _words
from menus.ocr.lines import Word, joined
from menus.ocr.reader import NotRead, PhotoText, text_of
from menus.pictures import clean
from tests.pictures import WAFERS, as_file, label, noisy

BICUBIC = Image.Resampling.BICUBIC


def read(image: Image.Image) -> PhotoText:
    """Read the picture as the service does: cleaned first."""
    return text_of(clean(as_file(image)).data)


def test_every_word_of_a_plain_label_is_read() -> None:
    """In reading order, line by line, with the name of who read it and how sure it was."""
    said = read(label(*WAFERS))
    assert [line.text.replace(" ", "") for line in said.lines] == [line.replace(" ", "") for line in WAFERS]
    assert said.reader.startswith("rapidocr 3.")
    assert all(0 < word.confidence <= 1 for line in said.lines for word in line.words)


@pytest.mark.parametrize(
    "held",
    [
        pytest.param(lambda image: image.rotate(6, BICUBIC, expand=True, fillcolor="white"), id="slant"),
        pytest.param(lambda image: image.transpose(Image.Transpose.ROTATE_90), id="on-its-side"),
        pytest.param(lambda image: image.transpose(Image.Transpose.ROTATE_180), id="upside-down"),
        pytest.param(noisy, id="dim-and-grainy"),
    ],
)
def test_a_label_is_read_however_it_was_held(held: Any) -> None:
    """Its words in their order: of its letters at most one in thirty differs."""
    found = joined(read(held(label(*WAFERS))).lines)
    assert difflib.SequenceMatcher(None, "\n".join(WAFERS), found, autojunk=False).ratio() > 0.97, found


def test_two_languages_side_by_side_are_not_mixed() -> None:
    """Left column to its end, then the right one."""
    english = ("INGREDIENTS: RICE FLOUR,", "PEANUTS, CANE SUGAR,", "PALM OIL, SEA SALT.", "CONTAINS: PEANUTS.")
    french = (
        "INGREDIENTS : FARINE DE RIZ,",
        "ARACHIDES, SUCRE DE CANNE,",
        "HUILE DE PALME, SEL.",
        "CONTIENT : ARACHIDES",
    )
    left, right = label(*english, width=620), label(*french)
    page = Image.new("RGB", (left.width + right.width, left.height), "white")
    page.paste(left, (0, 0))
    page.paste(right, (left.width, 0))
    found = joined(read(page).lines)
    assert found.index("CONTAINS") < found.index("FARINE") < found.index("CONTIENT")


def test_a_picture_without_words() -> None:
    """No word is an answer, not a failure."""
    assert read(Image.new("RGB", (400, 300), "grey")).lines == ()


def test_what_was_read_badly_is_marked_and_not_left_out() -> None:
    """Print of five pixels: the reader guesses, and says so."""
    image = label(*WAFERS)
    lines = read(image.resize((image.width // 6, image.height // 6)).resize(image.size)).lines
    assert len(lines) == len(WAFERS)
    assert sum(line.is_doubtful for line in lines) >= 2


class TestFailure:
    """A reader that fails costs a sentence, never a page."""

    def test_bytes_that_are_no_picture(self, caplog: pytest.LogCaptureFixture) -> None:
        """The process ends; its last words are in the log."""
        with pytest.raises(NotRead, match="The reader failed on this photo"):
            text_of(b"no picture")
        assert "UnidentifiedImageError" in caplog.text

    def test_too_slow(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """It is stopped, and says what may help."""
        monkeypatch.setattr(reader, "PATIENCE", 0.2)
        with pytest.raises(NotRead, match="took too long and was stopped"):
            text_of(clean(as_file(label(*WAFERS))).data)

    def test_when_many_wait_the_next_is_told_at_once(self) -> None:
        """Threads that wait here serve nobody's page. Afterwards there is room again."""
        room = reader._waiting_room
        with room, room, room, pytest.raises(NotRead, match="Other photos are being read just now"):
            text_of(b"")
        with pytest.raises(NotRead, match="failed"):
            text_of(b"no picture")

    @pytest.mark.parametrize("said", [b"", b"hello", b"[]", b'{"reader": "x"}', b'{"reader": "x", "lines": [[["a"]]]}'])
    def test_an_answer_that_is_none(self, monkeypatch: pytest.MonkeyPatch, said: bytes) -> None:
        """A library that prints, an answer cut off."""
        monkeypatch.setattr(reader, "_run", lambda jpeg: said)
        with pytest.raises(NotRead, match="The reader failed on this photo"):
            text_of(b"")

    def test_not_installed(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """The extra is looked for, not assumed."""
        monkeypatch.setattr(reader, "find_spec", lambda name: None)
        assert not reader.available()
        with pytest.raises(NotRead, match="not read on this machine"):
            text_of(b"")


def test_nothing_is_fetched_from_anywhere() -> None:
    """The models lie in the wheel: the reader reads with every door of the machine shut."""
    shut = (
        "import socket, runpy\n"
        "def no(*a, **k): raise SystemExit('it wanted to go out')\n"
        "socket.socket.connect = socket.create_connection = socket.getaddrinfo = no\n"
        "runpy.run_module('menus.ocr.engine', run_name='__main__')\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", shut],
        input=clean(as_file(label(*WAFERS))).data,
        capture_output=True,
        cwd=Path(reader.ROOT),
        check=True,
    )
    assert b"WHEAT" in done.stdout


@pytest.mark.parametrize(
    ("text", "letters", "expected"),
    [
        ("soy salt", [0.9, 0.8, 0.9, 0.1, 0.7, 0.9, 0.9, 1], [("soy", 0.8), ("salt", 0.7)]),
        (" soy ", [0.1, 0.9, 0.9, 0.9, 0.1], [("soy", 0.9)]),
        ("", [], []),
    ],
)
def test_a_word_is_as_sure_as_its_least_sure_letter(text: str, letters: list[float], expected: list[Any]) -> None:
    """The gaps between words count for neither."""
    assert _words(text, letters) == tuple(Word(word, sure) for word, sure in expected)
