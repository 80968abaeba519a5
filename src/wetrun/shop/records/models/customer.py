"""Whose machines a branch looks after."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from wetrun.shop.records.models.base import BranchRecord


class Customer(BranchRecord):
    """A farm or an applicator."""

    name = models.CharField(_("name"), max_length=120)
    person = models.CharField(_("whom to call"), max_length=120, blank=True, default="")
    phone = models.CharField(_("phone"), max_length=40, blank=True, default="")
    email = models.EmailField(_("e-mail"), blank=True, default="")
    place = models.CharField(_("place"), max_length=200, blank=True, default="")
    remarks = models.TextField(_("remarks"), max_length=2000, blank=True, default="")
    erased_at = models.DateTimeField(null=True, editable=False)

    class Meta:
        ordering = ("name", "pk")
        constraints = (models.UniqueConstraint(fields=("branch", "name"), name="one_customer_of_a_name"),)

    def __str__(self) -> str:
        return self.name
