"""Where everything stands in the picture of a kitchen's day: equipment as rows, time along, one column for each minute
at which something happens. Numbers are pixels of the drawing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from textwrap import shorten, wrap

from compliance.checks.dayline import Entry
from compliance.checks.kitchenday import Carry, KitchenDay, Row
from menus.models import Action

COLUMN, HEAD, MARGIN = 112, 34, 8
BAR_WIDTH, BAR, GAP = 104, 62, 6
LEAST = 780  # as wide as a tablet shows
LANE, LETTER = 30, 8
ABOVE = 28  # for the name of the row
LINES, CHARACTERS = 3, 12  # of a dish's name in its bar
NAMED = 26  # characters of what an arrow carries


@dataclass(frozen=True, slots=True)
class Bar:
    """A dish on a piece of equipment, or what else was done to it."""

    x: int
    y: int
    entry: Entry
    words: tuple[tuple[int, str], ...]  # each line of text with its height

    @property
    def shown(self) -> str:
        """The words as they stand in the bar."""
        return " ".join(line for _, line in self.words)


@dataclass(frozen=True, slots=True)
class Arrow:
    """What carried over, from the column where it was left to the one where it was taken up."""

    carry: Carry
    path: str
    head: str
    label: str
    x: int  # of the label's left edge
    y: int
    width: int

    @property
    def middle(self) -> int:
        """Where the words stand."""
        return self.x + self.width // 2


@dataclass(frozen=True, slots=True)
class Strip:
    """One row of the picture. Its line breaks where a cleaning counts."""

    row: Row
    y: int
    height: int
    line: int  # height of the line
    stretches: tuple[tuple[int, int], ...]
    bars: tuple[Bar, ...]
    arrows: tuple[Arrow, ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """The whole drawing."""

    width: int
    height: int
    times: tuple[tuple[int, datetime], ...]
    strips: tuple[Strip, ...]
    now: int | None


def picture(day: KitchenDay) -> Picture:
    """Lay out the rows on which something happens or is planned."""
    rows = [row for row in day.rows if row.entries]
    columns = _columns(entry.at for row in rows for entry in row.entries)
    strips: list[Strip] = []
    y = HEAD
    for row in rows:
        strips.append(_strip(row, [each for each in day.carries if each.surface == row.surface], columns, y))
        y += strips[-1].height
    now = MARGIN + COLUMN * sum(at <= day.now for at in columns)
    today = day.now.astimezone(day.site.zone).date()
    return Picture(
        width=max(LEAST, 2 * MARGIN + COLUMN * len(columns)),
        height=y + MARGIN,
        times=tuple((MARGIN + COLUMN * number, at) for at, number in columns.items()),
        strips=tuple(strips),
        now=now if day.day == today else None,
    )


def _columns(times: Iterable[datetime]) -> dict[datetime, int]:
    return {at: number for number, at in enumerate(sorted({_minute(at) for at in times}))}


def _minute(at: datetime) -> datetime:
    return at.replace(second=0, microsecond=0)


def _strip(row: Row, carries: Sequence[Carry], columns: dict[datetime, int], y: int) -> Strip:
    bars: list[Bar] = []
    met: dict[int, int] = {}
    for entry in row.entries:
        column = columns[_minute(entry.at)]
        bars.append(_bar(entry, column, y + ABOVE + met.get(column, 0) * (BAR + GAP)))
        met[column] = met.get(column, 0) + 1
    below = y + ABOVE + max(met.values()) * (BAR + GAP)
    arrows, lanes = _arrows(carries, columns, below)
    return Strip(
        row=row,
        y=y,
        height=below - y + lanes * LANE + GAP,
        line=y + ABOVE + BAR // 2,
        stretches=tuple(_stretches(row, columns)),
        bars=tuple(bars),
        arrows=tuple(arrows),
    )


def _bar(entry: Entry, column: int, y: int) -> Bar:
    words = wrap(_words(entry), CHARACTERS) or [""]
    if len(words) > LINES:
        words = [*words[: LINES - 1], shorten(" ".join(words[LINES - 1 :]), CHARACTERS, placeholder="…")]
    first = y + BAR // 2 + 5 - (len(words) - 1) * 8
    return Bar(
        x=MARGIN + COLUMN * column + (COLUMN - BAR_WIDTH) // 2,
        y=y,
        entry=entry,
        words=tuple((first + number * 16, line) for number, line in enumerate(words)),
    )


def _words(entry: Entry) -> str:
    if entry.action is Action.CLEAN and not entry.counts:
        return "no record: not cleaned"
    if entry.action is Action.CLEAN and not entry.ends_residue:
        return "wiped, not cleaned"
    if entry.action is Action.CLEAN:
        return "cleaned" if entry.event else "clean"
    if entry.serving and entry.action is Action.COVER:
        return f"cover {entry.serving.recipe.name}"
    return entry.serving.recipe.name if entry.serving else entry.action.label


def _stretches(row: Row, columns: dict[datetime, int]) -> Iterable[tuple[int, int]]:
    """The line of a row between the cleanings that count."""
    begin = MARGIN
    for entry in row.entries:
        if entry.ends_residue:
            x = MARGIN + COLUMN * columns[_minute(entry.at)]
            if x > begin:
                yield begin, x
            begin = x + COLUMN
    end = MARGIN + COLUMN * len(columns)
    if end > begin:
        yield begin, end


def _arrows(carries: Sequence[Carry], columns: dict[datetime, int], top: int) -> tuple[list[Arrow], int]:
    """Return the arrows, each in the first lane where it meets no other, and how many lanes they take."""
    lanes: list[int] = []  # where each lane is free again
    arrows: list[Arrow] = []
    for carry in sorted(carries, key=lambda each: (each.left_at, each.taken_at)):
        begin, end = _centre(carry.left_at, columns), _centre(carry.taken_at, columns)
        if begin == end:
            begin, end = begin - BAR_WIDTH // 3, end + BAR_WIDTH // 3
        label = _label(carry)
        width = LETTER * len(label) + 14
        left = max(MARGIN // 2, (begin + end - width) // 2)
        free_from = min(begin, left)
        lane = next((number for number, free in enumerate(lanes) if free <= free_from), len(lanes))
        lanes[lane : lane + 1] = [max(end, left + width) + GAP]
        arrows.append(_arrow(carry, begin, end, top + lane * LANE, top, label, left, width))
    # The lowest first, so that the stems of lower ones pass behind the words of the others.
    return sorted(arrows, key=lambda arrow: -arrow.y), len(lanes)


def _label(carry: Carry) -> str:
    """The names that fit, those that concern somebody first, and how many more there are."""
    names = carry.named
    shown = max((n for n in range(1, len(names) + 1) if len(", ".join(names[:n])) <= NAMED), default=1)
    more = f" +{len(names) - shown}" if shown < len(names) else ""
    return shorten(", ".join(names[:shown]), NAMED, placeholder=" …") + more


def _arrow(carry: Carry, begin: int, end: int, y: int, top: int, label: str, left: int, width: int) -> Arrow:
    middle = y + LANE // 2
    start = f"M{begin},{top - GAP}V{middle}" if begin > MARGIN else f"M0,{middle}"
    return Arrow(
        carry=carry,
        path=f"{start}H{end}V{top - GAP + 9}",
        head=f"M{end - 7},{top - GAP + 10}L{end},{top - GAP}L{end + 7},{top - GAP + 10}Z",
        label=label,
        x=left,
        y=y + 3,
        width=width,
    )


def _centre(at: datetime, columns: dict[datetime, int]) -> int:
    """The middle of the column of that time; the left edge for what was left on a day before."""
    number = max((number for time, number in columns.items() if time <= at), default=None)
    return MARGIN if number is None else MARGIN + COLUMN * number + COLUMN // 2
