"""Takes a link back."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import path
from django.utils.translation import gettext as _

from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.links.making import revoked
from wetrun.shop.links.models import Link


@asks(Act.ENTER, posts=True, link=Link)
def link_revoke(request: DeskRequest, link: Link) -> HttpResponse:
    """Take a link back: it opens nothing any more."""
    if request.method == "POST":
        if revoked(request.desk, link):
            messages.success(request, _("The link is taken back: it opens nothing any more."))
        else:
            messages.info(request, _("The link opened nothing any more already."))
    return redirect("machine", machine=link.machine_id)


addresses = [path("links/<int:link>/revoke/", link_revoke, name="link-revoke")]
