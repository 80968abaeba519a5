"""Branches, people, and what a person is in a branch."""

from __future__ import annotations

from typing import Any, ClassVar
from zoneinfo import available_timezones

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.core.exceptions import ValidationError
from django.db import models
from django.utils.translation import gettext_lazy as _

from wetrun.shop.accounts.roles import Role

UNITS = [("us", _("US customary")), ("si", _("metric"))]
PAPERS = [("letter", _("Letter")), ("a4", _("A4"))]
THEMES = [("", _("as the device")), ("light", _("light")), ("dark", _("dark"))]
ROLES = [
    (Role.MANAGER.value, _("manager")),
    (Role.SPECIALIST.value, _("specialist")),
    (Role.TECHNICIAN.value, _("technician")),
    (Role.VIEWER.value, _("viewer")),
]


def check_time_zone(name: str) -> None:
    """Refuse a time zone nobody knows."""
    if name not in available_timezones():
        raise ValidationError(
            _("“%(name)s” is no time zone. Write one such as America/Chicago or Europe/Berlin."), params={"name": name}
        )


class Branch(models.Model):
    """One shop of a dealership: no other branch sees its records."""

    name = models.CharField(_("name"), max_length=120, unique=True)
    units = models.CharField(_("units"), max_length=2, choices=UNITS, default="us")
    paper = models.CharField(_("paper"), max_length=6, choices=PAPERS, default="letter")
    time_zone = models.CharField(_("time zone"), max_length=64, default="America/Chicago", validators=[check_time_zone])
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name


class UserManager(BaseUserManager["User"]):
    """Makes people."""

    def make(self, login: str, password: str | None, *, name: str, **more: Any) -> User:  # noqa: ANN401 - columns
        """Return a new person, saved.

        Parameters
        ----------
        login : str
            What is typed to sign in; capitals do not matter.
        password : str or None
            None makes a person who cannot sign in until a manager sets one.
        name : str
            Full name.
        **more
            Other columns.

        Returns
        -------
        User
            Saved, without any branch yet.
        """
        user = self.model(login=login.strip().casefold(), name=name, **more)
        user.set_password(password)
        user.save(using=self._db)
        return user

    def get_by_natural_key(self, username: str | None) -> User:
        """Return the person of a login, however its capitals were typed."""
        return self.get(login=(username or "").strip().casefold())


class User(AbstractBaseUser):
    """A person who signs in."""

    login = models.CharField(_("login"), max_length=60, unique=True)
    name = models.CharField(_("full name"), max_length=120)
    units = models.CharField(
        _("units"), max_length=2, blank=True, default="", choices=[("", _("as the branch")), *UNITS]
    )
    theme = models.CharField(_("light or dark"), max_length=5, blank=True, default="", choices=THEMES)
    is_active = models.BooleanField(_("may sign in"), default=True)
    is_group = models.BooleanField(_("may make and change branches"), default=False)

    USERNAME_FIELD = "login"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]
    objects: ClassVar[UserManager] = UserManager()

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name

    def has_perm(self, perm: str, obj: object = None) -> bool:
        """Return False: Django's own permissions are not used here; see `wetrun.shop.accounts.access`."""
        del perm, obj
        return False


class Membership(models.Model):
    """What a person is in a branch."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="memberships")
    branch = models.ForeignKey(Branch, on_delete=models.CASCADE, related_name="memberships")
    role = models.CharField(_("role"), max_length=10, choices=ROLES, default=Role.VIEWER.value)

    class Meta:
        ordering = ("branch__name",)
        constraints = (models.UniqueConstraint(fields=("user", "branch"), name="one_role_in_a_branch"),)

    def __str__(self) -> str:
        return f"{self.user}, {self.role}, {self.branch}"
