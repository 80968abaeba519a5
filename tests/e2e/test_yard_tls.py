"""The yard over HTTPS, on a name that is not this computer's: the worker registers, and a page opens without a signal.

The certificate is made by `openssl` for the test and trusted by the hash of its key alone
(``--ignore-certificate-errors-spki-list``): no certificate of the machine's own store is touched, and every other
certificate stays untrusted. A service worker runs under a trusted certificate only, so this is what a tablet needs too.
"""

from __future__ import annotations

import base64
import hashlib
import shutil
import subprocess
from pathlib import Path

import pytest
from playwright.sync_api import sync_playwright
from tests.shop_browser import FLAGS, MISSING, PATIENCE_MS, chromium_path
from tests.shop_serving import ServedShop

NAME = "shop.yard.example"
REGISTERED = "navigator.serviceWorker.register('/worker.js').then(() => navigator.serviceWorker.ready).then(() => null)"


def certificate(folder: Path) -> tuple[str, str, str]:
    """A certificate for the name, its key, and the hash of its public key."""
    cert, key = str(folder / "cert.pem"), str(folder / "key.pem")
    asked = ["req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-days", "2"]
    named = ["-subj", f"/CN={NAME}", "-addext", f"subjectAltName=DNS:{NAME}", "-keyout", key, "-out", cert]
    openssl = shutil.which("openssl") or ""
    subprocess.run([openssl, *asked, *named], check=True, capture_output=True)
    words = [openssl, "pkey", "-in", key, "-pubout", "-outform", "der"]
    public = subprocess.run(words, check=True, capture_output=True).stdout
    return cert, key, base64.b64encode(hashlib.sha256(public).digest()).decode()


@pytest.mark.skipif(shutil.which("openssl") is None, reason="no openssl to make a certificate with")
@pytest.mark.skipif(chromium_path() is None, reason=MISSING)
def test_over_https_on_another_name_the_worker_runs_and_keeps_the_files(tmp_path: Path) -> None:
    cert, key, spki = certificate(tmp_path)
    more = [f"--host-resolver-rules=MAP {NAME} 127.0.0.1", f"--ignore-certificate-errors-spki-list={spki}"]
    options = ("--tls-cert", cert, "--tls-key", key, "--name", NAME)
    with ServedShop(tmp_path / "data", *options) as shop, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=[*FLAGS, *more])
        context = browser.new_context(base_url=f"https://{NAME}:{shop.port}")
        context.set_default_timeout(PATIENCE_MS)
        page = context.new_page()
        page.goto("/sign-in/")
        assert page.evaluate("isSecureContext")
        page.evaluate(REGISTERED)
        names = page.evaluate("caches.keys()")
        assert [name.startswith("files-") for name in names] == [True]
        held = page.evaluate("name => caches.open(name).then(c => c.keys()).then(k => k.length)", names[0])
        assert held >= 10
        browser.close()
