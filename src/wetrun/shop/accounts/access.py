"""The one place that page and action both ask: who may see or do this, on which record of which branch.

A record of another branch does not exist for whoever is not in it (404). A record of one's own branch that one may see
but not change is refused in words (403).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import wraps
from typing import Any, Concatenate, Protocol, TypeVar, cast
from urllib.parse import urlsplit

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import ObjectDoesNotExist, PermissionDenied, ValidationError
from django.db import models
from django.http import Http404, HttpRequest, HttpResponseBase
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _

from wetrun.shop.accounts.desk import BRANCH_IN_SESSION, Desk, DeskRequest
from wetrun.shop.accounts.models import Branch
from wetrun.shop.accounts.roles import Act

Answer = HttpResponseBase
View = Callable[Concatenate[DeskRequest, ...], Answer]
M = TypeVar("M", bound=models.Model)
_LOOKING = {"GET", "HEAD", "OPTIONS"}


class OfBranch(Protocol):
    """A record that belongs to a branch."""

    branch_id: int


class Who(StrEnum):
    """Whom a view asks for."""

    ANYBODY = "anybody"
    """Signed in or not."""
    LINK = "link"
    """Whoever has the link, signed in or not; see `wetrun.shop.links.door`."""
    PERSON = "person"
    """Somebody who is signed in, with or without a branch."""
    MEMBER = "member"
    """Somebody with a role in the branch that allows the act."""
    GROUP = "group"
    """Somebody who may make and change branches, all of them."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a view asks for; the matrix of tests reads it off every address of the shop.

    Attributes
    ----------
    act : Act or None
        What has to be allowed to get the page; None where no role in a branch is asked for.
    to_post : Act or None
        What has to be allowed to send it back.
    kinds : mapping of str to type of Model
        Records its address names, by the name of the part of the address.
    posts : bool
        Whether it takes anything but being looked at.
    who : Who
        Whom it asks for.
    """

    act: Act | None
    to_post: Act | None
    kinds: Mapping[str, type[models.Model]]
    posts: bool
    who: Who = Who.MEMBER


def asks(
    act: Act, *, to_post: Act | None = None, posts: bool = False, **kinds: type[models.Model]
) -> Callable[[View], Callable[..., Answer]]:
    """Return a guard for a view: it hands over records instead of keys, or refuses.

    Parameters
    ----------
    act : Act
        What has to be allowed to get the page.
    to_post : Act or None
        What has to be allowed to send it back; None means the page only shows, or `act` if it `posts`.
    posts : bool
        True if the same act is enough to send it back.
    **kinds
        Models by name of the part of the address; each model has ``branch``.

    Returns
    -------
    callable
        A decorator. The view gets ``request.desk`` in the branch of its records.
    """
    return _guard(Asked(act, to_post or (act if posts else None), kinds, posts or to_post is not None))


def asks_person(*, posts: bool = False) -> Callable[[View], Callable[..., Answer]]:
    """Return a guard for a view about the person who looks: signed in is enough, without a branch too.

    Parameters
    ----------
    posts : bool
        Whether it can be sent back.

    Returns
    -------
    callable
        A decorator.
    """
    return _guard(Asked(None, None, {}, posts, Who.PERSON))


def asks_group(*, posts: bool = False, **kinds: type[models.Model]) -> Callable[[View], Callable[..., Answer]]:
    """Return a guard for a view about branches themselves, for whoever may make and change them all.

    Parameters
    ----------
    posts : bool
        Whether it can be sent back.
    **kinds
        `Branch`, by name of the part of the address.

    Returns
    -------
    callable
        A decorator.
    """
    return _guard(Asked(None, None, kinds, posts, Who.GROUP))


def anybody(view: Callable[..., Answer]) -> Callable[..., Answer]:
    """Mark a view as open to anybody: signing in, and what is needed before that."""
    view.asked = Asked(None, None, {}, posts=True, who=Who.ANYBODY)  # type: ignore[attr-defined]
    return view


def found(desk: Desk, model: type[M], key: object) -> M:
    """Return a record of a branch the person belongs to.

    Parameters
    ----------
    desk : Desk
        Who asks.
    model : type of Model
        What is looked for; a `Branch` counts as a record of itself.
    key : object
        Its primary key.

    Returns
    -------
    Model
        With its branch at hand.

    Raises
    ------
    Http404
        If there is none, or none that is this person's to know of.
    """
    try:
        return _known(desk, model).get(pk=key)
    except (ObjectDoesNotExist, ValidationError, ValueError, OverflowError):
        raise Http404(_("There is no such record in your branches.")) from None


def _known(desk: Desk, model: type[M]) -> models.QuerySet[M]:
    records = model._default_manager.all()
    if not issubclass(model, Branch):
        return records.select_related("branch").filter(branch_id__in=list(desk.roles))
    return records if desk.user.is_group else records.filter(pk__in=list(desk.roles))


def _guard(asked: Asked) -> Callable[[View], Callable[..., Answer]]:
    def guard(view: View) -> Callable[..., Answer]:
        @wraps(view)
        def guarded(request: HttpRequest, **keys: Any) -> Answer:  # noqa: ANN401 - whatever the address holds
            desk: Desk | None = getattr(request, "desk", None)
            if desk is None:
                return _to_sign_in(request)
            records = {name: found(desk, kind, keys.pop(name)) for name, kind in asked.kinds.items()}
            moved(request, desk, tuple(records.values()))
            _check(cast("DeskRequest", request), asked)
            return view(cast("DeskRequest", request), **records, **keys)

        guarded.asked = asked  # type: ignore[attr-defined]
        return guarded

    return guard


def moved(request: HttpRequest, desk: Desk, records: tuple[models.Model, ...]) -> Desk:
    """Put the desk into the branch of the records an address names, and the clock with it.

    Parameters
    ----------
    request : HttpRequest
        Gets the desk.
    desk : Desk
        As it was.
    records : tuple of Model
        What the address names; none leaves the desk where it is.

    Returns
    -------
    Desk
        As it is now.

    Raises
    ------
    Http404
        If the records are of several branches: no address of ours names such.
    """
    branches = {one.branch for one in records if not isinstance(one, Branch)}  # type: ignore[attr-defined]
    if len(branches) > 1:
        raise Http404(_("These records are of different branches."))
    for branch in branches:
        desk = desk.at(branch)
    if desk.branch is not None and request.session.get(BRANCH_IN_SESSION) != desk.branch.pk:
        request.session[BRANCH_IN_SESSION] = desk.branch.pk
    request.desk = desk  # type: ignore[attr-defined]
    timezone.activate(desk.zone)
    return desk


def _check(request: DeskRequest, asked: Asked) -> None:
    looks = request.method in _LOOKING
    if not looks and not asked.posts:
        raise PermissionDenied(_("This page is only for looking at."))
    if asked.who is Who.GROUP and not request.desk.user.is_group:
        raise PermissionDenied(_("Only somebody who looks after all branches may make and change them."))
    act = asked.act if looks else asked.to_post
    if act is not None and not request.desk.may(act):
        raise PermissionDenied(_why_not(request.desk))


def _why_not(desk: Desk) -> str:
    if desk.branch is None:
        return _("You do not belong to any branch yet. A manager of a branch can add you to it.")
    return _("Your role in this branch does not allow that. A manager of the branch can change your role.")


def _to_sign_in(request: HttpRequest) -> Answer:
    if request.headers.get("HX-Request"):
        # A part of a page must not carry the whole page away, with everything that was typed on it.
        raise PermissionDenied(_("You are signed out. Sign in on another page, then send this again."))
    return redirect_to_login(_came_from(request))


def _came_from(request: HttpRequest) -> str:
    """Return the address to come back to after signing in: of the page, not of what a form on it was sent to."""
    if request.method in _LOOKING:
        return request.get_full_path()
    page = request.headers.get("Referer", "")
    if not url_has_allowed_host_and_scheme(page, {request.get_host()}, require_https=request.is_secure()):
        return "/"
    parts = urlsplit(page)
    return f"{parts.path or '/'}?{parts.query}" if parts.query else parts.path or "/"
