"""A studio in which two learners play one piece."""

from datetime import time, timedelta
from types import SimpleNamespace

import pytest

from pieces.music.tab import read_tab
from pieces.workup import add_piece
from students.models import Group
from students.practice import assign
from students.records import Terms
from studio.lessons.models import LessonSlot
from tests.tune import TUNE

EVERY_DAY = dict.fromkeys(("mon", "tue", "wed", "thu", "fri", "sat", "sun"), 15)


@pytest.fixture
def room(cast):
    """Juno and Otto both play it; Otto's lesson comes first in the week."""
    piece = add_piece(cast.studio, read_tab(TUNE), by=cast.owner, rights="own")
    today = cast.studio.today
    for student, day in ((cast.learner, 3), (cast.other_learner, 2)):
        student.minutes = EVERY_DAY
        student.save()
        lesson = today + timedelta(days=day)
        LessonSlot.objects.create(
            studio=cast.studio, student=student, weekday=lesson.weekday(), starts=time(16, 30)
        )
        assign(student, piece, Terms(("A",), 72, today, lesson + timedelta(days=7), minutes=EVERY_DAY))
    group = Group.objects.create(studio=cast.studio, name="Saturday strings")
    group.members.set([cast.learner, cast.other_learner])
    return SimpleNamespace(arrangement=piece, group=group, today=today, **vars(cast))


@pytest.fixture
def desk(room, sign_in):
    return sign_in(room.owner)
