"""Pieces and their arrangements, as a teacher keeps them.

An arrangement's bars are data (see ``pieces.music.stored``), kept in numbered
revisions that are never changed once made. What Fourbar finds in a revision can be
computed again at any time, so it is not stored (see ``pieces.workup``); what the
teacher decided instead is an ``Override``, and wins.
"""

from django.db import models
from django.utils import timezone
from django.utils.functional import cached_property

from pieces.music.findings import BETWEEN
from pieces.music.score import Score
from pieces.music.stored import score_from
from pieces.music.tuning import Tuning
from studio.accounts.models import StudioQuerySet, StudioRow


class PieceQuerySet(StudioQuerySet):
    def in_use(self):
        """Not put away."""
        return self.filter(put_away=False)


class Piece(StudioRow):
    """A piece of music; its arrangements are what is played."""

    RIGHTS = [
        ("", "not set"),
        ("public", "traditional or out of copyright"),
        ("own", "our own"),
        ("licensed", "licensed or permitted"),
        ("unknown", "not known"),
    ]

    title = models.CharField(max_length=120)
    credit = models.CharField(max_length=160, blank=True)
    rights = models.CharField(max_length=8, choices=RIGHTS, blank=True)
    made_by = models.ForeignKey("accounts.User", models.SET_NULL, null=True, related_name="+")
    created = models.DateTimeField(default=timezone.now)
    put_away = models.BooleanField(default=False)

    objects = PieceQuerySet.as_manager()

    class Meta(StudioRow.Meta):
        indexes = [models.Index(fields=["studio", "title"])]

    def __str__(self):
        return self.title

    @property
    def free_to_print(self) -> bool:
        return self.rights in ("public", "own", "licensed")


class ArrangementQuerySet(StudioQuerySet):
    def with_piece(self):
        return self.select_related("piece", "current")


class Arrangement(StudioRow):
    """One way to play a piece on one instrument.

    ``movement`` is as in ``pieces.music.changes.finger_progression``.
    """

    MOVEMENTS = [(0.0, "textbook shapes"), (BETWEEN, "between the two"), (1.0, "least movement")]

    piece = models.ForeignKey(Piece, models.CASCADE, related_name="arrangements")
    name = models.CharField(max_length=80, default="melody and thumb")
    goal_tempo = models.PositiveSmallIntegerField(default=76)
    picking = models.CharField(max_length=16, default="thumb and two")
    movement = models.FloatField(choices=MOVEMENTS, default=BETWEEN)
    position = models.PositiveSmallIntegerField(default=0)
    current = models.ForeignKey("Revision", models.PROTECT, null=True, related_name="+")

    objects = ArrangementQuerySet.as_manager()

    class Meta(StudioRow.Meta):
        ordering = ["position", "pk"]

    def __str__(self):
        return f"{self.piece.title}, {self.name}"

    def to_score(self) -> Score:
        """The music of the current revision."""
        return self.current.to_score()


class Revision(StudioRow):
    """An arrangement's bars at one time. Never changed: an edit makes the next.

    ``typed`` is the counted tab as the teacher wrote it, or "" where the piece
    was brought as a file or edited bar by bar. ``sitting`` is when a sitting in the
    bar editor last made it, None once that is finished (see ``pieces.editing``).
    """

    arrangement = models.ForeignKey(Arrangement, models.CASCADE, related_name="revisions")
    number = models.PositiveIntegerField()
    score = models.JSONField()
    typed = models.TextField(blank=True)
    made = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey("accounts.User", models.SET_NULL, null=True, related_name="+")
    sitting = models.DateTimeField(null=True)

    class Meta(StudioRow.Meta):
        constraints = [
            *StudioRow.Meta.constraints,
            models.UniqueConstraint(fields=["arrangement", "number"], name="one_revision_a_number"),
        ]

    def __str__(self):
        return f"{self.arrangement_id} revision {self.number}"

    def to_score(self) -> Score:
        return self._score

    @cached_property
    def _score(self) -> Score:
        return score_from(self.score)

    @property
    def tuning(self) -> Tuning:
        return self._score.tuning


class Override(StudioRow):
    """What the teacher decided in place of a finding. ``key`` names the finding.

    ``value`` of None means: the finding was looked at and is right.
    """

    arrangement = models.ForeignKey(Arrangement, models.CASCADE, related_name="overrides")
    key = models.CharField(max_length=80)
    value = models.JSONField(null=True)
    by = models.ForeignKey("accounts.User", models.SET_NULL, null=True, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta(StudioRow.Meta):
        constraints = [
            *StudioRow.Meta.constraints,
            models.UniqueConstraint(fields=["arrangement", "key"], name="one_override_a_finding"),
        ]

    def __str__(self):
        return self.key


class NeededTime(StudioRow):
    """What learners of the studio took for single bars of an arrangement, as of one day.

    Derived from their ticks on ``revision`` (see ``students.evidence``), so that the
    pages of a piece can show it. ``by_bar`` gives for a bar number pairs of minutes
    expected and needed, one a learner.
    """

    arrangement = models.OneToOneField(Arrangement, models.CASCADE, related_name="needed_time")
    revision = models.ForeignKey(Revision, models.CASCADE, related_name="+")
    day = models.DateField()
    by_bar = models.JSONField(default=dict)

    class Meta(StudioRow.Meta):
        pass

    def __str__(self):
        return f"{self.arrangement_id} as of {self.day}"


class BatchQuerySet(StudioQuerySet):
    def open(self):
        """With files that are neither kept nor left out, newest first."""
        waiting = BroughtFile.objects.filter(batch=models.OuterRef("pk")).exclude(state=BroughtFile.KEPT)
        return self.filter(models.Exists(waiting)).order_by("-pk")


class Batch(StudioRow):
    """Files brought together, to be read one by one and kept in one go.

    ``tuning`` is the instrument they are set on, "" for each file's own.
    """

    tuning = models.CharField(max_length=40, blank=True)
    by = models.ForeignKey("accounts.User", models.CASCADE, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    objects = BatchQuerySet.as_manager()

    def __str__(self):
        return f"files of {self.at:%Y-%m-%d %H:%M}"


class BroughtFile(StudioRow):
    """An uploaded file while the teacher answers what Fourbar asks about it.

    Of a batch besides: ``state`` says how far it is, ``since`` when a request began to
    read it, ``semitones`` and ``part`` are what the teacher answered, ``report`` is what
    was found (see ``pieces.batches``), ``piece`` is what it became.
    """

    WAITING, READING, READ, ASKS, REFUSED, KEPT = "waiting", "reading", "read", "asks", "refused", "kept"
    STATES = [(state, state) for state in (WAITING, READING, READ, ASKS, REFUSED, KEPT)]

    name = models.CharField(max_length=160)
    data = models.BinaryField()
    by = models.ForeignKey("accounts.User", models.CASCADE, related_name="+")
    at = models.DateTimeField(default=timezone.now)
    batch = models.ForeignKey(Batch, models.CASCADE, null=True, related_name="files")
    state = models.CharField(max_length=8, choices=STATES, default=WAITING)
    since = models.DateTimeField(null=True)
    semitones = models.SmallIntegerField(default=0)
    part = models.PositiveSmallIntegerField(null=True)
    report = models.JSONField(default=dict)
    piece = models.ForeignKey(Piece, models.SET_NULL, null=True, related_name="+")

    def __str__(self):
        return self.name
