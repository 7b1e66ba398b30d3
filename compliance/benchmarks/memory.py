"""How much memory a process took at most. Linux only; elsewhere nobody is told a figure."""

from __future__ import annotations

import os
import re
from pathlib import Path

PROCESSES = Path("/proc")


def forget_peak() -> None:
    """Begin to look for this process's peak anew, from what is taken up now."""
    clear = PROCESSES / "self" / "clear_refs"
    if clear.exists():
        clear.write_text("5")  # see proc_pid_clear_refs(5): resets the peak of the resident set


def peak_mib(pid: int | None = None) -> float | None:
    """Return the largest resident set of a process in MiB, or of this one since then; None where it is not told."""
    status = PROCESSES / str(pid or os.getpid()) / "status"
    if not status.exists():
        return None
    found = re.search(r"VmHWM:\s+(\d+) kB", status.read_text())
    return round(int(found[1]) / 1024, 1) if found else None
