"""Compare the label reader with a plain keyword search on files of labels whose declared allergens are known.

    python -m tests.benchmarks.labels_vs_keywords LABELS.jsonl[.gz] …

A row holds `statement` (the label text without its declaration), `declared_contains` (groups; rows with null are left
out) and `unknown` (groups that row cannot speak of, never scored as absent). Four figures for each reader:

- recall: declared groups that came out present or possible;
- precision: groups that came out present and were declared;
- exact set: rows whose present set is the declared set;
- all read: rows without an unread word (a keyword search never says what it did not understand).
"""

from __future__ import annotations

import argparse
import gzip
import json
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from menus.labels.jsonl import answer
from menus.labels.label import LabelText

GROUPS = {"crustacean_shellfish": "crustacean", "tree_nuts": "tree-nut", "peanuts": "peanut", "soybeans": "soy"}
NINE = frozenset({"milk", "egg", "fish", "crustacean", "tree-nut", "wheat", "peanut", "soy", "sesame"})

# What a careful person would search for: the group's names and the best-known things made from it.
KEYWORDS = {
    "milk": "milk|butter|cheese|cream|whey|casein|caseinate|lactose|yogurt|ghee|curd",
    "egg": "egg|eggs|albumin|albumen|mayonnaise|meringue",
    "fish": "fish|cod|salmon|tuna|anchovy|anchovies|tilapia|pollock|haddock|sardine|sardines|trout|halibut|"
    "worcestershire",
    "crustacean": "shrimp|prawn|prawns|crab|lobster|crayfish|crawfish|krill",
    "tree-nut": "almond|almonds|walnut|walnuts|pecan|pecans|cashew|cashews|hazelnut|hazelnuts|pistachio|pistachios|"
    "macadamia|nuts",
    "wheat": "wheat|flour|semolina|durum|spelt|gluten|bread|pasta",
    "peanut": "peanut|peanuts",
    "soy": "soy|soya|soybean|soybeans|tofu|edamame|lecithin",
    "sesame": "sesame|tahini",
}
PATTERNS = {code: re.compile(rf"\b(?:{words})\b", re.IGNORECASE) for code, words in KEYWORDS.items()}


@dataclass(frozen=True, slots=True)
class Found:
    """What one reader says of one label, US nine only."""

    present: frozenset[str]
    possible: frozenset[str]
    all_read: bool


def by_reader(statement: str) -> Found:
    says = answer(LabelText(statement))
    return Found(NINE & set(says["present"]), NINE & set(says["possible"]), not says["unread"])


def by_keywords(statement: str) -> Found:
    return Found(frozenset(code for code, words in PATTERNS.items() if words.search(statement)), frozenset(), True)


@dataclass(slots=True)
class Score:
    """Counts over rows."""

    rows: int = 0
    declared: int = 0
    recalled: int = 0
    right: int = 0
    wrong: int = 0
    exact: int = 0
    all_read: int = 0

    def add(self, row: dict[str, Any], found: Found) -> None:
        declared = {GROUPS.get(group, group) for group in row["declared_contains"]}
        unknown = {GROUPS.get(group, group) for group in row.get("unknown", [])} - declared
        present = found.present - unknown
        self.rows += 1
        self.declared += len(declared)
        self.recalled += len(declared & (found.present | found.possible))
        self.right += len(present & declared)
        self.wrong += len(present - declared)
        self.exact += present == declared
        self.all_read += found.all_read

    def line(self) -> str:
        return (
            f"recall {self.recalled / self.declared:7.2%} ({self.recalled} of {self.declared})   "
            f"precision {self.right / (self.right + self.wrong):7.2%} ({self.right} of {self.right + self.wrong})   "
            f"exact set {self.exact / self.rows:7.2%}   all read {self.all_read / self.rows:7.2%}   rows {self.rows}"
        )


def rows_of(path: Path) -> Iterator[dict[str, Any]]:
    raw = path.read_bytes()
    text = (gzip.decompress(raw) if path.suffix == ".gz" else raw).decode("utf-8")
    yield from (row for row in map(json.loads, text.splitlines()) if row["declared_contains"] is not None)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("paths", nargs="+", type=Path, metavar="LABELS.jsonl")
    parser.add_argument("--region", default="", help="only rows of this region")
    options = parser.parse_args()
    readers: dict[str, Callable[[str], Found]] = {"reader": by_reader, "keywords": by_keywords}
    rows = [
        row for path in options.paths for row in rows_of(path) if not options.region or row["region"] == options.region
    ]
    if not rows:
        parser.error("none of the files holds a row with a declared set; check the paths and --region")
    for name, reader in readers.items():
        score = Score()
        for row in rows:
            score.add(row, reader(row["statement"]))
        print(f"{name:9}{score.line()}")


if __name__ == "__main__":
    main()
