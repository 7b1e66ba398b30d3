"""Say to browsers what no page of ours asks for, and that nothing of ours is for the pages of others."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

ONLY_OURS = ("camera", "fullscreen", "publickey-credentials-create", "publickey-credentials-get")
"""The camera reads bars and takes photos of labels; a passkey is a second factor."""

NOBODY = (
    "accelerometer",
    "autoplay",
    "bluetooth",
    "browsing-topics",
    "display-capture",
    "encrypted-media",
    "geolocation",
    "gyroscope",
    "hid",
    "idle-detection",
    "magnetometer",
    "microphone",
    "midi",
    "payment",
    "screen-wake-lock",
    "serial",
    "usb",
)
POLICY = ", ".join([*(f"{name}=(self)" for name in ONLY_OURS), *(f"{name}=()" for name in NOBODY)])


def browser_rights(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Return middleware that puts both on every answer (W3C Permissions Policy; Fetch: resource policy)."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response.headers.setdefault("Permissions-Policy", POLICY)
        response.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        return response

    return answer
