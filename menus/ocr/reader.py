"""Read the words on a photo, where the extra `ocr` is installed; otherwise say that it is not."""

from __future__ import annotations

import json
import logging
import subprocess
import sys
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from threading import BoundedSemaphore, Lock

from menus.ocr.lines import Line, lines_from_json

logger = logging.getLogger(__name__)

ROOT = Path(__file__).resolve().parents[2]
PATIENCE = 60
"""Seconds that a photo may take with the start of the reader. A label takes 5, a page full of print 15 (measured)."""

_one_at_a_time = Lock()
"""The reader uses every core and up to a gigabyte; two photos at once would only take twice as long each."""

_waiting_room = BoundedSemaphore(3)
"""Who is being read and who waits. More would hold the threads that other people's pages need."""


FAILED = "The reader failed on this photo. Type what the package says; nothing else is amiss."


class NotRead(Exception):
    """The photo was not read. The message says why and how to go on; it is fit for a page."""


@dataclass(frozen=True, slots=True)
class PhotoText:
    """What was read on a photo, in reading order, and which reader read it."""

    reader: str
    lines: tuple[Line, ...]


def available() -> bool:
    """Tell whether photos can be read here."""
    return find_spec("rapidocr") is not None and find_spec("onnxruntime") is not None


def text_of(jpeg: bytes) -> PhotoText:
    """Return the words on the photo; none is an answer too. Raises NotRead, within three times PATIENCE."""
    if not available():
        raise NotRead("Photos are not read on this machine.")
    if not _waiting_room.acquire(blocking=False):
        raise NotRead(
            "Other photos are being read just now. Choose the photo again in a minute, or type what the package says."
        )
    try:
        with _one_at_a_time:
            return _parsed(_run(jpeg))
    finally:
        _waiting_room.release()


def _run(jpeg: bytes) -> bytes:
    try:
        done = subprocess.run(
            [sys.executable, "-m", "menus.ocr.engine"],
            input=jpeg,
            capture_output=True,
            cwd=ROOT,
            timeout=PATIENCE,
            check=True,
        )
    except subprocess.TimeoutExpired as error:
        raise NotRead(
            "Reading this photo took too long and was stopped. Take it closer, with only the label in the picture, "
            "or type what the package says."
        ) from error
    except (subprocess.CalledProcessError, OSError) as error:
        logger.error("A photo could not be read: %s %s", error, getattr(error, "stderr", b""))
        raise NotRead(FAILED) from error
    return done.stdout


def _parsed(said: bytes) -> PhotoText:
    try:
        answer = json.loads(said)
        return PhotoText(answer["reader"], lines_from_json(answer["lines"]))
    except (ValueError, KeyError, TypeError) as error:
        logger.error("The reader of photos said what nobody understands: %.200r", said)
        raise NotRead(FAILED) from error
