"""``make load``: a full shop under load on SQLite and on PostgreSQL, a backup taken meanwhile, then fifty kills.

It prints what it measured, and exits with 1 if anything was lost, was there twice, or was answered wrongly.
"""

from __future__ import annotations

import argparse
import json
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit

from tests.shop_kills import kills_during_entry
from tests.shop_serving import ROOT, ServedShop, bare_environ, chore, surroundings, until
from tools.with_postgres import cluster

from load.people import Told, load_for

KEPT_BEFORE_BACKUP = 100
"""Readings acknowledged before the backup is begun: a backup of nothing would prove nothing."""


def main() -> int:
    """Run what was asked for and return the exit code."""
    parser = argparse.ArgumentParser(description="What a shop bears, on this computer only.")
    parser.add_argument("--machines", type=int, default=400)
    parser.add_argument("--seasons", type=int, default=3)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--kills", type=int, default=50)
    parser.add_argument("--on", choices=["sqlite", "postgresql", "both"], default="both")
    asked = parser.parse_args()
    good = True
    if asked.on != "postgresql":
        good &= on_database("SQLite", bare_environ(), asked)
    if asked.on != "sqlite":
        with cluster(durable=True) as url:
            good &= on_database("PostgreSQL", bare_environ(DATABASE_URL=url), asked)
    return 0 if good else 1


def on_database(name: str, environ: Mapping[str, str], asked: argparse.Namespace) -> bool:
    """Load a shop on one database, then kill it; whether all was well."""
    with tempfile.TemporaryDirectory(prefix="wetrun-load-") as place:
        data = Path(place) / "data"
        data.mkdir()
        begun = time.monotonic()
        made = filled(data, environ, asked)
        print(
            f"== {name}: {asked.machines} machines, {asked.seasons} seasons, filled in {time.monotonic() - begun:.0f} s"
        )
        with ServedShop(data, "--workers", "2", environ=environ) as shop:
            backup, told = loaded(shop, Path(place) / "shop.backup", made, asked.seconds)
        shop_is_whole = tell(told, kept_in(data, environ))
        with empty_database(environ) as elsewhere:
            backup_is_whole = check_backup(backup, Path(place) / "restored", told, elsewhere)
        # A run nobody wrote to before, so that whatever is there twice was kept twice.
        seen = kills_during_entry(ServedShop(data, environ=environ), made["wet_run"][-1], asked.kills)
        print(
            f"{seen.kills} kills: {len(seen.acknowledged)} readings acknowledged, {len(seen.lost)} lost, "
            f"{len(seen.twice)} twice, {len(seen.changed)} changed; {sum(one.sent_again for one in seen.entered)} sent "
            f"again, {sum(one.kept_before for one in seen.entered)} of them kept before the kill"
        )
    return shop_is_whole and backup_is_whole and not (seen.lost or seen.twice or seen.changed)


@contextmanager
def empty_database(environ: Mapping[str, str]) -> Iterator[Mapping[str, str]]:
    """The environment of another shop: on PostgreSQL with an empty database beside the loaded one."""
    url = environ.get("DATABASE_URL")
    if url is None:
        yield environ
        return
    import psycopg

    with psycopg.connect(url, autocommit=True) as server:
        server.execute("CREATE DATABASE restored")
        try:
            yield {**environ, "DATABASE_URL": urlsplit(url)._replace(path="/restored").geturl()}
        finally:
            server.execute("DROP DATABASE restored WITH (FORCE)")


def filled(data: Path, environ: Mapping[str, str], asked: argparse.Namespace) -> dict[str, list[int]]:
    """Make the tables and fill them; keys of what is there, by kind."""
    done = chore(data, "migrate", "-v0", "--skip-checks", environ=environ)
    if done.returncode:
        sys.exit(done.stderr)
    words = [sys.executable, "-m", "load.filled", str(asked.machines), str(asked.seasons)]
    around = surroundings(data, environ)
    filled_in = subprocess.run(words, env=around, cwd=ROOT, capture_output=True, text=True, check=False)
    if filled_in.returncode:
        sys.exit(filled_in.stderr)
    made: dict[str, list[int]] = json.loads(filled_in.stdout.splitlines()[-1])
    return made


def loaded(shop: ServedShop, backup: Path, made: Mapping[str, list[int]], seconds: float) -> tuple[Path, Told]:
    """Everybody at once, and a backup taken in the middle of it."""
    told = Told()

    def back_up() -> None:
        until(lambda: len(told.kept) >= KEPT_BEFORE_BACKUP, seconds)
        told.backup_at = time.monotonic()
        done = chore(shop.data, "backup", str(backup), environ=shop.environ)
        took_s = time.monotonic() - told.backup_at
        print(f"backup under load: exit {done.returncode}, {took_s:.1f} s {done.stderr[-300:]}")

    thread = threading.Thread(target=back_up)
    thread.start()
    load_for(shop.port, made, seconds, told)
    thread.join()
    return backup, told


def tell(told: Told, there: Mapping[str, int]) -> bool:
    """Print what was measured; whether nothing was lost and every answer was right."""
    for kind in sorted(told.seconds):
        took = sorted(told.seconds[kind])
        p50, p95, p99 = (took[min(len(took) - 1, int(len(took) * share))] for share in (0.5, 0.95, 0.99))
        figures = f"p50 {p50:.3f} s, p95 {p95:.3f} s, p99 {p99:.3f} s, worst {took[-1]:.3f} s"
        print(f"{kind:>12}: {len(took):>6} answers, {figures}")
    lost = told.kept.keys() - there.keys()
    print(f"readings acknowledged: {len(told.kept)}; lost: {len(lost)}; in the database: {len(there)}")
    print(f"mean: {statistics.fmean(s for took in told.seconds.values() for s in took):.3f} s")
    print(f"idle connections found closed by the server, and opened anew: {told.opened_anew}")
    for what, count in sorted(told.wrong.items()):
        print(f"WRONG {what}: {count}")
    return not lost and not told.wrong


def kept_in(data: Path, environ: Mapping[str, str]) -> dict[str, int]:
    """Every reading that is in the database, by entry, with its number."""
    code = (
        "import json, sys\n"
        "from wetrun.shop.records.models import Reading\n"
        "json.dump({str(e): n for e, n in Reading.objects.values_list('entry', 'number')}, sys.stdout)\n"
    )
    done = chore(data, "shell", "-v0", "-c", code, environ=environ)
    if done.returncode:
        sys.exit(done.stderr)
    found: dict[str, int] = json.loads(done.stdout)
    return found


def check_backup(backup: Path, data: Path, told: Told, environ: Mapping[str, str]) -> bool:
    """Restore the backup and look for every reading that was acknowledged before it was begun."""
    data.mkdir()
    restored = chore(data, "restore", str(backup), environ=environ)
    if restored.returncode:
        print(f"WRONG restore: {restored.stderr[-500:]}")
        return False
    there = kept_in(data, environ)
    due = {entry for entry, when in told.kept.items() if when < told.backup_at}
    if not due:
        print("WRONG backup: nothing was acknowledged before it, so it proves nothing")
    missing = len(due - there.keys())
    print(f"restored: {len(there)} readings; {len(due)} were acknowledged before the backup, {missing} missing")
    return bool(due) and due <= there.keys()
