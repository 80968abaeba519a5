"""Tells Django of the accounts."""

from __future__ import annotations

from django.apps import AppConfig


class AccountsConfig(AppConfig):
    """The accounts."""

    name = "wetrun.shop.accounts"
    label = "accounts"
