"""The demo studio into an empty database, dated from today backwards."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db import transaction

from students import practice
from students.cards import new_card
from students.models import Assignment, Group, SignInCard, Student
from studio.accounts.models import Membership, Studio, User
from studio.demo.people import (
    EVENING,
    EVENING_IN,
    OWNER,
    PAIR,
    PEOPLE,
    PROGRAMME,
    SECOND_TEACHER,
    STUDIO,
    TIME_ZONE,
    Person,
)
from studio.demo.pieces import add_pieces
from studio.demo.weeks import live_through
from studio.lessons.models import LessonSlot, Performance, ProgrammeItem


@dataclass(frozen=True)
class Loaded:
    """The studio as it stands on ``today``."""

    studio: Studio
    owner: User
    today: date


@transaction.atomic
def load_demo(password: str, today: date | None = None) -> Loaded:
    """Make the demo studio, with ``password`` for both teachers."""
    studio = Studio.objects.create(name=STUDIO, time_zone=TIME_ZONE)
    today = today or studio.today
    owner, second = _add_teachers(studio, password)
    arrangements = add_pieces(studio, owner)
    students = {}
    for person in PEOPLE:
        teacher = second if person.teacher else owner
        student = students[person.name] = add_learner(studio, person, teacher, today)
        live_through(student, person, arrangements, today)
        if person.has_card:
            _give_card(student, today - timedelta(days=person.joined))
        practice.keep_planned(student, today)
    pair = _pair_up(studio, [students[name] for name in PAIR], f"{today:%A} pair")
    _set_programme(studio, today + timedelta(days=EVENING_IN), arrangements, students, pair)
    return Loaded(studio, owner, today)


def _pair_up(studio: Studio, members: list[Student], name: str) -> Group:
    """A group of learners who were given the same piece together."""
    group = Group.objects.create(studio=studio, name=name)
    group.members.set(members)
    Assignment.objects.filter(student__in=members).update(group=group)
    return group


def _set_programme(studio: Studio, day: date, arrangements, students, pair: Group) -> None:
    """The evening on which some of the learners play to others."""
    title, place = EVENING
    evening = Performance.objects.create(studio=studio, title=title, place=place, day=day)
    for position, (piece, name) in enumerate(PROGRAMME):
        ProgrammeItem.objects.create(
            studio=studio,
            performance=evening,
            position=position,
            arrangement=arrangements[piece],
            student=students[name] if name else None,
            group=None if name else pair,
        )


def add_learner(studio: Studio, person: Person, teacher: User, today: date) -> Student:
    """A learner with a lesson time and, for a child, the guardian's consent."""
    joined = today - timedelta(days=person.joined)
    family = person.name.split()[-1].lower()
    student = Student.objects.create(
        studio=studio,
        name=person.name,
        teacher=teacher,
        instrument=person.instrument,
        hand=person.hand,
        level=person.level,
        minutes=dict(person.minutes),
        guardian_email=f"{family}@family.example" if person.is_child else "",
        consent_on=joined if person.is_child else None,
        note=person.note,
        joined_on=joined,
    )
    LessonSlot.objects.create(
        studio=studio,
        student=student,
        teacher=teacher,
        weekday=(today + timedelta(days=person.lesson)).weekday(),
        starts=time.fromisoformat(person.at),
    )
    return student


def _add_teachers(studio: Studio, password: str) -> list[User]:
    roles = (Membership.OWNER, Membership.TEACHER)
    teachers = []
    for (name, email), role in zip((OWNER, SECOND_TEACHER), roles, strict=True):
        user = User.objects.create_user(email, password, name=name)
        Membership.objects.create(studio=studio, user=user, role=role)
        teachers.append(user)
    return teachers


def _give_card(student: Student, made_on: date) -> None:
    """A card, last used when the learner last ticked. Nobody has its token: print a new one."""
    card, _token = new_card(student)
    last = student.ticks.order_by("day", "at").last()
    made = datetime.combine(made_on, time(17), ZoneInfo(student.studio.time_zone))
    SignInCard.objects.filter(pk=card.pk).update(made=made, last_used=last.at if last else None)
