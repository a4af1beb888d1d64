"""Files that are being printed for several learners."""

from django.db import models
from django.utils import timezone

from students.models import Group
from studio.accounts.models import StudioQuerySet, StudioRow


class PrintJobQuerySet(StudioQuerySet):
    def recent(self):
        """Newest first."""
        return self.order_by("-made")


class PrintJob(StudioRow):
    """One PDF for a group or for the whole week's lessons, and how far it is.

    ``students`` are the learners' numbers in the order of the file; ``done`` counts
    those whose pages are ready. ``moved`` is when it last got on, so that one whose
    server was stopped can be told from one at work. ``missed`` names learners whose
    sheet could not be made.
    """

    WAITING, RUNNING, READY, FAILED = "waiting", "running", "ready", "failed"
    STATES = [(state, state) for state in (WAITING, RUNNING, READY, FAILED)]

    what = models.CharField(max_length=8)
    title = models.CharField(max_length=120)
    group = models.ForeignKey(Group, models.SET_NULL, null=True, related_name="+")
    day = models.DateField()
    students = models.JSONField()
    options = models.JSONField(default=dict)
    state = models.CharField(max_length=7, choices=STATES, default=WAITING)
    done = models.PositiveIntegerField(default=0)
    missed = models.JSONField(default=list)
    pdf = models.BinaryField(null=True)
    by = models.ForeignKey("accounts.User", models.CASCADE, related_name="+")
    made = models.DateTimeField(default=timezone.now)
    moved = models.DateTimeField(default=timezone.now)

    objects = PrintJobQuerySet.as_manager()

    class Meta(StudioRow.Meta):
        ordering = ["-made"]
        indexes = [models.Index(fields=["studio", "-made"])]

    def __str__(self):
        return self.title

    @property
    def total(self) -> int:
        return len(self.students)

    @property
    def is_at_work(self) -> bool:
        return self.state in (self.WAITING, self.RUNNING)
