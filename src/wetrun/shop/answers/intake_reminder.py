"""What a customer is written: text to copy, and the same by e-mail where the shop sends any."""

from __future__ import annotations

from smtplib import SMTPException

from django.conf import settings
from django.core.mail import EmailMessage
from django.utils import timezone
from django.utils.translation import gettext as _

from wetrun.papers.reader import day
from wetrun.shop.accounts.desk import Desk
from wetrun.shop.intake.models import Intake
from wetrun.shop.links.models import Link


class NotSent(Exception):  # noqa: N818 - named as a reader would say it
    """A message that did not go out, with a sentence."""


def reminder_text(intake: Intake, link: Link, address: str, desk: Desk) -> str:
    """Return what to write to a customer, as plain text.

    Parameters
    ----------
    intake : Intake
        What is asked.
    link : Link
        What opens it.
    address : str
        Of the link, whole.
    desk : Desk
        Of whoever asks.

    Returns
    -------
    str
        With the day it is wanted by and the last day of the link.
    """
    customer = intake.machine.customer
    words = _(
        "Hello %(person)s,\n\n"
        "please tell us what you plan for %(machine)s (%(title)s): crops in order with areas and days, rates, products "
        "with their labels, speeds. You need no account, and you can stop and come back with the same link:\n\n"
        "%(address)s\n\n"
        "Please hand it in by %(day)s. The link opens until %(until)s.\n\n"
        "%(name)s, %(branch)s\n"
    )
    return words % {
        "person": customer.person or customer.name,
        "machine": intake.machine.name,
        "title": intake.title,
        "address": address,
        "day": day(intake.wanted_by),
        "until": day(timezone.localtime(link.until).date()),
        "name": desk.user.name,
        "branch": intake.branch.name,
    }


def send_reminder(intake: Intake, to: str, text: str) -> None:
    """Send a reminder by e-mail.

    Parameters
    ----------
    intake : Intake
        What is asked.
    to : str
        An e-mail address.
    text : str
        As `reminder_text` gives it.

    Raises
    ------
    NotSent
        With what to do; nothing was sent then.
    """
    if not settings.MAIL_IS_ON:
        raise NotSent(_("This shop sends no e-mail: whoever runs it has not set WETRUN_SMTP. Copy the text instead."))
    subject = " ".join(f"{intake.title}, {intake.branch.name}".split())
    try:
        EmailMessage(subject, text, to=[to]).send()
    except (SMTPException, OSError) as trouble:
        words = _("The mail server did not take it (%(why)s). Nothing was sent. Copy the text, or try again later.")
        raise NotSent(words % {"why": trouble}) from trouble
