"""``python -m tools.docs_site``: build the site; ``--if-stale`` only where something changed since."""

from __future__ import annotations

import argparse
import sys

from tools.docs_site.building import SITE, NotBuilt, build, is_fresh


def main() -> int:
    """Build and return the exit code."""
    parser = argparse.ArgumentParser(prog="docs_site", description=__doc__)
    parser.add_argument(
        "--if-stale", action="store_true", help="do nothing if the site that is there is as new as docs/"
    )
    asked = parser.parse_args()
    if asked.if_stale and is_fresh():
        return 0
    print("Building the pages of docs/ (some ten seconds, once for each change) …", flush=True)
    try:
        build()
    except NotBuilt as problem:
        print(problem, file=sys.stderr)
        print("The site was not built; what was there before is as it was.", file=sys.stderr)
        return 1
    print(f"Open {SITE / 'index.html'}, or /docs/ in the shop.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
