"""What all tests share: how Hypothesis searches, and where the real field logs are."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import settings

# No deadline: a slow machine is not a defect, and speed is the business of `make bench`. Where CI runs, the search is
# the same each time, so that a red build can be trusted to be about the change; at a desk it goes on looking.
settings.register_profile("desk", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("ci" if os.environ.get("CI") == "true" else "desk")

REAL_LOG = Path("asapplied-sprayer-uan-2019") / "asapplied_session_A.csv.gz"


@pytest.fixture(scope="session")
def real_log_path() -> Path:
    """A real as-applied log, beside the project and never in it."""
    beside = Path(__file__).parents[1] / ".." / "shared" / "logs"
    path = Path(os.environ.get("WETRUN_LOGS") or beside) / REAL_LOG
    if not path.exists():
        if os.environ.get("CI") == "true":
            pytest.fail(f"{path} is missing: set WETRUN_LOGS to the folder of real logs")
        pytest.skip("the real logs are not beside the project; set WETRUN_LOGS")
    return path.resolve()
