"""Headers, settings and logs of a studio that is open to the world."""

import io
import logging
import os
import subprocess
import sys

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from studio.logs import WithoutWords
from studio.overview import views

pytestmark = pytest.mark.django_db


@pytest.fixture
def log():
    """What the studio's own log says, as text."""
    (handler,) = [h for h in logging.getLogger().handlers if isinstance(h.formatter, WithoutWords)]
    said = io.StringIO()
    before = handler.setStream(said)
    yield said.getvalue
    handler.setStream(before)


def test_djangos_own_check_has_no_warning_for_a_studio_over_https(tmp_path):
    # What the browser tests set for themselves is no part of a deployment.
    clean = {name: value for name, value in os.environ.items() if name != "DJANGO_ALLOW_ASYNC_UNSAFE"}
    result = subprocess.run(
        [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"],
        cwd=settings.BASE_DIR,
        env={**clean, "FOURBAR_HTTPS": "1", "FOURBAR_DATA": str(tmp_path)},
        capture_output=True,
        text=True,
    )
    assert result.returncode == 0, result.stderr
    assert "no issues (0 silenced)" in result.stdout


def test_an_error_is_logged_by_place_and_kind_and_without_what_was_typed(cast, sign_in, log, monkeypatch):
    typed = "Juno Pell, born in May"

    def fails(_studio):
        try:
            int(typed)
        except ValueError as error:
            raise RuntimeError(f"for {typed}") from error

    monkeypatch.setattr(views, "overview_page", fails)
    client = sign_in(cast.owner)
    client.raise_request_exception = False
    answer = client.get(reverse("overview"), {"q": typed})
    assert answer.status_code == 500
    assert "Juno" not in answer.content.decode()
    assert "Juno" not in log()
    assert "builtins.ValueError" in log()
    assert "builtins.RuntimeError" in log()
    assert "in fails" in log()
    assert reverse("overview") in log()


def test_a_failed_sign_in_is_logged_without_the_address_or_the_password(cast, client, log):
    form = {"username": cast.owner.email, "password": "once upon a password"}
    client.post(reverse("sign_in"), form)
    assert "AXES" in log()
    assert cast.owner.email not in log()
    assert "once upon" not in log()


@pytest.mark.parametrize("address", ["/sign-in/", "/overview/", "/nowhere/", "/card/"])
def test_every_answer_says_what_a_page_may_do(client, address):
    headers = client.get(address).headers
    refused = ("camera", "microphone", "geolocation", "payment", "usb")
    assert all(f"{feature}=()" in headers["Permissions-Policy"] for feature in refused)
    assert "default-src 'none'" in headers["Content-Security-Policy"]
    assert "unsafe" not in headers["Content-Security-Policy"]
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "same-origin"
    assert headers["X-Frame-Options"] == "DENY"


def test_no_secret_is_written_into_the_settings():
    source = (settings.BASE_DIR / "studio" / "settings.py").read_text()
    assert settings.SECRET_KEY not in source
    assert (settings.DATA_DIR / "secret_key").stat().st_mode & 0o077 == 0
    assert Client().get("/").status_code == 302
