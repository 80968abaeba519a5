"""``python -m load``: see `load.bearing`. What the tests share asks for settings before it can be read."""

from __future__ import annotations

import os
import sys

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.shop_settings")

if __name__ == "__main__":
    import django

    django.setup()
    from load.bearing import main

    sys.exit(main())
