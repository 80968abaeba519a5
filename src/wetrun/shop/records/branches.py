"""Branches, made and changed with a line in their trail."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import transaction

from wetrun.shop.accounts.desk import Desk
from wetrun.shop.accounts.models import Branch, Membership
from wetrun.shop.accounts.roles import Role
from wetrun.shop.records.differences import moved
from wetrun.shop.records.trail import told


def branch_made(desk: Desk, branch: Branch) -> Branch:
    """Keep a new branch with whoever makes it as its manager.

    Parameters
    ----------
    desk : Desk
        Of somebody who looks after all branches.
    branch : Branch
        Not saved yet.

    Returns
    -------
    Branch
        Saved.
    """
    with transaction.atomic():
        branch.save()
        Membership.objects.create(user=desk.user, branch=branch, role=Role.MANAGER.value)
        told(branch, "made", desk.user)
        told(desk.user, "made manager", desk.user, branch=branch)
    return branch


def branch_changed(desk: Desk, branch: Branch, before: Mapping[str, Any]) -> None:
    """Keep a branch as it shall be.

    Parameters
    ----------
    desk : Desk
        Of somebody who looks after all branches.
    branch : Branch
        Not saved yet.
    before : mapping
        Columns as they were.
    """
    was, now = moved(before, {name: getattr(branch, name) for name in before})
    with transaction.atomic():
        branch.save()
        told(branch, "changed", desk.user, before=was, after=now)
