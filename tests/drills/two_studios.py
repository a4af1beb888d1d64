"""Nobody sees another studio: random people of two studios ask for anything, of their own and of the other's.

After each request: a row of the other studio that an address names is not found, no
word of the other studio is in the answer, and nothing of the other studio changed,
whatever numbers were sent in a form. No row leads from one studio into the other.
"""

import json
import logging
from contextlib import contextmanager
from unittest import mock
from uuid import uuid4

from django.apps import apps
from django.db import models, transaction
from django.test import Client
from django.urls import URLResolver, get_resolver, reverse
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, rule, run_state_machine_as_test

from pieces import paper
from students.cards import new_card
from students.models import Student
from students.practice import record_tick
from studio.accounts.access import Role
from studio.accounts.models import Membership, Studio, StudioQuerySet, StudioRow, User
from studio.handouts import jobs
from tests.drills.drill import Drill, Outcome
from tests.drills.people import PASSWORD
from tests.rows import one_of_each
from tests.test_roles import DECLARED, OF_NO_STUDIO

NAMES = ("Amberfield", "Quillstone")  # no word of any page holds either
EXAMPLES, SHORT_EXAMPLES = 440, 8
STEPS = 25  # requests of an example, after which everything is as before
METHODS = ("GET", "POST")
BY_ADDRESS = ("calendar_feed", "invited")  # whoever has the secret address may use it
SAID = ("assign", "keep", "forget", "move", "add", "end", "undo", "let-go", "print", "call-off", "")
FIELDS = ("assignment", "student", "arrangement", "group", "piece", "lesson", "brought", "batch", "job")


class ForeignRow(AssertionError):
    """Something of one studio showed, or changed, in the other."""


def run(short: bool) -> Outcome:
    with transaction.atomic(), made_of_text(), mock.patch.object(jobs, "start", lambda job: None), quiet():
        town = Town()
        machine = settings(
            max_examples=SHORT_EXAMPLES if short else EXAMPLES,
            stateful_step_count=STEPS,
            derandomize=True,
            database=None,
            deadline=None,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        )
        broken = ()
        try:
            run_state_machine_as_test(lambda: SomebodyAsks(town), settings=machine)
        except ForeignRow as found:
            broken = (str(found),)
        transaction.set_rollback(True)
    figures = (
        f"{town.asked} requests by {len(town.actors)} people of two studios to {len(town.addresses)} addresses, "
        f"{town.foreign} of them for a row of the other studio: {len(broken)} foreign rows"
        + ("" if broken else ", always 404")
    )
    return Outcome(figures, broken)


class Place:
    """One studio with everything in it."""

    def __init__(self, name: str, studio, student: Student, rows: dict):
        self.name, self.studio, self.student, self.rows = name, studio, student, rows
        task = student.tasks.first()
        self.tick = record_tick(
            student, task, uuid=uuid4(), day=studio.today, tempo=60, felt="clean", at=studio.now
        )
        self.numbers = {**rows, "task": task.pk, "uuid": self.tick.uuid, "members": student.pk}


class Town:
    """Two studios, and who asks: each role of both, a stranger and a visitor."""

    def __init__(self):
        self.places = [self._place(Studio.objects.create(name=name)) for name in NAMES]
        self.actors = [(role, place) for place in self.places for role in Role]
        known = {
            name for name, (_who, _methods, kinds) in DECLARED.items() if _all_known(kinds, self.places[0])
        }
        self.addresses = [name for name in _names(get_resolver()) if name in known]
        self.asked = self.foreign = 0

    def _place(self, studio) -> Place:
        for role in (Membership.OWNER, Membership.TEACHER):
            user = User.objects.create_user(
                f"{role}-{studio.pk}@town.example", PASSWORD, name=f"{studio.name} {role}"
            )
            Membership.objects.create(studio=studio, user=user, role=role)
        User.objects.create_user(f"stranger-{studio.pk}@town.example", PASSWORD, name="Lou Quill")
        student = Student.objects.create(studio=studio, name=f"{studio.name} learner")
        rows = one_of_each(studio, student, studio.memberships.first().user)
        return Place(studio.name, studio, student, rows)

    def client_of(self, role: Role, place: Place) -> Client:
        """Somebody of this role, freshly signed in."""
        client = Client(raise_request_exception=True)
        if role in (Role.LEARNER, Role.GUARDIAN):
            client.post(reverse("card_sign_in"), {"token": new_card(place.student, str(role))[1]})
        elif role is not Role.VISITOR:
            user = User.objects.get(email=f"{role}-{place.studio.pk}@town.example")
            client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
        return client


class SomebodyAsks(RuleBasedStateMachine):
    def __init__(self, town: Town):
        super().__init__()
        self.town = town
        self._undone = transaction.atomic()
        self._undone.__enter__()

    def teardown(self):
        transaction.set_rollback(True)
        self._undone.__exit__(None, None, None)

    @rule(data=st.data())
    def somebody_asks(self, data):
        town = self.town
        role, place = data.draw(st.sampled_from(town.actors))
        other = next(each for each in town.places if each is not place)
        name = data.draw(st.sampled_from(town.addresses))
        method = data.draw(st.sampled_from(METHODS))
        who, methods, kinds = DECLARED[name]
        rows = {kind: data.draw(st.sampled_from((place, other))) for kind in kinds}
        form = data.draw(_forms(name, place, other)) if method == "POST" else {}
        client = town.client_of(role, place)
        before = _everything_of(other.studio)
        address = reverse(name, args=[rows[kind].rows[kind] for kind in kinds])
        answer = _ask(client, method, address, form)
        foreign = any(rows[kind] is other for kind in kinds if kind not in OF_NO_STUDIO)
        town.asked += 1
        town.foreign += foreign
        said = f"{role} {method} {name}"
        if foreign and role in who and method in methods.split() and answer.status_code != 404:
            raise ForeignRow(f"{said}: {answer.status_code} for a row of the other studio")
        if name in BY_ADDRESS:
            return
        if other.name in _text(answer):
            raise ForeignRow(f"{said}: the answer speaks of the other studio")
        if _everything_of(other.studio) != before:
            raise ForeignRow(f"{said}: it changed something of the other studio")
        if method == "POST" and (led := _rows_that_lead_across()):
            raise ForeignRow(f"{said}: {led} leads into the other studio")


def _forms(name: str, place: Place, other: Place):
    """What may be sent: any number of a row, of either studio, under any name a form has for one."""
    fields = {
        field: st.sampled_from([place.numbers[field], other.numbers[field]])
        for field in (*FIELDS, "task", "uuid", "members")
    }
    fields |= {
        "do": st.sampled_from(SAID),
        "by": st.sampled_from([f"s{each.student.pk}" for each in (place, other)]),
        "of-arrangement": st.sampled_from([each.rows["arrangement"] for each in (place, other)]),
        "of-sheet": st.just("outline"),
        "for-whose": st.sampled_from(
            [f"{letter}{each.student.pk}" for letter in "sl" for each in (place, other)]
        ),
        "for-sheet": st.just("week"),
        "tempo": st.just(60),
        "felt": st.just("clean"),
        "name": st.just("Anew"),
        "letters": st.just("A"),
        "goal": st.just(60),
        "section": st.just("A"),
        "standing": st.just("secure"),
        "note": st.just("Slowly."),
    }
    plain = st.fixed_dictionaries({}, optional=fields) | st.fixed_dictionaries(fields)
    return st.just({"ticks": _sent(place, other)}) if name == "ticks" else plain


def _sent(place: Place, other: Place) -> list[dict]:
    """A tick of the other studio's assignment, one with its UUID, and the taking back of its tick."""
    tick = {"learner": "", "key": "bar:1", "tempo": 60, "felt": "clean"}
    return [
        {**tick, "uuid": str(uuid4()), "assignment": other.rows["assignment"]},
        {**tick, "uuid": str(other.tick.uuid), "assignment": place.rows["assignment"]},
        {**tick, "uuid": str(uuid4()), "undoes": str(other.tick.uuid)},
    ]


def _ask(client: Client, method: str, address: str, form: dict):
    if method == "GET":
        return client.get(address)
    if "ticks" in form:
        mark = client.get(reverse("kept_week"))
        learner = mark.json()["device"]["learner"] if mark.status_code == 200 else ""
        form = {"ticks": [{**tick, "learner": learner} for tick in form["ticks"]]}
        return client.post(address, json.dumps(form), content_type="application/json")
    return client.post(address, form)


def _text(answer) -> str:
    body = b"".join(answer.streaming_content) if answer.streaming else answer.content
    return body.decode(errors="replace") + str(answer.headers)


def _everything_of(studio) -> int:
    """Changes when any row of the studio does."""
    seen = [
        (m.__name__, tuple(m.objects.filter(studio=studio).order_by("pk").values_list())) for m in _tables()
    ]
    return hash(str(seen))


def _rows_that_lead_across() -> str:
    """The first row with a key into another studio."""
    for model in _tables():
        for field in model._meta.get_fields():
            if isinstance(field, models.ForeignKey) and issubclass(field.related_model, StudioRow):
                across = model.objects.exclude(**{f"{field.name}__studio": models.F("studio")})
                if across.exclude(**{field.name: None}).exists():
                    return f"{model.__name__}.{field.name}"
        for field in model._meta.many_to_many:
            here, there = field.m2m_field_name(), field.m2m_reverse_field_name()
            pairs = field.remote_field.through.objects
            if pairs.exclude(**{f"{here}__studio": models.F(f"{there}__studio")}).exists():
                return f"{model.__name__}.{field.name}"
    return ""


def _tables() -> list[type[StudioRow]]:
    return [model for model in apps.get_models() if issubclass(model, StudioRow)]


def _names(resolver):
    for pattern in resolver.url_patterns:
        if isinstance(pattern, URLResolver):
            yield from _names(pattern)
        else:
            yield pattern.name


def _all_known(kinds, place: Place) -> bool:
    return all(kind in place.rows for kind in kinds)


@contextmanager
def made_of_text():
    """Handouts as their text, so that it can be looked at, and made in no time."""

    class Text:
        def __init__(self, pages):
            self._pages = pages

        def write_pdf(self, **_options) -> bytes:
            return "".join(self._pages).encode()

    with mock.patch.object(paper, "set_page", Text):
        yield


@contextmanager
def quiet():
    """Refusals are what is wanted here, and need no log."""
    logging.disable(logging.WARNING)
    try:
        yield
    finally:
        logging.disable(logging.NOTSET)


@contextmanager
def rows_of_every_studio():
    """The first call of every query lets everything through."""
    with mock.patch.object(StudioQuerySet, "of", lambda rows, studio: rows.all()):
        yield


DRILL = Drill(
    "studios",
    "nobody sees another studio",
    run,
    {"every studio's rows are let through": rows_of_every_studio},
)
