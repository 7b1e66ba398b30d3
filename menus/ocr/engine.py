"""The reader itself, run as a program of its own: a JPEG comes in, lines of words go out as JSON.

It is kept apart from the service because it is large, slow and not ours: what goes wrong in it ends this process and
nothing else, and one that takes too long can be stopped. Nothing is fetched from anywhere: the models lie in
rapidocr's wheel and are named by their files. Started by `menus.ocr.reader`.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.metadata import version
from io import BytesIO
from itertools import groupby
from pathlib import Path
from statistics import mean
from typing import Any

import rapidocr
from PIL import Image
from rapidocr.main import RapidOCRError

from menus.ocr.layout import Corners, in_reading_order, lies_on_its_side
from menus.ocr.lines import Line, Word, lines_json

MODELS = Path(rapidocr.__file__).parent / "models"
LONGEST_SIDE = 2400
"""Pixels along the longer side at which a picture is read; time grows with their square. Print lower than some 14 of
them is lost (measured): on a label 12 cm wide that fills the picture, print lower than 0.7 mm."""

UPRIGHT = 0.8
"""Drawn labels upside down are read with a confidence of 0.63 at most, the right way up with 0.92 and more (measured,
legible print)."""


@dataclass(frozen=True, slots=True)
class Found:
    """A piece of text on the picture."""

    corners: Corners
    words: tuple[Word, ...]


def main() -> None:
    """Read a JPEG from standard input and write what was read to standard output."""
    if hasattr(os, "nice"):  # not on Windows
        os.nice(10)  # whoever waits for a page goes first
    with Image.open(BytesIO(sys.stdin.buffer.read())) as image:
        lines = read(image.convert("RGB"))
    json.dump({"reader": f"rapidocr {version('rapidocr')}", "lines": lines_json(lines)}, sys.stdout)


def read(image: Image.Image) -> list[Line]:
    """Return the lines of the picture as a person would read them, however it was held."""
    found = _upright(_engine(), image)
    return [
        Line(tuple(word for index in row for word in found[index].words))
        for row in in_reading_order([each.corners for each in found])
    ]


def _upright(engine: Any, image: Image.Image) -> list[Found]:
    """Return the pieces of the picture, turned so that its text runs from left to right."""
    found = _pieces(engine, image)
    if found and lies_on_its_side([each.corners for each in found]):
        image = image.transpose(Image.Transpose.ROTATE_90)
        found = _pieces(engine, image)
    if not found or _confidence(found) >= UPRIGHT:
        return found
    return max(found, _pieces(engine, image.transpose(Image.Transpose.ROTATE_180)), key=_confidence)


def _confidence(found: list[Found]) -> float:
    return mean([word.confidence for each in found for word in each.words] or [0])


def _pieces(engine: Any, image: Image.Image) -> list[Found]:
    """Return what the engine finds, step by step: only its own steps tell how sure it is of each letter."""
    picture, done = engine.preprocess_img(engine.load_img(image))
    try:
        crops, seen = engine.detect_and_crop(picture, done)
    except RapidOCRError:  # no text anywhere
        return []
    said = engine.recognize_txt(crops)
    return [
        Found([(float(x), float(y)) for x, y in box], _words(text, letters.confs))
        for box, text, letters in zip(seen.boxes, said.txts, said.word_results, strict=True)
        if text.strip()
    ]


def _words(text: str, letters: Sequence[float]) -> tuple[Word, ...]:
    """Return the words between spaces, each as sure as its least sure letter."""
    each = zip(text, letters, strict=True)
    words = [list(group) for blank, group in groupby(each, lambda pair: pair[0].isspace()) if not blank]
    return tuple(Word("".join(letter for letter, _ in word), round(min(s for _, s in word), 3)) for word in words)


def _engine() -> Any:
    return rapidocr.RapidOCR(
        params={
            "Global.log_level": "critical",
            "Global.text_score": 0.0,  # a line read badly is shown as doubtful, not left out
            "Global.use_cls": False,  # it turns line by line, and so would mix up the lines of a page upside down
            "Global.return_word_box": True,
            "Global.max_side_len": LONGEST_SIDE,
            "Det.model_path": str(MODELS / "PP-OCRv6_det_small.onnx"),
            "Rec.model_path": str(MODELS / "PP-OCRv6_rec_small.onnx"),
        }
    )


if __name__ == "__main__":
    main()
