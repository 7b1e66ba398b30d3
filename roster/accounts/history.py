"""What is kept of a sign-in, or of one that failed."""

from __future__ import annotations

import ipaddress
import re
from datetime import timedelta

from axes.helpers import get_client_ip_address
from django.conf import settings
from django.http import HttpRequest
from django.utils import timezone

from roster.models import SignIn, User, Way

FAMILIES = (
    ("Edg", "Edge"),
    ("OPR", "Opera"),
    ("SamsungBrowser", "Samsung Internet"),
    ("Firefox", "Firefox"),
    ("FxiOS", "Firefox"),
    ("CriOS", "Chrome"),
    ("Chrome", "Chrome"),
    ("Safari", "Safari"),
)
"""What a browser's own line says of it (RFC 9110 section 10.1.5), the narrower word first, since they borrow names."""
SYSTEMS = (
    ("iPhone", "iPhone"),
    ("iPad", "iPad"),
    ("Android", "Android"),
    ("Windows", "Windows"),
    ("CrOS", "ChromeOS"),
    ("Mac OS X", "macOS"),
    ("Linux", "Linux"),
)


def remember_sign_in(
    user: User, way: Way, request: HttpRequest | None, *, came_in: bool, locked: bool = False
) -> SignIn:
    """Write down a sign-in or a failed one, and let go of the person's entries that are older than is kept."""
    kept = timezone.now() - timedelta(days=settings.SIGN_IN_KEPT_DAYS)
    SignIn.objects.filter(user=user, recorded_at__lt=kept).delete()
    return SignIn.objects.create(
        user=user,
        way=way,
        came_in=came_in,
        locked=locked,
        network=network_of(get_client_ip_address(request) if request else None),
        browser=browser_of(request.headers.get("User-Agent", "") if request else ""),
    )


def network_of(address: str | None) -> str:
    """Return the network of an address: of IPv4 the first three numbers, of IPv6 the first 48 bits; else nothing."""
    try:
        parsed = ipaddress.ip_address(address or "")
    except ValueError:
        return ""
    bits = 24 if parsed.version == 4 else 48
    return str(ipaddress.ip_network(f"{parsed}/{bits}", strict=False).network_address)


def browser_of(line: str) -> str:
    """Return the family of the browser and of the system that it runs on, of what it says of itself."""
    family = next((name for word, name in FAMILIES if re.search(rf"\b{word}\w*/", line)), "")
    system = next((name for word, name in SYSTEMS if word in line), "")
    return f"{family or 'Another program'} on {system}" if system else family or "Another program"
