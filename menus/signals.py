"""Said when a fact about food was recorded, so that what depends on it can be checked again.

Receivers run inside the transaction that recorded the fact: queue work on commit, never do it on the spot.
"""

from __future__ import annotations

from django.dispatch import Signal

facts_changed = Signal()
"""Sent with `instance`: the label, recipe version, serving, accepted word or its end that is new."""

rows_written = Signal()
"""Sent with `site`, `made` and `withdrawn` (lists of ids) when rows of the sender's table were written many at once.

Servings come with `marked` too: by id, what they are one choice of from now on.
"""

keys_rotated = Signal()
"""Sent when the kept files were encrypted anew. Receivers do so with what else FILE_KEYS opens, and return how many."""
