"""How long a teacher waits: a pasted label checked for a class of thirty, in Chromium against the running service.

    python -m tests.benchmarks.treat_check [--requests 200] [--children 30]

Prints JSON: milliseconds from the tap on “Check this label” to the answer on the screen, the same for reloading the
question page alone, and the ratio of the two. The service runs in a process of its own, on SQLite in an empty folder.
"""

from __future__ import annotations

import argparse
import json
import os
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

ROOT = Path(__file__).resolve().parent.parent.parent
SUBSTANCES = ["milk", "egg", "peanut", "soy", "wheat", "tree-nut", "sesame", "gluten", "pork", "kiwi"]
LABEL = Path(__file__).parent / "data" / "cookie_label.txt"


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    arguments.add_argument("--requests", type=int, default=200)
    arguments.add_argument("--children", type=int, default=30)
    wanted = arguments.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {
            "DATA_DIR": folder,
            "DJANGO_SETTINGS_MODULE": "compliance.config.settings",
            "RATE_TREAT": "100000/min",  # one teacher here asks as often as a school
            "DJANGO_ALLOW_ASYNC_UNSAFE": "1",  # Playwright's event loop runs in this thread
        }
        _prepare(wanted.children)
        with _service() as address:
            print(json.dumps(_measure(address, wanted.requests, wanted.children), indent=2))


def _prepare(children: int) -> None:
    """Make a class of which every third child has a restriction: more than any real one."""
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    from roster.models import Role
    from tests.factories import (
        ChildFactory,
        ClassroomFactory,
        EnrolmentFactory,
        PostFactory,
        RestrictionFactory,
        UserFactory,
    )

    classroom = ClassroomFactory()
    PostFactory(user=UserFactory(username="teacher"), role=Role.TEACHER, classroom=classroom, site=None)
    for number in range(children):
        child = ChildFactory()
        EnrolmentFactory(child=child, classroom=classroom)
        if number % 3 == 0:
            RestrictionFactory(child=child, substance=SUBSTANCES[number // 3 % len(SUBSTANCES)])


@contextmanager
def _service() -> Iterator[str]:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    address = f"http://127.0.0.1:{port}"
    command = [sys.executable, "manage.py", "serve", "--port", str(port)]
    process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL)
    try:
        _wait_for(f"{address}/healthz")
        yield address
    finally:
        process.terminate()
        process.wait(timeout=30)


def _wait_for(address: str) -> None:
    for _ in range(300):
        try:
            with urlopen(address, timeout=2):
                return
        except URLError:
            time.sleep(0.1)
    raise SystemExit("The service did not answer within half a minute.")


def _measure(address: str, requests: int, children: int) -> dict[str, object]:
    from playwright.sync_api import sync_playwright

    from roster.models import User
    from tests.chromium import ARGUMENTS, Live, executable

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=executable(), args=ARGUMENTS)
        window = Live(browser, address)
        window.sign_in(User.objects.get(username="teacher"))
        page, label = window.page, LABEL.read_text()

        def question() -> None:
            page.goto("/treat/")
            page.fill("[name=text]", label)

        def check() -> None:
            page.get_by_role("button", name="Check this label").click()
            page.wait_for_selector("#none-found")

        def reload() -> None:
            page.reload()
            page.wait_for_selector("text=Check this label")

        question()
        check()  # once unmeasured: the first request loads the lexicon
        answers, reloads = [], []
        for _ in range(requests):  # in turn, so that a busy moment touches both
            question()
            reloads.append(_milliseconds(reload))
            page.fill("[name=text]", label)
            answers.append(_milliseconds(check))
        window.close()
        browser.close()
    return {
        "children": children,
        "requests": requests,
        "answer_ms": _summary(answers),
        "question_page_alone_ms": _summary(reloads),
        "ratio_of_p95": round(_p95(answers) / _p95(reloads), 2),
    }


def _milliseconds(step: Callable[[], None]) -> float:
    begun = time.perf_counter()
    step()
    return (time.perf_counter() - begun) * 1000


def _p95(times: list[float]) -> float:
    return statistics.quantiles(times, n=20)[-1]


def _summary(times: list[float]) -> dict[str, float]:
    return {"median": round(statistics.median(times), 1), "p95": round(_p95(times), 1), "max": round(max(times), 1)}


if __name__ == "__main__":
    main()
