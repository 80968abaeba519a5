"""The demo's branch and people. Their passwords are drawn by chance, and written down for their owner alone."""

from __future__ import annotations

import secrets
from pathlib import Path
from typing import Final

from wetrun.shop.accounts.desk import Desk, desk_of
from wetrun.shop.accounts.models import Branch, Membership, User
from wetrun.shop.accounts.roles import Role
from wetrun.shop.folder import write_private

BRANCH: Final = "North yard"
OTHER_BRANCH: Final = "South yard"
PEOPLE: Final = (
    ("manager", Role.MANAGER, "H. Moss"),
    ("specialist", Role.SPECIALIST, "J. Alder"),
    ("technician", Role.TECHNICIAN, "A. Reed"),
    ("viewer", Role.VIEWER, "S. Lark"),
)
_PLAIN: Final = "abcdefghjkmnpqrstuvwxyz23456789"
"""Letters and digits nobody takes for another."""


def make_people(file: Path) -> dict[Role, Desk]:
    """Make the demo's branch with a person of every role, and write down how they sign in.

    Parameters
    ----------
    file : Path
        Where the sign-ins go; nobody else may read it.

    Returns
    -------
    dict of Role to Desk
        Each at the desk in the branch.
    """
    branch = Branch.objects.create(name=BRANCH)
    passwords = {login: _password() for login, _, _ in PEOPLE}
    users = {role: _person(branch, role, login, (name, passwords[login])) for login, role, name in PEOPLE}
    # A second branch, so that one can see what another branch does not: only the manager is in both.
    Membership.objects.create(
        user=users[Role.MANAGER], branch=Branch.objects.create(name=OTHER_BRANCH), role=Role.MANAGER.value
    )
    lines = [f"  {login:<12} {passwords[login]}   {name}, {role.value}" for login, role, name in PEOPLE]
    write_private(file, "\n".join(["Sign in as (login, password):", *lines, ""]))
    return {role: desk_of(user, branch.pk) for role, user in users.items()}


def _person(branch: Branch, role: Role, login: str, who: tuple[str, str]) -> User:
    name, password = who
    user = User.objects.make(login, password, name=name, is_group=role is Role.MANAGER)
    Membership.objects.create(user=user, branch=branch, role=role.value)
    return user


def _password() -> str:
    return "-".join("".join(secrets.choice(_PLAIN) for _ in range(4)) for _ in range(3))
