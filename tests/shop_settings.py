"""The shop's settings as the tests run it: a key that is no secret, plain HTTP, quick passwords."""

from __future__ import annotations

import os
import tempfile

os.environ.setdefault("WETRUN_SECRET_KEY", "only for tests: this key signs nothing that matters to anybody at all")
os.environ.setdefault("WETRUN_PLAIN_HTTP", "1")
os.environ.setdefault("WETRUN_HOSTS", "testserver,localhost,127.0.0.1")
os.environ.setdefault("WETRUN_OPENING", "only for tests")
os.environ.setdefault("WETRUN_DATA", tempfile.mkdtemp(prefix="wetrun-tests-"))

from wetrun.shop.settings import *  # noqa: F403

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
AXES_ENABLED = False
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):  # noqa: F405
    # A file, as in real use: a server, a worker and the test itself each have a connection of their own. Power cuts
    # are tried elsewhere, on the settings of real use.
    DATABASES["default"]["TEST"] = {"NAME": str(DATA / "tests.sqlite3")}  # noqa: F405
    DATABASES["default"]["OPTIONS"]["init_command"] = "PRAGMA journal_mode=WAL; PRAGMA synchronous=OFF;"  # noqa: F405
STATIC_ROOT.mkdir(parents=True, exist_ok=True)  # noqa: F405 - the server looks for it as it starts
# A page of docs/ to ask for: the real ones have a test that builds them.
DOCS = DATA / "docs"  # noqa: F405
DOCS.mkdir(parents=True, exist_ok=True)
(DOCS / "index.html").write_text("<!doctype html><title>Only for tests</title>", encoding="utf-8")
