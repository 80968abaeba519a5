"""Runs Python with a PostgreSQL of its own: ``python tools/with_postgres.py [--durable] -m pytest …``.

A cluster in a temporary folder, reached by a socket in it and by nothing else, named by DATABASE_URL, and gone when the
command is. PostgreSQL refuses to run as root, so root hands it to the user `postgres` or `nobody`. It sorts as people
do, not by bytes, so that a page that leans on SQLite's order is found out. Without ``--durable`` nothing is forced to
the disk: right for tests, wrong for measuring.
"""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final
from urllib.parse import quote

USERS: Final = ("postgres", "nobody")
DEBIAN: Final = Path("/usr/lib/postgresql")
CARELESS: Final = {"fsync": "off", "synchronous_commit": "off", "full_page_writes": "off"}
SORTING: Final = ("-E", "UTF8", "--locale=C.UTF-8", "--locale-provider=icu", "--icu-locale=en-US")
NAME: Final = "wetrun"


def main() -> int:
    """Run the command and return its exit code."""
    words = sys.argv[1:]
    durable = words[:1] == ["--durable"]
    command = words[1:] if durable else words
    if not command:
        sys.exit(__doc__)
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))  # so that the cluster is taken away then too
    with cluster(durable=durable) as url:
        environ = os.environ | {"DATABASE_URL": url}
        return subprocess.run([sys.executable, *command], env=environ, check=False).returncode  # noqa: S603


@contextmanager
def cluster(*, durable: bool = False) -> Iterator[str]:
    """Start a cluster, give its address, and take it away.

    Parameters
    ----------
    durable : bool
        Whether it forces what is committed to the disk.

    Yields
    ------
    str
        For DATABASE_URL.
    """
    programs = folder_of_programs()
    owner = owner_of_cluster()
    folder = Path(tempfile.mkdtemp(prefix="wetrun-postgres-"))
    try:
        if owner is not None:
            shutil.chown(folder, owner)
        run(owner, programs / "initdb", "-D", folder / "data", "-A", "trust", "-U", NAME, "-N", *SORTING)
        settings = {"listen_addresses": "", "unix_socket_directories": str(folder), "max_connections": "200"}
        words = [f"-c {name}='{value}'" for name, value in {**settings, **({} if durable else CARELESS)}.items()]
        server = ("-D", folder / "data", "-l", folder / "log", "-w")
        run(owner, programs / "pg_ctl", *server, "-o", " ".join(words), "start")
        try:
            run(owner, programs / "createdb", "-h", folder, "-U", NAME, NAME)
            yield f"postgresql://{NAME}@/{NAME}?host={quote(str(folder), safe='')}"
        finally:
            run(owner, programs / "pg_ctl", *server, "-m", "fast", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def run(owner: str | None, *words: str | Path) -> None:
    """Run one of PostgreSQL's programs, as its owner, and stop with what it said if it fails."""
    told = [str(word) for word in words]
    done = subprocess.run(  # noqa: S603 - PostgreSQL's own
        told, user=owner, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True, cwd="/", check=False
    )
    if done.returncode:
        sys.exit(f"{Path(told[0]).name} failed: {done.stderr.strip()}")


def folder_of_programs() -> Path:
    """Return where PostgreSQL's programs are: the newest of Debian's, or those on the PATH."""
    found = sorted(DEBIAN.glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]) if path.parts[-3].isdigit() else 0)
    if found:
        return found[-1].parent
    named = shutil.which("initdb")
    if named is None:
        sys.exit("There is no PostgreSQL server here. Debian and Ubuntu: apt install postgresql")
    return Path(named).resolve().parent


def owner_of_cluster() -> str | None:
    """Return whom the cluster is run as; None for whoever runs this."""
    if os.geteuid() != 0:
        return None
    known = {entry.pw_name for entry in pwd.getpwall()}
    return next((name for name in USERS if name in known), None)


if __name__ == "__main__":
    sys.exit(main())
