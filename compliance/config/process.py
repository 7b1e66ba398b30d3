"""One process for everything: pages by waitress, Celery's own worker and beat as threads beside it."""

from __future__ import annotations

import errno
import signal
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Thread
from typing import Any, NoReturn

import waitress
from celery.beat import Service
from celery.worker import WorkController, state
from django.conf import settings
from django.db import connections
from django_celery_beat.schedulers import DatabaseScheduler
from waitress import wasyncore

from compliance.config.celery import app
from menus.pictures import MOST_BYTES

PATIENCE = 60
"""Seconds that a check under way is given to come to its end when the service stops."""


class PortTaken(Exception):
    """Somebody else listens there. The message says how to go on."""


def ask_for_port(host: str, port: int) -> None:
    """Raise PortTaken when the port cannot be had. Asked first, so that nobody waits for set-up in vain."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            raise PortTaken(_why_not(host, port, error)) from error


def serve(host: str, port: int) -> None:
    """Serve pages until SIGINT or SIGTERM; without a broker also run the worker and beat. Returns when all is shut."""
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, _leave)
    if settings.ONE_PROCESS:
        with background():
            _serve_pages(host, port)
    else:
        _serve_pages(host, port)


@contextmanager
def background() -> Iterator[None]:
    """Run Celery's worker and beat as threads of this process while the block lasts; then let them finish."""
    worker = app.WorkController(
        pool="threads", concurrency=1, without_gossip=True, without_mingle=True, without_heartbeat=True
    )
    # One second: how long beat sleeps at most, and so how long it may take to stop.
    beat = Service(app, max_interval=1, scheduler_cls=DatabaseScheduler)
    threads = [
        Thread(target=_closing, args=(worker.start,), name="worker", daemon=True),
        Thread(target=_closing, args=(beat.start,), name="beat", daemon=True),
    ]
    for thread in threads:
        thread.start()
    try:
        yield
    finally:
        _stop(worker, beat, threads)


def _stop(worker: WorkController, beat: Service, threads: list[Thread]) -> None:
    beat.stop()
    state.should_stop = 0  # type: ignore[assignment]  # the worker's own flag: finish what you have, then leave
    for thread in threads:
        thread.join(PATIENCE)
    state.should_stop = None


def _closing(work: Any) -> None:
    """Run a thread's work and close what it opened: database connections belong to their thread."""
    try:
        work()
    finally:
        connections.close_all()


def _serve_pages(host: str, port: int) -> None:
    from compliance.config.wsgi import application

    sockets: dict[int, Any] = {}
    proxy: dict[str, Any] = {}
    if settings.BEHIND_HTTPS:
        # Else waitress drops the headers by which Django knows that the browser spoke HTTPS to the proxy, and where it
        # is. Of several addresses the last counts: the one that the proxy has seen itself.
        headers = {"x-forwarded-proto", "x-forwarded-for"}
        proxy = {"trusted_proxy": "*", "trusted_proxy_count": 1, "trusted_proxy_headers": headers}
    try:
        server = waitress.create_server(
            application,
            map=sockets,
            host=host,
            port=port,
            threads=8,
            ident=None,
            # Larger than what is taken in, so that a sentence on the page refuses it and not a broken connection.
            max_request_body_size=max(2 * settings.IMPORT_MAX_BYTES, 5 * MOST_BYTES),
            **proxy,
        )
    except OSError as error:
        raise PortTaken(_why_not(host, port, error)) from error
    try:
        server.run()  # returns when the signal's SystemExit reaches it
    finally:
        wasyncore.close_all(sockets)  # the browsers' connections too, not only the door


def _leave(number: int, frame: Any) -> NoReturn:
    raise SystemExit(0)


def _why_not(host: str, port: int, error: OSError) -> str:
    if error.errno == errno.EADDRINUSE:
        return f"Port {port} is in use, perhaps by this service started before. Stop that, or give --port {port + 1}."
    return f"The service cannot listen on {host}, port {port}: {error.strerror}. Give another --host or --port."
