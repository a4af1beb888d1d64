"""Lessons: when they are, what was said, what was promised."""

from django.db import models

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


class Lesson(StudioRow):
    """A lesson that was held. ``note`` is printed for the learner, ``promised`` is for the teacher."""

    student = models.ForeignKey(Student, models.CASCADE, related_name="lessons")
    teacher = models.ForeignKey("accounts.User", models.SET_NULL, null=True, related_name="+")
    day = models.DateField()
    starts = models.TimeField(null=True)
    minutes = models.PositiveSmallIntegerField(default=30)
    note = models.TextField(blank=True)
    promised = models.TextField(blank=True)

    objects = LessonQuerySet.as_manager()

    class Meta(StudioRow.Meta):
        ordering = ["-day", "-starts"]
        constraints = [
            *StudioRow.Meta.constraints,
            models.UniqueConstraint(fields=["student", "day"], name="one_lesson_a_day"),
        ]
        indexes = [models.Index(fields=["studio", "student", "day"])]

    def __str__(self):
        return f"{self.student}, {self.day}"


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
