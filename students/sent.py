"""Ticks that a device kept while there was no network, judged as they come in.

A device may send the same tick many times, late, with a wrong clock, or after another
learner took it over. Each tick is kept once, or refused for good with a reason; what
is neither is sent again.
"""

import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django import forms
from django.utils.crypto import salted_hmac

from pieces.models import Revision
from students import practice
from students.models import Assignment, Chunk, PlannedTask, Student, Tick
from students.planning.loops import Kind

MOST_AT_ONCE = 50
FAST_CLOCK = timedelta(minutes=2)
OTHER_CARD = "it was made with another card."
NOT_YOURS = "this piece was not given to you."
NOT_KNOWN = "the tick to take back is not known."
KINDS = Kind.__args__
# All that is read to keep a tick: a class that ticks at once waits for every column more.
OF_ASSIGNMENT = ("starts_on", "arrangement", "revision")
OF_TASK = ("minutes", *(f"chunk__{name}" for name in ("key", "kind", "first", "last", "data", "assignment")))


class SentTickForm(forms.Form):
    """One tick, or with ``undoes`` the taking back of one, as a device sends it."""

    uuid = forms.UUIDField()
    learner = forms.CharField(max_length=64)
    at = forms.DateTimeField(required=False)
    undoes = forms.UUIDField(required=False)
    assignment = forms.IntegerField(required=False)
    revision = forms.IntegerField(required=False)
    key = forms.RegexField(rf"^({'|'.join(KINDS)})(:.+)?$", max_length=60, required=False)
    day = forms.DateField(required=False)
    tempo = forms.IntegerField(min_value=20, max_value=320, required=False)
    felt = forms.ChoiceField(choices=Tick.FELT, required=False)
    minutes = forms.IntegerField(min_value=0, max_value=240, required=False)

    def clean(self):
        given = super().clean()
        needed = () if given.get("undoes") else ("assignment", "key", "tempo", "felt")
        for name in needed:
            if not given.get(name) and name not in self.errors:
                self.add_error(name, f"{name} is missing.")
        return given


@dataclass(frozen=True)
class Clock:
    """The server's time and the studio's day, against which a device's are judged."""

    now: datetime
    today: date

    def day(self, claimed: date | None, starts_on: date) -> date:
        """The day a tick counts for: as claimed, unless it lies ahead or before the piece was given.

        >>> clock = Clock(datetime(2026, 3, 5, 12), date(2026, 3, 5))
        >>> [str(clock.day(date(2026, 3, day), date(2026, 3, 2))) for day in (4, 6, 1)]
        ['2026-03-04', '2026-03-05', '2026-03-05']
        """
        return claimed if claimed and starts_on <= claimed <= self.today else self.today

    def moment(self, claimed: datetime | None, day: date, claimed_day: date | None) -> datetime:
        """When it was made: now, where the day had to be put right or the moment lies ahead."""
        trusted = claimed and day == claimed_day and claimed <= self.now + FAST_CLOCK
        return claimed if trusted else self.now


class Refused(ValueError):
    """A tick that will never be kept; the reason in words."""


def device_mark(card_id: int) -> str:
    """How a device knows whose ticks it keeps: the same for one card, and saying nothing of it."""
    return salted_hmac("students.sent", str(card_id)).hexdigest()[:20]


def keep_sent(student: Student, mark: str, sent: list, clock: Clock) -> dict:
    """Keep what a device sent, in order: ``{"kept": [uuid], "refused": [{"uuid", "why"}]}``."""
    kept, refused = [], []
    for one in sent:
        uuid = str(one.get("uuid", "")) if isinstance(one, dict) else ""
        try:
            _keep(student, mark, one, clock)
            kept.append(uuid)
        except Refused as reason:
            refused.append({"uuid": uuid, "why": str(reason)})
    return {"kept": kept, "refused": refused}


def _keep(student: Student, mark: str, one, clock: Clock) -> Tick:
    form = SentTickForm(one if isinstance(one, dict) else {})
    if not form.is_valid():
        raise Refused(" ".join(f"{error}" for errors in form.errors.values() for error in errors))
    given = form.cleaned_data
    if given["learner"] != mark:
        raise Refused(OTHER_CARD)
    tick = _take_back(student, given, clock) if given["undoes"] else _record(student, given, clock)
    if tick.student_id != student.pk:
        raise Refused(OTHER_CARD)
    return tick


def _take_back(student: Student, given: dict, clock: Clock) -> Tick:
    tick = Tick.objects.filter(student=student, uuid=given["undoes"], undoes=None).first()
    if tick is None:
        raise Refused(NOT_KNOWN)
    at = clock.moment(given["at"], tick.day, tick.day)
    return practice.undo_tick(tick, uuid=given["uuid"], at=at)


def _record(student: Student, given: dict, clock: Clock) -> Tick:
    assignments = Assignment.objects.of(student.studio_id).belonging_to(student.pk)
    assignment = assignments.only(*OF_ASSIGNMENT).filter(pk=given["assignment"]).first()
    if assignment is None:
        raise Refused(NOT_YOURS)
    day = clock.day(given["day"], assignment.starts_on)
    return practice.record_tick(
        student,
        _task(student, assignment, given, day),
        uuid=given["uuid"],
        day=day,
        tempo=given["tempo"],
        felt=given["felt"],
        minutes=given["minutes"] or 0,
        at=clock.moment(given["at"], day, given["day"]),
    )


def _task(student: Student, assignment: Assignment, given: dict, day: date) -> PlannedTask:
    """What was ticked, as the device saw it: planned for that day or not, cut anew since or not."""
    if given["revision"] != assignment.revision_id and _is_of(assignment, given["revision"]):
        assignment.revision_id = given["revision"]  # that which was on the screen; never saved here
    planned = PlannedTask.objects.filter(assignment=assignment, student=student, day=day)
    task = planned.filter(chunk__key=given["key"]).select_related("chunk").only(*OF_TASK).first()
    chunk = task.chunk if task else assignment.chunks.filter(key=given["key"]).first()
    chunk = chunk or _chunk_of(given["key"])
    chunk.assignment = assignment
    return PlannedTask(chunk=chunk, minutes=task.minutes if task else 0)


def _is_of(assignment: Assignment, revision: int | None) -> bool:
    """Whether the piece that was given had this revision."""
    return Revision.objects.filter(arrangement=assignment.arrangement_id, pk=revision).exists()


def _chunk_of(key: str) -> Chunk:
    """What a key alone tells of a loop that is no longer cut.

    >>> loop = _chunk_of("join:4-5")
    >>> loop.kind, loop.first, loop.last
    ('join', 4, 5)
    """
    kind, _, rest = key.partition(":")
    bars = re.search(r"(\d{1,4})(?:-(\d{1,4}))?$", rest)
    first = int(bars[1]) if bars else 0
    last = int(bars[2] or bars[1]) if bars else 0
    section = rest.partition(":")[0][:4] if kind == "section" else ""
    return Chunk(key=key, kind=kind, first=first, last=last, label=key, data={"section": section})
