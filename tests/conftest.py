"""What all tests share: how Hypothesis searches."""

from __future__ import annotations

import os

from hypothesis import settings

# No deadline: a slow machine is not a defect, and speed is the business of `make bench`. Where CI runs, the search is
# the same each time, so that a red build can be trusted to be about the change; at a desk it goes on looking.
settings.register_profile("desk", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("ci" if os.environ.get("CI") == "true" else "desk")
