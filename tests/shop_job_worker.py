"""A worker or a server in a process of its own, with jobs that tell what they do: ``python -m tests.shop_job_worker``.

A job writes a line to the file *told* in its folder before and after whatever could happen twice, and stands still
where the test has put a file that holds it: so a test kills it where it wants to, and waits for nothing but facts.
"""

from __future__ import annotations

import os
import signal
import sys
import time
from functools import partial
from pathlib import Path

KIND = "count, for a test"
DEADLY = "kill the worker, for a test"
GENTLE = "look up while held, for a test"


def tell(folder: Path, words: str) -> None:
    """Add a line, all or nothing."""
    with (folder / "told").open("ab", buffering=0) as told:
        told.write(f"{words}\n".encode())


def told(folder: Path) -> list[str]:
    """All lines so far."""
    file = folder / "told"
    return file.read_text().splitlines() if file.exists() else []


def hold(folder: Path, where: str) -> Path:
    """Let whoever comes there stand still until the file is gone."""
    file = folder / f"hold {where}"
    file.touch()
    return file


def stand_still(folder: Path, where: str) -> None:
    tell(folder, where)
    while (folder / f"hold {where}").exists():
        time.sleep(0.01)


def enter_handlers() -> None:
    """Enter the kinds of jobs that only tests ask for."""
    from wetrun.shop.jobs.handlers import handles
    from wetrun.shop.jobs.running import Result, Running
    from wetrun.shop.records.models import Customer

    def square(folder: Path, n: int) -> int:
        stand_still(folder, f"in {n}")
        tell(folder, f"computed {n}")
        return n * n

    @handles(KIND)
    def count(job: Running) -> Result:
        folder, most = Path(job.args["folder"]), job.args["parts"]
        squares = []
        for n in range(1, most + 1):
            squares.append(job.part(str(n), partial(square, folder, n)))
            stand_still(folder, f"after {n}")
            job.progress(n / most, f"{n} of {most}")

        def save() -> Result:
            kept = Customer.objects.create(branch=job.branch, name=f"Sum {sum(squares)} of {folder.name}")
            stand_still(folder, "saving")
            return {"customer": kept.pk, "squares": squares}

        return job.finish(save)

    @handles(DEADLY)
    def kill_the_worker(job: Running) -> Result:
        tell(Path(job.args["folder"]), "killed")
        os.kill(os.getpid(), signal.SIGKILL)
        return None

    @handles(GENTLE)
    def look_up(job: Running) -> Result:
        folder = Path(job.args["folder"])
        tell(folder, "looking")
        while (folder / "hold looking").exists():
            job.check()
            time.sleep(0.01)
        return {"looked": True}


def main() -> None:
    """Run one of the shop's commands with these handlers known."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.shop_job_settings")
    import django

    django.setup()
    enter_handlers()
    from django.core.management import execute_from_command_line

    execute_from_command_line(["wetrun.shop", *sys.argv[1:]])


if __name__ == "__main__":
    main()
