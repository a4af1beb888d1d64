"""Lessons: when they are, what was said, what was promised."""

from django.db import models
from django.utils import timezone

from pieces.models import Arrangement
from students.models import Group, OfStudentQuerySet, Student
from studio.accounts.models import StudioQuerySet, StudioRow


class LessonSlot(StudioRow):
    """A learner's regular lesson time, in the studio's own clock. ``weekday``: Monday is 0."""

    student = models.ForeignKey(Student, models.CASCADE, related_name="slots")
    teacher = models.ForeignKey("accounts.User", models.SET_NULL, null=True, related_name="+")
    weekday = models.PositiveSmallIntegerField()
    starts = models.TimeField()
    minutes = models.PositiveSmallIntegerField(default=30)

    objects = OfStudentQuerySet.as_manager()

    class Meta(StudioRow.Meta):
        ordering = ["weekday", "starts"]
        indexes = [models.Index(fields=["studio", "weekday", "starts"])]

    def __str__(self):
        return f"{self.student} {self.weekday} {self.starts:%H:%M}"


class LessonQuerySet(OfStudentQuerySet):
    def before(self, day):
        return self.filter(day__lt=day)

    def held(self):
        return self.filter(state=Lesson.HELD)

    def taking_place(self):
        """Neither missed nor moved to another day."""
        return self.filter(state__in=[Lesson.PLANNED, Lesson.HELD])

    def owed(self):
        """Missed or called off, to be made up, and without a day for it yet."""
        return self.filter(owed=True, made_up_by=None)

    def with_open_promise(self, today):
        """With a promise that is not ticked as kept, or was so only today."""
        return self.exclude(promised="").filter(models.Q(kept_on=None) | models.Q(kept_on=today))


class Lesson(StudioRow):
    """What is known of a learner's lesson on one day; a regular lesson without a row is as usual.

    A row is ``planned`` where it stands outside the regular times, ``held`` once anything
    was written in it, ``absent`` where it did not take place and ``moved`` where another
    took its place. ``makes_up_for`` is the lesson in whose place it stands. ``note`` is
    printed for the learner; ``promised`` is for the teacher, open until ``kept_on``.
    """

    PLANNED, HELD, ABSENT, MOVED = "planned", "held", "absent", "moved"
    STATES = [(PLANNED, "planned"), (HELD, "held"), (ABSENT, "absent"), (MOVED, "moved")]

    student = models.ForeignKey(Student, models.CASCADE, related_name="lessons")
    teacher = models.ForeignKey("accounts.User", models.SET_NULL, null=True, related_name="+")
    day = models.DateField()
    starts = models.TimeField(null=True)
    minutes = models.PositiveSmallIntegerField(default=30)
    note = models.TextField(blank=True)
    promised = models.TextField(blank=True)
    kept_on = models.DateField(null=True, blank=True)
    state = models.CharField(max_length=7, choices=STATES, default=HELD)
    owed = models.BooleanField(default=False)
    makes_up_for = models.OneToOneField(
        "self", models.SET_NULL, null=True, blank=True, related_name="made_up_by"
    )

    objects = LessonQuerySet.as_manager()

    class Meta(StudioRow.Meta):
        ordering = ["-day", "-starts"]
        constraints = [
            *StudioRow.Meta.constraints,
            models.UniqueConstraint(fields=["student", "day"], name="one_lesson_a_day"),
        ]
        indexes = [
            models.Index(fields=["studio", "student", "day"]),
            models.Index(fields=["studio", "day"]),
        ]

    def __str__(self):
        return f"{self.student}, {self.day}"


class CalendarAddressQuerySet(StudioQuerySet):
    def in_force(self):
        return self.filter(ended=None)


class CalendarAddress(StudioRow):
    """A secret address at which a calendar program reads the lesson times of a teacher or learner.

    Only the SHA-256 of its token is kept, as with cards. An ended one is not found any more.
    """

    teacher = models.ForeignKey("accounts.User", models.CASCADE, null=True, blank=True, related_name="+")
    student = models.ForeignKey(Student, models.CASCADE, null=True, blank=True, related_name="calendars")
    digest = models.CharField(max_length=64, unique=True)
    made = models.DateTimeField(default=timezone.now)
    ended = models.DateTimeField(null=True)
    last_read = models.DateField(null=True)

    objects = CalendarAddressQuerySet.as_manager()

    class Meta(StudioRow.Meta):
        constraints = [
            *StudioRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(teacher=None) ^ models.Q(student=None), name="calendar_of_one_person"
            ),
        ]

    def __str__(self):
        return f"calendar of {self.student or self.teacher}"


class PerformanceQuerySet(StudioQuerySet):
    def coming(self, day):
        return self.filter(day__gte=day)


class Performance(StudioRow):
    """A day on which pieces are played to others, in the order of its programme."""

    title = models.CharField(max_length=80)
    day = models.DateField()
    place = models.CharField(max_length=80, blank=True)

    objects = PerformanceQuerySet.as_manager()

    class Meta(StudioRow.Meta):
        ordering = ["day", "title"]
        indexes = [models.Index(fields=["studio", "day"])]

    def __str__(self):
        return f"{self.title}, {self.day}"


class ProgrammeItem(StudioRow):
    """A piece of a programme: one arrangement, played by one learner or by a group."""

    performance = models.ForeignKey(Performance, models.CASCADE, related_name="programme")
    position = models.PositiveSmallIntegerField()
    arrangement = models.ForeignKey(Arrangement, models.PROTECT, related_name="+")
    student = models.ForeignKey(Student, models.CASCADE, null=True, blank=True, related_name="+")
    group = models.ForeignKey(Group, models.CASCADE, null=True, blank=True, related_name="+")

    class Meta(StudioRow.Meta):
        ordering = ["position", "pk"]
        constraints = [
            *StudioRow.Meta.constraints,
            models.CheckConstraint(
                condition=models.Q(student=None) ^ models.Q(group=None), name="played_by_one_or_by_a_group"
            ),
        ]

    def __str__(self):
        return f"{self.arrangement}, {self.student or self.group}"

    @property
    def players(self) -> list[Student]:
        """Who plays it, by name."""
        return list(self.group.members.all()) if self.group else [self.student]
