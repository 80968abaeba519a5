"""What each role may do. Pages, buttons and actions all ask here, so that none of them can be of another opinion."""

from __future__ import annotations

from enum import StrEnum
from typing import Final


class Role(StrEnum):
    """What somebody is in a branch."""

    MANAGER = "manager"
    SPECIALIST = "specialist"
    TECHNICIAN = "technician"
    VIEWER = "viewer"


class Act(StrEnum):
    """What somebody may do in a branch, from least to most."""

    LOOK = "look"
    """See every record and paper."""
    ENTER = "enter"
    """Enter readings, logs and what was done in the yard."""
    PLAN = "plan"
    """Change customers, machines, seasons, catalogues; prove and supersede."""
    MANAGE = "manage"
    """People, the branch itself, a person's data."""


ACTS_OF: Final = {
    Role.MANAGER: frozenset(Act),
    Role.SPECIALIST: frozenset({Act.LOOK, Act.ENTER, Act.PLAN}),
    Role.TECHNICIAN: frozenset({Act.LOOK, Act.ENTER}),
    Role.VIEWER: frozenset({Act.LOOK}),
}


def allows(role: Role | None, act: Act) -> bool:
    """Return whether a role may do something; nobody may do anything.

    Parameters
    ----------
    role : Role or None
        What somebody is in the branch, None for a stranger to it.
    act : Act
        What is asked.

    Returns
    -------
    bool
        Whether it is allowed.

    Example
    -------
    >>> allows(Role.TECHNICIAN, Act.ENTER), allows(Role.VIEWER, Act.ENTER), allows(None, Act.LOOK)
    (True, False, False)
    """
    return role is not None and act in ACTS_OF[role]
