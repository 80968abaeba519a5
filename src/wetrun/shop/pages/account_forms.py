"""Forms about people: a new password, somebody new, what somebody is."""

from __future__ import annotations

from hmac import compare_digest
from typing import Any

from django import forms
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from wetrun.shop.accounts.desk import Desk
from wetrun.shop.accounts.models import ROLES, Branch, Membership, User
from wetrun.shop.accounts.roles import Role

_RULE = gettext_lazy("At least 10 characters; four words in a row are easy to keep. Not the name, not a common one.")


class PasswordField(forms.CharField):
    """A password that is being chosen."""

    def __init__(self, label: Any, *, help_text: Any = "", autocomplete: str = "new-password") -> None:  # noqa: ANN401
        widget = forms.PasswordInput(attrs={"autocomplete": autocomplete})
        super().__init__(label=label, help_text=help_text, widget=widget, strip=False, max_length=200)


def checked_password(form: forms.BaseForm, name: str, person: User) -> None:
    """Add to a form what is wrong with the password chosen in it.

    Parameters
    ----------
    form : BaseForm
        Cleaned so far.
    name : str
        Of its field.
    person : User
        Whose password it shall be: it must not be like login or name.
    """
    typed = form.cleaned_data.get(name)
    if typed:
        try:
            validate_password(typed, person)
        except ValidationError as wrong:
            form.add_error(name, wrong)


def _bare(word: str) -> bytes:
    """A word as it is compared: how it was written does not matter."""
    return word.casefold().replace("-", "").replace(" ", "").encode()


def free_login(typed: str, person: User) -> str:
    """Return a login as it is kept, or refuse one somebody has."""
    login = "".join(typed.split()).casefold()
    if User.objects.filter(login=login).exclude(pk=person.pk).exists():
        raise ValidationError(
            _("Somebody signs in with that already, perhaps in another branch. Choose another, such as %(such)s2.")
            % {"such": login}
        )
    return login


class NewPersonForm(forms.ModelForm):  # type: ignore[type-arg]
    """Somebody who never signed in here."""

    role = forms.ChoiceField(label=gettext_lazy("role"), choices=ROLES, initial=Role.TECHNICIAN.value)
    password = PasswordField(gettext_lazy("first password"), help_text=_RULE)

    class Meta:
        model = User
        fields = ("name", "login")
        widgets = {"login": forms.TextInput(attrs={"autocapitalize": "none", "autocomplete": "off"})}

    field_order = ("name", "login", "role", "password")

    def clean_login(self) -> str:
        """Refuse a login somebody has."""
        return free_login(self.cleaned_data["login"], self.instance)

    def clean(self) -> dict[str, Any]:
        """Refuse a password that is easily guessed."""
        cleaned = super().clean() or self.cleaned_data
        about = User(login=cleaned.get("login", ""), name=cleaned.get("name", ""))
        checked_password(self, "password", about)
        return cleaned


class KnownPersonForm(forms.Form):
    """Somebody who signs in in another branch already."""

    login = forms.CharField(
        label=gettext_lazy("login"), max_length=60, widget=forms.TextInput(attrs={"autocapitalize": "none"})
    )
    role = forms.ChoiceField(label=gettext_lazy("role"), choices=ROLES, initial=Role.TECHNICIAN.value)

    def __init__(self, *args: Any, branch: Branch, **more: Any) -> None:  # noqa: ANN401 - Django's own
        super().__init__(*args, **more)
        self.branch = branch

    def clean_login(self) -> str:
        """Refuse a login nobody has, or somebody of this branch."""
        login = str(self.cleaned_data["login"])
        self.person = User.objects.filter(login=login.strip().casefold()).first()
        if self.person is None:
            raise ValidationError(_("Nobody signs in with that. Look at its spelling, or take in somebody new."))
        if self.person.memberships.filter(branch=self.branch).exists():
            raise ValidationError(_("%(name)s is in this branch already.") % {"name": self.person.name})
        return login


class PersonForm(forms.ModelForm):  # type: ignore[type-arg]
    """What somebody is called, signs in with, and is in a branch."""

    role = forms.ChoiceField(label=gettext_lazy("role"), choices=ROLES)

    class Meta:
        model = User
        fields = ("name", "login", "is_group")

    field_order = ("name", "login", "role", "is_group")

    def __init__(self, *args: Any, desk: Desk, place: Membership, is_ones_own: bool, **more: Any) -> None:  # noqa: ANN401
        more = {"instance": place.user, "initial": {"role": place.role}, **more}
        super().__init__(*args, **more)
        if not desk.user.is_group:
            del self.fields["is_group"]
        if not is_ones_own:
            del self.fields["name"], self.fields["login"]

    def clean_login(self) -> str:
        """Refuse a login somebody has."""
        return free_login(self.cleaned_data["login"], self.instance)


class SetPasswordForm(forms.Form):
    """A new password for somebody."""

    password = PasswordField(gettext_lazy("new password"), help_text=_RULE)

    def __init__(self, *args: Any, person: User, **more: Any) -> None:  # noqa: ANN401 - Django's own
        super().__init__(*args, **more)
        self.person = person

    def clean(self) -> dict[str, Any]:
        """Refuse a password that is easily guessed."""
        checked_password(self, "password", self.person)
        return self.cleaned_data


class OwnPasswordForm(SetPasswordForm):
    """A new password of one's own."""

    old = PasswordField(gettext_lazy("password till now"), autocomplete="current-password")
    field_order = ("old", "password")

    def clean_old(self) -> str:
        """Refuse somebody who only found the page open."""
        typed = str(self.cleaned_data["old"])
        if not self.person.check_password(typed):
            raise ValidationError(_("That is not the password you signed in with."))
        return typed


class OwnSettingsForm(forms.ModelForm):  # type: ignore[type-arg]
    """In whose units and how somebody wants the pages."""

    class Meta:
        model = User
        fields = ("units", "theme")


class BranchForm(forms.ModelForm):  # type: ignore[type-arg]
    """What a branch is called, and its units, paper and clock."""

    class Meta:
        model = Branch
        fields = ("name", "units", "paper", "time_zone")
        help_texts = {"time_zone": gettext_lazy("such as America/Chicago or Europe/Berlin")}

    def clean_name(self) -> str:
        """Refuse a name another branch has."""
        name = " ".join(self.cleaned_data["name"].split())
        if Branch.objects.filter(name__iexact=name).exclude(pk=self.instance.pk).exists():
            raise ValidationError(_("Another branch is called that. Add a place to tell them apart."))
        return name


class FirstPersonForm(forms.ModelForm):  # type: ignore[type-arg]
    """Whoever opens the shop, and knows the word that whoever started the server was told."""

    opening = forms.CharField(
        label=gettext_lazy("opening word"),
        help_text=gettext_lazy("The server said it as it started; or it stands in WETRUN_OPENING."),
        max_length=200,
        widget=forms.TextInput(attrs={"autocapitalize": "none", "autocomplete": "off"}),
    )
    password = PasswordField(gettext_lazy("password"), help_text=_RULE)

    class Meta:
        model = User
        fields = ("name", "login")
        widgets = {"login": forms.TextInput(attrs={"autocapitalize": "none", "autocomplete": "username"})}

    def __init__(self, *args: Any, opening: str | None, **kwargs: Any) -> None:  # noqa: ANN401 - Django's own
        super().__init__(*args, **kwargs)
        self._opening = opening
        if opening is None:
            del self.fields["opening"]

    def clean_opening(self) -> str:
        """Refuse whoever does not know it."""
        typed: str = self.cleaned_data["opening"]
        if not compare_digest(_bare(typed), _bare(self._opening or "")):
            raise ValidationError(
                _("That is not the word. Ask whoever started the server; a new start may have made a new one.")
            )
        return typed

    def clean_login(self) -> str:
        """Keep a login without capitals or spaces."""
        return "".join(self.cleaned_data["login"].split()).casefold()

    def clean(self) -> dict[str, Any]:
        """Refuse a password that is easily guessed."""
        cleaned = super().clean() or self.cleaned_data
        checked_password(self, "password", User(login=cleaned.get("login", ""), name=cleaned.get("name", "")))
        return cleaned
