"""A mail server of thirty lines: it turns everybody away until it is told to take what comes."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from socketserver import StreamRequestHandler, ThreadingTCPServer
from threading import Thread


class _Talk(StreamRequestHandler):
    """One connection, as in RFC 5321: a line for each command, a lone dot after the message."""

    server: Postbox

    def handle(self) -> None:
        if self.server.refuses:
            self._say("421 Not now")
            return
        self._say("220 Ready")
        to: list[str] = []
        while line := self.rfile.readline():
            command = line.decode().strip().upper()
            if command.startswith("RCPT TO:"):
                to.append(line.decode().strip()[8:].strip("<> "))
            if command == "DATA":
                self._say("354 Go on")
                self.server.mails.append((to, self._message()))
                to = []
            self._say("221 Bye" if command == "QUIT" else "250 Good")

    def _message(self) -> str:
        lines = []
        while (line := self.rfile.readline()) not in (b".\r\n", b""):
            lines.append(line.decode())
        return "".join(lines)

    def _say(self, what: str) -> None:
        self.wfile.write(f"{what}\r\n".encode())


class Postbox(ThreadingTCPServer):
    """Keeps what it took, as (addresses, message)."""

    daemon_threads = True

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), _Talk)
        self.refuses = True
        self.mails: list[tuple[list[str], str]] = []

    @property
    def settings(self) -> dict[str, str]:
        """What makes a service post its mail here."""
        return {"EMAIL_HOST": "127.0.0.1", "EMAIL_PORT": str(self.server_address[1]), "EMAIL_USE_TLS": "0"}


@contextmanager
def postbox() -> Iterator[Postbox]:
    """A mail server that refuses, while the block lasts."""
    with Postbox() as server:
        thread = Thread(target=server.serve_forever, args=[0.05], daemon=True)
        thread.start()
        try:
            yield server
        finally:
            server.shutdown()
            thread.join()
