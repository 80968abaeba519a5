"""The desk somebody works at: who, in which branch, in whose units, and what may be done there."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from wetrun.papers.reader import Reader
from wetrun.quantity import System
from wetrun.shop.accounts.models import Branch, Membership, User
from wetrun.shop.accounts.roles import Act, Role, allows

BRANCH_IN_SESSION = "branch"


@dataclass(frozen=True, slots=True)
class Desk:
    """Where somebody works.

    Attributes
    ----------
    user : User
        Who.
    branch : Branch or None
        Where; None for a person without any branch.
    roles : mapping of int to Role
        What the person is, by key of branch.
    branches : tuple of Branch
        Every branch of the person, by name.
    """

    user: User
    branch: Branch | None
    roles: Mapping[int, Role]
    branches: tuple[Branch, ...]

    def at(self, branch: Branch) -> Desk:
        """Return the same person's desk in another branch."""
        return replace(self, branch=branch)

    def may(self, act: Act, branch_id: int | None = None) -> bool:
        """Return whether the person may do something, in this branch unless another is named."""
        place = branch_id if branch_id is not None else (self.branch.pk if self.branch else None)
        return place is not None and allows(self.roles.get(place), act)

    @property
    def may_enter(self) -> bool:
        """Whether readings may be entered here."""
        return self.may(Act.ENTER)

    @property
    def may_plan(self) -> bool:
        """Whether records may be changed here."""
        return self.may(Act.PLAN)

    @property
    def may_manage(self) -> bool:
        """Whether people and branch may be changed here."""
        return self.may(Act.MANAGE)

    @property
    def system(self) -> System:
        """The unit system the person reads: his own choice, else the branch's."""
        return System(self.user.units or (self.branch.units if self.branch else "us"))

    @property
    def reader(self) -> Reader:
        """Shows numbers in the person's units."""
        return Reader(self.system)

    @property
    def paper(self) -> str:
        """Size of paper in this branch."""
        return self.branch.paper if self.branch else "letter"

    @property
    def zone(self) -> ZoneInfo:
        """Time zone of this branch."""
        return ZoneInfo(self.branch.time_zone if self.branch else "UTC")

    @property
    def today(self) -> date:
        """The day it is in this branch."""
        return timezone.now().astimezone(self.zone).date()

    def here(self, moment: datetime) -> datetime:
        """Return a moment on this branch's clock."""
        return moment.astimezone(self.zone)


class DeskRequest(HttpRequest):
    """A request of somebody who is signed in, as views see it once `asks` let it through."""

    desk: Desk
    user: User


def desk_of(user: User, wanted: object) -> Desk:
    """Return the desk of a person: the branch last worked in if it is still theirs, else the first.

    Parameters
    ----------
    user : User
        Signed in.
    wanted : object
        Key of the branch last worked in, as the session kept it.

    Returns
    -------
    Desk
        One query.
    """
    found = list(Membership.objects.filter(user=user).select_related("branch").order_by("branch__name"))
    branches = tuple(one.branch for one in found)
    branch = next((one for one in branches if one.pk == wanted), branches[0] if branches else None)
    return Desk(user, branch, {one.branch_id: Role(one.role) for one in found}, branches)


class DeskMiddleware:
    """Puts the desk on every request of somebody who is signed in, and the branch's clock on what it shows."""

    def __init__(self, answer: Callable[[HttpRequest], HttpResponse]) -> None:
        self.answer = answer

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Return the page, shown on the branch's clock."""
        user = request.user
        if not isinstance(user, User) and not user.is_authenticated:
            return self.answer(request)
        desk = desk_of(user, request.session.get(BRANCH_IN_SESSION))
        request.desk = desk  # type: ignore[attr-defined]
        with timezone.override(desk.zone):
            answer = self.answer(request)
        # A device keeps pages for when there is no signal, each person's apart.
        answer.headers.setdefault("Wetrun-Person", str(user.pk))
        return answer


def desk_context(request: HttpRequest) -> dict[str, Any]:
    """Return what every template may ask of the desk."""
    desk = getattr(request, "desk", None)
    return {"desk": desk, "theme": desk.user.theme if desk else ""}
