"""Puts people and records into a shop, and writes to it from several threads: ``python -m tests.shop_writers``.

``seed`` fills an empty shop and prints the keys of its wet runs. ``write THREADS`` keeps readings and customers until
standard input ends, and prints a line for each that is kept, after it is kept.
"""

from __future__ import annotations

import os
import sys
import threading
import traceback
import uuid

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "wetrun.shop.settings")


def seed() -> None:
    """Two wet runs of a machine, a technician, a file handed in."""
    from django.conf import settings
    from tests.shop_cases import make_branch, make_customer, make_machine, make_user, make_wet_run

    from wetrun.shop.accounts.roles import Role

    branch = make_branch()
    make_user(branch, Role.TECHNICIAN, "technician")
    make_user(branch, Role.SPECIALIST, "specialist")
    machine = make_machine(make_customer(branch))
    for folder, name in ((settings.UPLOADS, "a1/log.csv"), (settings.LEDGERS, "ab.tallied")):
        (folder / name).parent.mkdir(parents=True)
        (folder / name).write_bytes(name.encode() * 1000)
    say(" ".join(str(make_wet_run(machine).pk) for _ in range(2)))


def write(threads: int) -> None:
    """Keep readings and customers from several threads until standard input ends."""
    threading.excepthook = _end
    enough = threading.Event()
    pool = [threading.Thread(target=_write, args=(number, enough)) for number in range(threads)]
    for thread in pool:
        thread.start()
    sys.stdin.read()
    enough.set()
    for thread in pool:
        thread.join()


def _end(what: threading.ExceptHookArgs) -> None:
    """A thread that fails ends them all: nobody is to wait for it."""
    traceback.print_exception(what.exc_value)
    os._exit(1)


def _write(number: int, enough: threading.Event) -> None:
    from django.db import connection
    from django.utils import timezone

    from wetrun.shop.accounts.desk import desk_of
    from wetrun.shop.accounts.models import User
    from wetrun.shop.records.keeping import kept
    from wetrun.shop.records.models import Customer, WetRun
    from wetrun.shop.records.readings import TypedReading, keep_reading

    user = User.objects.get(login="technician")
    runs = list(WetRun.objects.order_by("pk"))
    desk = desk_of(user, None)
    count = 0
    while not enough.is_set():
        count += 1
        entry = uuid.uuid4()
        keep_reading(runs[number % len(runs)], TypedReading(entry, "catch", f"{count}", timezone.now()), user)
        say(f"reading {entry}")
        customer = kept(Customer(name=f"Farm {number}.{count}"), desk, "taken down")
        say(f"customer {customer.pk}")
    connection.close()


def say(line: str) -> None:
    """One line, whole, at once."""
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    import django

    django.setup()
    if sys.argv[1] == "seed":
        seed()
    else:
        write(int(sys.argv[2]))
