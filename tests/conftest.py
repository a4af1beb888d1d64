"""The cast of the tests: two studios, and everybody who may ask for a page."""

import os
from types import SimpleNamespace

import pytest
from django.test import Client


def pytest_configure():
    """Passwords of the cast guard nothing, so they may be cheap; files are served as they lie."""
    from django.conf import settings

    plain = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    settings.STORAGES = {**settings.STORAGES, "staticfiles": plain}
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


def pytest_sessionfinish(session):
    """Where nothing may be skipped, a skipped test is a failed run."""
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    if os.environ.get("FOURBAR_SKIP_NOTHING") and reporter and reporter.stats.get("skipped"):
        reporter.write_line("A test was skipped, and none may be.")
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


@pytest.hookimpl(tryfirst=True)  # before -m chooses by these marks
def pytest_collection_modifyitems(items):
    """What asks for the database is marked so, and can be run on PostgreSQL by that name."""
    for item in items:
        if {"db", "transactional_db", "live_server"} & set(item.fixturenames) or item.get_closest_marker(
            "django_db"
        ):
            item.add_marker("database")


@pytest.fixture
def cast(db):
    """Owner, teacher, second teacher, learner, other learner, guardian, and a stranger's studio."""
    from students.models import Student
    from studio.accounts.models import Membership, Studio, User

    studio = Studio.objects.create(name="Lantern Row Strings")
    elsewhere = Studio.objects.create(name="Mill Lane Music")

    def teacher(email, name, place, role):
        user = User.objects.create_user(email, "a long enough password", name=name)
        if place:
            Membership.objects.create(studio=place, user=user, role=role)
        return user

    people = SimpleNamespace(
        studio=studio,
        elsewhere=elsewhere,
        owner=teacher("ines@lantern.example", "Ines Calder", studio, "owner"),
        teacher=teacher("tom@lantern.example", "Tam Ruddock", studio, "teacher"),
        foreigner=teacher("ada@mill.example", "Adi Fenn", elsewhere, "owner"),
        homeless=teacher("no@where.example", "Lou Quill", None, None),
    )
    people.learner = Student.objects.create(studio=studio, name="Juno Pell", teacher=people.owner)
    people.other_learner = Student.objects.create(studio=studio, name="Otto Brand", teacher=people.teacher)
    people.foreign_learner = Student.objects.create(studio=elsewhere, name="Nell Farrow")
    return people


@pytest.fixture
def sign_in():
    """A client of the test in which the given user, or holder of a card, is signed in."""

    def signed_in(user=None, *, student=None, holder="learner") -> Client:
        from students.cards import new_card

        client = Client()
        if user is not None:
            client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
        if student is not None:
            card, _token = new_card(student, holder)
            session = client.session
            session["card"] = card.pk
            session.save()
        return client

    return signed_in
