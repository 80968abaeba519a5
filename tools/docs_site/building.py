"""Gathers, lets Sphinx build with every warning an error, checks, and then puts the new site in place of the old."""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Final

from tools.docs_site.checking import forbidden_in
from tools.docs_site.gathering import ROOT, fingerprint, gather
from tools.docs_site.opening_up import open_up

SITE: Final = ROOT / "src" / "wetrun" / "shop" / "site"
"""Where the shop looks for it, and a wheel takes it from."""
STAMP: Final = "made-from.txt"


class NotBuilt(Exception):  # noqa: N818 - said as the tree's own errors are
    """The site could not be built; what Sphinx or the check said."""


def is_fresh(site: Path = SITE) -> bool:
    """Return whether the site that is there was made from what is there now."""
    stamp = site / STAMP
    return stamp.is_file() and stamp.read_text(encoding="utf-8") == fingerprint()


def build(site: Path = SITE) -> None:
    """Build the site; the old one stays until the new one is whole.

    Parameters
    ----------
    site : Path
        Where it goes.

    Raises
    ------
    NotBuilt
        If Sphinx warns of anything, or a page holds what the shop's policy forbids.
    """
    wanted = fingerprint()
    with tempfile.TemporaryDirectory(prefix="wetrun-docs-") as folder:
        pages, made = Path(folder, "pages"), Path(folder, "site")
        gather(pages)
        _run_sphinx(pages, made)
        open_up(made)
        if wrong := forbidden_in(made):
            raise NotBuilt("\n".join(wrong))
        (made / STAMP).write_text(wanted, encoding="utf-8")
        _put(made, site)


def _run_sphinx(pages: Path, made: Path) -> None:
    words = ["-m", "sphinx", "-q", "-W", "--keep-going", "-n", "-b", "html", "-d", str(pages.parent / "trees")]
    done = subprocess.run(  # noqa: S603 - our own interpreter
        [sys.executable, *words, str(pages), str(made)], capture_output=True, text=True, check=False
    )
    if done.returncode:
        raise NotBuilt(done.stderr.replace(f"{pages}/", "docs/"))
    for left_over in (".buildinfo", "objects.inv"):
        (made / left_over).unlink(missing_ok=True)


def _put(made: Path, site: Path) -> None:
    """Two renames: whoever reads meanwhile finds the old pages or the new ones."""
    beside = site.with_name(f".{site.name}.new")
    before = site.with_name(f".{site.name}.old")
    for folder in (beside, before):
        shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(made, beside)
    if site.exists():
        site.rename(before)
    beside.rename(site)
    shutil.rmtree(before, ignore_errors=True)
