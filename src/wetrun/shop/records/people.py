"""People of a branch: taken in, given a role, a password, put out. Each is kept whole with its line of trail, or not.

Two rules stand over all of it: a branch keeps a manager who can sign in, and whoever looks after one branch only never
gets hold of somebody who is also in another, or who looks after all of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import connection, transaction
from django.utils.translation import gettext as _

from wetrun.shop.accounts.desk import Desk
from wetrun.shop.accounts.models import Branch, Membership, User
from wetrun.shop.accounts.roles import Role
from wetrun.shop.accounts.throttle import forgive
from wetrun.shop.records.trail import told


def opened(branch: Branch, person: User) -> bool:
    """Keep the first branch and its first person, if there is nobody yet.

    Parameters
    ----------
    branch : Branch
        Not saved yet.
    person : User
        Not saved yet; becomes manager of the branch and looks after all branches.

    Returns
    -------
    bool
        False if somebody else was there first; then nothing is kept.
    """
    with transaction.atomic():
        if connection.vendor == "postgresql":
            # There is no row yet to wait at, so two wait at the table; SQLite's transactions wait by themselves.
            with connection.cursor() as cursor:
                cursor.execute("LOCK TABLE accounts_user IN EXCLUSIVE MODE")
        if User.objects.exists():
            return False
        person.is_group = True
        branch.save()
        person.save()
        Membership.objects.create(user=person, branch=branch, role=Role.MANAGER.value)
        told(branch, "opened", person)
        told(person, "made the first manager", person, branch=branch)
    return True


def taken_in(desk: Desk, person: User, role: Role) -> Membership:
    """Give somebody a role in a branch, and keep the person if new.

    Parameters
    ----------
    desk : Desk
        Of a manager.
    person : User
        New, or of another branch.
    role : Role
        In the desk's branch.

    Returns
    -------
    Membership
        Saved.

    Raises
    ------
    PermissionDenied
        If the desk is in no branch.
    """
    if desk.branch is None:
        raise PermissionDenied(_("You do not belong to any branch yet."))
    with transaction.atomic():
        what = "taken in from another branch" if person.pk else "taken in"
        if not person.pk:
            person.save()
        place = Membership.objects.create(user=person, branch=desk.branch, role=role.value)
        told(person, what, desk.user, after={"role": role.value}, branch=desk.branch)
    return place


def changed(desk: Desk, place: Membership, before: Mapping[str, Any]) -> None:
    """Keep a person's name, login, role and whether they look after all branches.

    Parameters
    ----------
    desk : Desk
        Of a manager.
    place : Membership
        As it shall be, its person too.
    before : mapping
        ``role``, ``name``, ``login`` and ``is_group`` as they were.

    Raises
    ------
    ValidationError
        If the branch would be left without a manager, or all of them without anybody to look after them.
    """
    person, role = place.user, Role(place.role)
    after = {"role": role.value, "name": person.name, "login": person.login, "is_group": person.is_group}
    moved = {key for key in after if after[key] != before[key]}
    with transaction.atomic():
        if "role" in moved and role is not Role.MANAGER:
            _check_another_manager(place)
        if "is_group" in moved and not person.is_group:
            _check_another_for_all(person)
        place.save()
        person.save(update_fields=["name", "login", "is_group"])
        was, now = ({key: value for key, value in side.items() if key in moved} for side in (before, after))
        told(person, "changed", desk.user, before=was, after=now, branch=place.branch)


def password_set(desk: Desk, person: User, password: str) -> None:
    """Set a password; every visit that began with the old one ends.

    Parameters
    ----------
    desk : Desk
        Of a manager, or of the person.
    person : User
        Whose.
    password : str
        Checked already. It stands nowhere but in its hash.
    """
    with transaction.atomic():
        person.set_password(password)
        person.save(update_fields=["password"])
        forgive(person.login)
        _told_everywhere(person, "password set", desk.user)


def let_in(desk: Desk, person: User, *, may_sign_in: bool) -> None:
    """Let somebody sign in, or no more; their visits end at once.

    Parameters
    ----------
    desk : Desk
        Of a manager.
    person : User
        Whose.
    may_sign_in : bool
        From now on.

    Raises
    ------
    ValidationError
        If a branch would be left without a manager, or all of them without anybody to look after them.
    """
    with transaction.atomic():
        if not may_sign_in:
            check_can_go(person)
        person.is_active = may_sign_in
        person.save(update_fields=["is_active"])
        _told_everywhere(person, "may sign in again" if may_sign_in else "may not sign in any more", desk.user)


def sent_off(desk: Desk, place: Membership) -> None:
    """Take somebody out of a branch who stays in another.

    Parameters
    ----------
    desk : Desk
        Of a manager of the branch.
    place : Membership
        What ends.

    Raises
    ------
    ValidationError
        If the branch would be left without a manager, or the person without any branch.
    """
    with transaction.atomic():
        _check_another_manager(place)
        if not elsewhere(place.user, place.branch):
            raise ValidationError(
                _("%(name)s is in no other branch, and would be found in none. End the sign-in instead.")
                % {"name": place.user.name}
            )
        told(place.user, "taken out of the branch", desk.user, before={"role": place.role}, branch=place.branch)
        place.delete()


def settled(desk: Desk, person: User, before: Mapping[str, Any], after: Mapping[str, Any]) -> None:
    """Keep how somebody wants the pages.

    Parameters
    ----------
    desk : Desk
        The person's own.
    person : User
        As it shall be.
    before, after : mapping
        Its settings.
    """
    with transaction.atomic():
        person.save(update_fields=[*after])
        _told_everywhere(person, "own settings changed", desk.user, before=before, after=after)


def elsewhere(person: User, branch: Branch) -> bool:
    """Return whether somebody is in another branch too."""
    return person.memberships.exclude(branch=branch).exists()


def check_is_ones_own(desk: Desk, person: User) -> None:
    """Refuse a manager's hold on somebody who is not this branch's alone.

    Parameters
    ----------
    desk : Desk
        Of a manager.
    person : User
        Whose login, password or sign-in shall change.

    Raises
    ------
    ValidationError
        With whom to ask.
    """
    if desk.user.is_group or desk.branch is None:
        return
    if person.is_group:
        raise ValidationError(
            _("%(name)s looks after all branches. Only somebody who does too can change login, password or sign-in.")
            % {"name": person.name}
        )
    if elsewhere(person, desk.branch):
        raise ValidationError(
            _(
                "%(name)s is in another branch too. Only somebody who looks after all branches can change login, "
                "password or sign-in; you can change the role here, or take the person out of this branch."
            )
            % {"name": person.name}
        )


def check_can_go(person: User) -> None:
    """Refuse to lose somebody nobody else could stand in for.

    Parameters
    ----------
    person : User
        Who would not sign in any more.

    Raises
    ------
    ValidationError
        With what to do first.
    """
    for place in person.memberships.select_related("branch", "user"):
        _check_another_manager(place)
    _check_another_for_all(person)


def _check_another_manager(place: Membership) -> None:
    # Two managers who put each other out at once wait here for each other.
    Branch.objects.select_for_update().get(pk=place.branch_id)
    stands = Membership.objects.filter(branch=place.branch_id, role=Role.MANAGER.value, user__is_active=True)
    if stands.filter(pk=place.pk).exists() and not stands.exclude(pk=place.pk).exists():
        raise ValidationError(
            _(
                "%(name)s is the only manager of “%(branch)s” who can sign in. Nobody could look after its people any "
                "more: make somebody else a manager first."
            )
            % {"name": place.user.name, "branch": place.branch.name}
        )


def _check_another_for_all(person: User) -> None:
    everyone = User.objects.select_for_update().filter(is_group=True, is_active=True)
    keys = {one.pk for one in everyone}
    if keys == {person.pk}:
        raise ValidationError(
            _(
                "%(name)s is the only one who looks after all branches. Nobody could make a branch any more: let "
                "somebody else look after them first."
            )
            % {"name": person.name}
        )


def _told_everywhere(person: User, what: str, by: User, **documents: Any) -> None:  # noqa: ANN401 - documents
    for branch in Branch.objects.filter(memberships__user=person):
        told(person, what, by, branch=branch, **documents)
