"""``python -m wetrun.shop load_demo``: fills an empty shop with an invented branch."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand
from django.db import transaction

from wetrun.shop.accounts.models import User
from wetrun.shop.accounts.roles import Role
from wetrun.shop.demo.farms import FARMS
from wetrun.shop.demo.files import demo_folder
from wetrun.shop.demo.own_farm import take_own_farm, take_shared_files
from wetrun.shop.demo.people import make_people
from wetrun.shop.demo.stages import bring
from wetrun.shop.folder import SIGN_INS_FILE


class Command(BaseCommand):
    """Fills an empty shop with the demo."""

    help = "Fill an empty shop with an invented branch: people of every role, machines at every stage. All or nothing."
    requires_system_checks = ()

    def handle(self, *_: Any, **options: Any) -> None:  # noqa: ANN401 - Django's own
        """Load it, unless anybody has an account already."""
        del options
        if User.objects.exists():
            self.stdout.write("There are people in this shop already: the demo was not loaded.")
            return
        demo_folder()
        with transaction.atomic():
            self._load()

    def _load(self) -> None:
        desks = make_people(Path(settings.DATA) / SIGN_INS_FILE)
        specialist = desks[Role.SPECIALIST]
        take_shared_files(specialist)
        self._say("Low Fork Farm")
        take_own_farm(desks, specialist.today, lambda what: self._say(f"Low Fork Farm: {what}"))
        for farm in FARMS:
            self._say(farm.customer)
            bring(farm, desks, specialist.today)

    def _say(self, what: str) -> None:
        self.stdout.write(f"Demo: {what} …")
