"""What stops a benchmark. The message says what to do, or what was found."""

from __future__ import annotations


class CannotMeasure(Exception):
    """There is nothing to measure on, or the service did not answer."""


class Disagreement(CannotMeasure):
    """Two ways did not find the same: one of them judges or joins wrongly, and no figure is worth telling."""
