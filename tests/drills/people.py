"""Invented studios for the drills: an owner, learners with cards, and a piece given to each."""

from dataclasses import dataclass
from datetime import timedelta

from pieces.music.tab import read_tab
from pieces.workup import add_piece
from students.cards import new_card
from students.models import Assignment, Student
from students.practice import assign
from students.records import Terms
from studio.accounts.models import Membership, Studio, User
from tests.students.steps import LONG_TUNE

PASSWORD = "a long enough password"
GIVEN_BEFORE, LESSON_IN = timedelta(days=5), timedelta(days=8)


@dataclass(frozen=True)
class Learner:
    """A learner, what they were given, and the token on their card."""

    student: Student
    assignment: Assignment
    token: str


@dataclass(frozen=True)
class People:
    studio: Studio
    owner: User
    learners: tuple[Learner, ...]


def people(name: str, learners: int) -> People:
    """A studio called ``name``, with so many learners who all play one piece."""
    studio = Studio.objects.create(name=name)
    owner = User.objects.create_user(f"owner-{studio.pk}@drill.example", PASSWORD, name=f"Owner of {name}")
    Membership.objects.create(studio=studio, user=owner, role=Membership.OWNER)
    arrangement = add_piece(studio, read_tab(LONG_TUNE), rights="own")
    today = studio.today
    terms = Terms(("A",), 72, today - GIVEN_BEFORE, today + LESSON_IN)
    made = []
    for number in range(1, learners + 1):
        student = Student.objects.create(studio=studio, name=f"{name} {number}", teacher=owner)
        given = assign(student, arrangement, terms)
        made.append(Learner(student, given, new_card(student)[1]))
    return People(studio, owner, tuple(made))
