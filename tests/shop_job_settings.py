"""The shop's settings for workers of the tests: without the real handlers, and all that those have to load."""

from __future__ import annotations

from tests.shop_settings import *  # noqa: F403

INSTALLED_APPS.remove("wetrun.shop.work")  # noqa: F405
