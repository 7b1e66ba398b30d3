"""How much memory this process took at most. Linux only; elsewhere nobody is told a figure."""

from __future__ import annotations

import re
from pathlib import Path

STATUS, CLEAR = Path("/proc/self/status"), Path("/proc/self/clear_refs")


def forget_peak() -> None:
    """Begin to look for the peak anew, from what is taken up now."""
    if CLEAR.exists():
        CLEAR.write_text("5")  # see proc_pid_clear_refs(5): resets the peak of the resident set


def peak_mib() -> float | None:
    """Return the largest resident set of this process since then in MiB, or None where it is not told."""
    if not STATUS.exists():
        return None
    found = re.search(r"VmHWM:\s+(\d+) kB", STATUS.read_text())
    return round(int(found[1]) / 1024, 1) if found else None
