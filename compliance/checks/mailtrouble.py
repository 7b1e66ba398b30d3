"""Why a mail did not go, in words: what to mend, and never an address or what the server wrote."""

from __future__ import annotations

import smtplib
import ssl
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Trouble:
    """One failure. `for_good`: the same again would fail again. `of_server`: other mails would fail as well."""

    words: str
    for_good: bool = False
    of_server: bool = False


NO_ADDRESS = Trouble("The account is closed or has no mail address. Mend it under People.", for_good=True)

FAILURES = (smtplib.SMTPException, OSError, ValueError)
"""What sending may raise; ValueError where the address is none."""


def trouble_of(error: BaseException) -> Trouble:
    """Return what is wrong, and what to mend.

    A reply from 500 on is an answer for good, one from 400 on for the moment (RFC 5321, section 4.2.1, from memory).
    """
    match error:
        case smtplib.SMTPRecipientsRefused():
            code = max((reply[0] for reply in error.recipients.values()), default=0)
            said = f"The mail server does not take mail for this address ({code})."
            return Trouble(f"{said} Mend it under People.", for_good=True) if code >= 500 else Trouble(said)
        case smtplib.SMTPAuthenticationError():
            return _server(
                f"The mail server refuses the sign-in ({error.smtp_code})", "EMAIL_HOST_USER and the password"
            )
        case smtplib.SMTPSenderRefused():
            return _server(f"The mail server refused the sender ({error.smtp_code})", "DEFAULT_FROM_EMAIL")
        case smtplib.SMTPDataError():
            return Trouble(f"The mail server refused this mail ({error.smtp_code}).", for_good=error.smtp_code >= 500)
        case smtplib.SMTPResponseException():
            return _server(f"The mail server answered {error.smtp_code}", "EMAIL_HOST and its settings")
        case smtplib.SMTPNotSupportedError():
            return _server("The mail server does not offer what is asked for", "EMAIL_USE_TLS")
        case ssl.SSLError():
            return _server("The mail server's certificate does not hold", "EMAIL_HOST or the certificate")
        case smtplib.SMTPServerDisconnected():
            return _server("The mail server broke off", "EMAIL_HOST and its settings, if it goes on")
        case ValueError():
            return Trouble("The mail cannot be written: the address is none.", for_good=True)
        case _:
            return _server(f"The mail server does not answer ({type(error).__name__})", "EMAIL_HOST and its settings")


def _server(what: str, mend: str) -> Trouble:
    return Trouble(f"{what}. Mend {mend}.", of_server=True)
