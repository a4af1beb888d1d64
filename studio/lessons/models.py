"""Lessons: when they are, what was said, what was promised."""

from django.db import models

from students.models import OfStudentQuerySet, Student
from studio.accounts.models import StudioRow


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
