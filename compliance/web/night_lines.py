"""How the page of nights, and the terminal, say what a night came to, what is late and what was given up."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from compliance.models import DeadLetter, NightSlice, Run
from compliance.operations.nights import Fate, NightPart
from compliance.operations.overdue import Overdue
from compliance.operations.timeleft import in_words

WHAT_TO_DO = {
    DeadLetter.Reason.ERROR: "Mend what the error names, then try again; it fails in the same way until then.",
    DeadLetter.Reason.BUSY: "Something else kept checking the site. Try again now; if it stays so, look at its runs.",
    DeadLetter.Reason.AWAY: "See that the database and the broker run, then try again.",
    DeadLetter.Reason.SLOW: "See whether the machine is overloaded; then try again.",
    DeadLetter.Reason.LOST: "See whether the workers are stopped from outside or run out of memory; then try again.",
}
"""The next step for whoever reads it, by why the work was given up."""


@dataclass(frozen=True, slots=True)
class NightLine:
    """One night in words."""

    part: NightPart

    @property
    def how(self) -> str:
        """How it came about, where that is out of the ordinary."""
        night = self.part.night
        by_hand = ["by hand"] if night.trigger != Run.Trigger.NIGHT else []
        return ", ".join(by_hand + ([f"tried again, turn {night.turn}"] if night.turn > 1 else []))

    @property
    def state(self) -> str:
        """How it stands, for the sites that one is told of."""
        if self.part.is_under_way:
            return f"Under way, {self.left}"
        return self.part.state.label

    @property
    def left(self) -> str:
        """How long the whole of it will go on: other sites may wait after one's own are done."""
        if self.part.left is None:
            return "too early to say how long"
        left = f"about {in_words(self.part.left)} left"
        return f"done here; for other sites {left}" if self.part.ended == self.part.total else left

    @property
    def sites(self) -> str:
        """How many sites met which fate."""
        told = {Fate.BUSY: "busy", Fate.FAILED: "failed", Fate.RUNNING: "being checked", Fate.WAITING: "waiting"}
        rest = [f"{self.part.sites[fate]} {words}" for fate, words in told.items() if self.part.sites[fate]]
        return ", ".join([f"{self.part.sites[Fate.CHECKED]} of {self.part.total} checked", *rest])

    @property
    def slices(self) -> str:
        """How many slices are in which state."""
        states = self.part.states
        return ", ".join(f"{states[state]} {state.label.lower()}" for state in NightSlice.State if states[state])

    @property
    def took(self) -> str:
        """How long it took; empty while it is under way."""
        night = self.part.night
        return in_words(night.closed_at - night.started_at) if night.closed_at else ""

    @property
    def failed(self) -> list[NightSlice]:
        """The slices that failed as a whole. Why may name any site of theirs: for who is told of all sites alone."""
        return [part.slice for part in self.part.slices if part.slice.state == NightSlice.State.FAILED]


@dataclass(frozen=True, slots=True)
class OverdueLine:
    """One site that was last checked too long ago, and the id of the failed run since."""

    pk: int
    since: str
    cause: str
    why: str
    what_to_do: str
    run: int | None

    @classmethod
    def of(cls, late: Overdue, now: datetime) -> OverdueLine:
        """Return it in words."""
        run = late.failure.pk if late.failure else None
        return cls(late.site.pk, late.since(now), late.cause, late.why, late.what_to_do, run)


@dataclass(frozen=True, slots=True)
class LetterLine:
    """One piece of work that was given up."""

    pk: int
    place: str
    ago: str
    why: str
    error: str
    what_to_do: str

    @classmethod
    def of(cls, letter: DeadLetter, now: datetime, *, tells_all: bool) -> LetterLine:
        """Return it in words. Where a slice failed as a whole, why may name any site of it: for who is told of all."""
        reason = DeadLetter.Reason(letter.reason)
        of_others = letter.slice is not None and letter.slice.state == NightSlice.State.FAILED
        tries = f"after {letter.attempts} tries" if letter.attempts > 1 else "at the first try"
        return cls(
            pk=letter.pk,
            place=str(letter.site or letter.slice or letter.task),
            ago=f"{in_words(now - letter.failed_at)} ago, {tries}",
            why=reason.label,
            error=letter.error if tells_all or not of_others else "",
            what_to_do=WHAT_TO_DO[reason],
        )


def lines_of(parts: Iterable[NightPart]) -> list[NightLine]:
    """Return the nights in words."""
    return [NightLine(part) for part in parts]
