"""Learners, what they were given, what they did, and what the teacher said of it.

Ticks and marks are the truth. Chunks, planned tasks and standings are derived from
them and from the arrangement, and can be made again at any time.
"""

import uuid
from fractions import Fraction

from django.db import models
from django.utils import timezone

from pieces.models import Arrangement, Revision
from studio.accounts.models import StudioQuerySet, StudioRow

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def ten_minutes_on_weekdays():
    return dict.fromkeys(WEEKDAYS[:6], 10)


class StudentQuerySet(StudioQuerySet):
    def belonging_to(self, student_id):
        return self.filter(pk=student_id)

    def learning(self):
        """Still coming to lessons."""
        return self.filter(left_on=None)

    def with_current_work(self):
        """With running assignments and their pieces, for lists: two queries more, however long."""
        running = Assignment.objects.running().select_related("arrangement__piece")
        return self.prefetch_related(models.Prefetch("assignments", running, to_attr="current_work"))


class Student(StudioRow):
    """A learner. Of a child the least is kept: no birthday, no photo, no address."""

    HANDS = [("right", "right-handed"), ("left", "left-handed")]
    LEVELS = [("beginner", "beginner"), ("intermediate", "intermediate"), ("advanced", "advanced")]

    name = models.CharField(max_length=60)
    teacher = models.ForeignKey("accounts.User", models.SET_NULL, null=True, related_name="+")
    instrument = models.CharField(max_length=40, default="ukulele high G")
    hand = models.CharField(max_length=5, choices=HANDS, default="right")
    level = models.CharField(max_length=12, choices=LEVELS, default="beginner")
    minutes = models.JSONField(default=ten_minutes_on_weekdays)
    alternate = models.BooleanField(default=True)
    guardian_email = models.EmailField(blank=True)
    consent_on = models.DateField(null=True, blank=True)
    note = models.TextField(blank=True)
    joined_on = models.DateField(default=timezone.localdate)
    left_on = models.DateField(null=True, blank=True)

    objects = StudentQuerySet.as_manager()

    class Meta(StudioRow.Meta):
        ordering = ["name"]
        indexes = [models.Index(fields=["studio", "name"])]

    def __str__(self):
        return self.name

    @property
    def left_handed(self) -> bool:
        return self.hand == "left"

    @property
    def minutes_a_week(self) -> int:
        return sum(self.minutes.values())


class OfStudentQuerySet(StudioQuerySet):
    def belonging_to(self, student_id):
        return self.filter(student_id=student_id)


class Away(StudioRow):
    """Days without practice: a holiday, or an illness after which the return is gentle."""

    student = models.ForeignKey(Student, models.CASCADE, related_name="away")
    first = models.DateField()
    last = models.DateField()
    ill = models.BooleanField(default=False)

    objects = OfStudentQuerySet.as_manager()

    class Meta(StudioRow.Meta):
        pass

    def __str__(self):
        return f"{self.student} away {self.first} to {self.last}"


class Group(StudioRow):
    """Learners who are taught and given pieces together."""

    name = models.CharField(max_length=60)
    members = models.ManyToManyField(Student, related_name="groups")

    class Meta(StudioRow.Meta):
        ordering = ["name"]

    def __str__(self):
        return self.name


class AssignmentQuerySet(OfStudentQuerySet):
    def running(self):
        return self.filter(ended_on=None)

    def in_repertoire(self):
        """Put away as learned, and not let go."""
        return self.filter(ended_on__isnull=False, let_go=False)

    def planned(self):
        """Whatever may have a day in a plan: what is running, and the repertoire."""
        return self.filter(let_go=False)

    def with_music(self):
        return self.select_related("arrangement__piece", "revision", "student")


class Assignment(StudioRow):
    """Sections of an arrangement given to a learner, with a goal and a date.

    ``letters`` are section letters. ``start_goal`` is the goal from which loops take
    their starting tempo, where the goal was lowered for now. ``planned_for`` is the day from which the stored
    tasks were last planned; ``stale`` says that something happened since. ``meant_for``
    is the lesson it was given for, where that passed and it runs on to the next. What
    was put away (``ended_on``) comes back as a play-through until it is ``let_go``.
    ``group`` is the group it was given to together. ``scores`` are the difficulties by
    bar that the studio's learners had shown when it was given, so that its loops stay
    as they were cut.
    """

    student = models.ForeignKey(Student, models.CASCADE, related_name="assignments")
    arrangement = models.ForeignKey(Arrangement, models.PROTECT, related_name="assignments")
    revision = models.ForeignKey(Revision, models.PROTECT, related_name="+")
    letters = models.JSONField(default=list)
    goal_tempo = models.PositiveSmallIntegerField()
    start_goal = models.PositiveSmallIntegerField(null=True, blank=True)
    starts_on = models.DateField()
    until = models.DateField()
    meant_for = models.DateField(null=True, blank=True)
    performance = models.BooleanField(default=False)
    note = models.TextField(blank=True)
    scores = models.JSONField(default=dict)
    planned_for = models.DateField(null=True)
    stale = models.BooleanField(default=True)
    fit = models.JSONField(default=dict)
    ended_on = models.DateField(null=True, blank=True)
    let_go = models.BooleanField(default=False)
    group = models.ForeignKey(Group, models.SET_NULL, null=True, blank=True, related_name="assignments")
    created = models.DateTimeField(default=timezone.now)

    objects = AssignmentQuerySet.as_manager()

    class Meta(StudioRow.Meta):
        ordering = ["-starts_on", "-pk"]
        indexes = [models.Index(fields=["studio", "student", "ended_on"])]

    def __str__(self):
        return f"{self.student}: {self.arrangement}"


class OfAssignmentQuerySet(StudioQuerySet):
    def belonging_to(self, student_id):
        return self.filter(assignment__student_id=student_id)


class Chunk(StudioRow):
    """A loop of an assignment, as ``students.planning.chunks`` cut it."""

    assignment = models.ForeignKey(Assignment, models.CASCADE, related_name="chunks")
    key = models.CharField(max_length=60)
    kind = models.CharField(max_length=8)
    first = models.PositiveSmallIntegerField()
    last = models.PositiveSmallIntegerField()
    label = models.CharField(max_length=120)
    position = models.PositiveSmallIntegerField()
    data = models.JSONField()

    objects = OfAssignmentQuerySet.as_manager()

    class Meta(StudioRow.Meta):
        ordering = ["position"]
        constraints = [
            *StudioRow.Meta.constraints,
            models.UniqueConstraint(fields=["assignment", "key"], name="one_chunk_a_key"),
        ]

    def __str__(self):
        return self.label

    @property
    def beats(self) -> Fraction:
        """Metronome beats of one pass."""
        return Fraction(self.data["beats"])


class PlannedTask(StudioRow):
    """One loop on one day of a learner's plan."""

    student = models.ForeignKey(Student, models.CASCADE, related_name="tasks")
    assignment = models.ForeignKey(Assignment, models.CASCADE, related_name="tasks")
    chunk = models.ForeignKey(Chunk, models.CASCADE, related_name="tasks")
    day = models.DateField()
    order = models.PositiveSmallIntegerField()
    minutes = models.PositiveSmallIntegerField()
    passes = models.PositiveSmallIntegerField()
    from_tempo = models.PositiveSmallIntegerField()
    to_tempo = models.PositiveSmallIntegerField()
    new = models.BooleanField(default=False)
    why = models.CharField(max_length=240)

    objects = OfStudentQuerySet.as_manager()

    class Meta(StudioRow.Meta):
        ordering = ["day", "order"]
        indexes = [models.Index(fields=["studio", "student", "day"])]

    def __str__(self):
        return f"{self.day}: {self.chunk}"

    @property
    def label(self) -> str:
        return self.chunk.label


class TickQuerySet(OfStudentQuerySet):
    def standing(self):
        """Ticks that count: neither an undoing nor undone."""
        undone = self.model.objects.filter(student=models.OuterRef("student"), undoes=models.OuterRef("uuid"))
        return self.filter(undoes=None).exclude(models.Exists(undone))

    def since(self, day):
        return self.filter(day__gte=day)


class Tick(StudioRow):
    """What a learner recorded. Never changed, never deleted; ``undoes`` takes one back.

    ``uuid`` is made by the learner's device, so that a tick sent twice is one tick.
    The loop is named by its key, bars and revision, so that a tick outlives a new
    plan and an edited piece. ``minutes`` is how long it took by the device's clock,
    0 where it did not say; ``planned`` is what the plan had asked.
    """

    BROKE, SLIPS, CLEAN = "broke", "slips", "clean"
    FELT = [(BROKE, "broke down"), (SLIPS, "some slips"), (CLEAN, "clean")]

    uuid = models.UUIDField(default=uuid.uuid4)
    student = models.ForeignKey(Student, models.CASCADE, related_name="ticks")
    assignment = models.ForeignKey(Assignment, models.CASCADE, related_name="ticks")
    revision = models.ForeignKey(Revision, models.PROTECT, related_name="+")
    key = models.CharField(max_length=60)
    kind = models.CharField(max_length=8)
    section = models.CharField(max_length=4, blank=True)
    first = models.PositiveSmallIntegerField()
    last = models.PositiveSmallIntegerField()
    day = models.DateField()
    tempo = models.PositiveSmallIntegerField()
    felt = models.CharField(max_length=5, choices=FELT)
    minutes = models.PositiveSmallIntegerField(default=0)
    planned = models.PositiveSmallIntegerField(default=0)
    at = models.DateTimeField(default=timezone.now)
    undoes = models.UUIDField(null=True, blank=True)

    objects = TickQuerySet.as_manager()

    class Meta(StudioRow.Meta):
        ordering = ["day", "at", "pk"]
        constraints = [
            *StudioRow.Meta.constraints,
            models.UniqueConstraint(fields=["studio", "uuid"], name="a_tick_sent_twice_is_one"),
        ]
        indexes = [
            models.Index(fields=["studio", "student", "day"]),
            models.Index(fields=["studio", "day"]),
            # ``standing`` asks of every tick whether it was taken back; few ever are.
            models.Index(
                fields=["student", "undoes"],
                condition=models.Q(undoes__isnull=False),
                name="ticks_taken_back",
            ),
        ]

    def __str__(self):
        return f"{self.day} {self.key} {self.tempo} {self.felt}"


class Mark(StudioRow):
    """The teacher's own judgement of a section; it outweighs ticks until a later lesson."""

    STANDINGS = [("learning", "learning"), ("at tempo", "at tempo"), ("secure", "secure")]

    student = models.ForeignKey(Student, models.CASCADE, related_name="marks")
    assignment = models.ForeignKey(Assignment, models.CASCADE, related_name="marks")
    section = models.CharField(max_length=4)
    standing = models.CharField(max_length=8, choices=STANDINGS)
    day = models.DateField()
    by = models.ForeignKey("accounts.User", models.SET_NULL, null=True, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    objects = OfStudentQuerySet.as_manager()

    class Meta(StudioRow.Meta):
        ordering = ["day", "at", "pk"]
        indexes = [models.Index(fields=["studio", "student", "day"])]

    def __str__(self):
        return f"{self.day} {self.section}: {self.standing}"


class SectionStanding(StudioRow):
    """Where a section stands for a learner: derived, with its evidence."""

    student = models.ForeignKey(Student, models.CASCADE, related_name="standings")
    assignment = models.ForeignKey(Assignment, models.CASCADE, related_name="standings")
    section = models.CharField(max_length=4)
    standing = models.CharField(max_length=9)
    why = models.JSONField(default=list)
    due_on = models.DateField(null=True)

    objects = OfStudentQuerySet.as_manager()

    class Meta(StudioRow.Meta):
        constraints = [
            *StudioRow.Meta.constraints,
            models.UniqueConstraint(fields=["assignment", "section"], name="one_standing_a_section"),
        ]
        indexes = [models.Index(fields=["studio", "student"])]

    def __str__(self):
        return f"{self.section}: {self.standing}"


class SignInCardQuerySet(OfStudentQuerySet):
    def in_force(self):
        return self.filter(ended=None)


class SignInCard(StudioRow):
    """A printed card that signs a learner in, or a link that lets a guardian look.

    Only the SHA-256 of the 128-bit token is kept. Ending a card ends every session
    that began with it, because the card is looked up at each request.
    """

    HOLDERS = [("learner", "learner"), ("guardian", "guardian")]

    student = models.ForeignKey(Student, models.CASCADE, related_name="cards")
    holder = models.CharField(max_length=8, choices=HOLDERS, default="learner")
    digest = models.CharField(max_length=64, unique=True)
    made = models.DateTimeField(default=timezone.now)
    ended = models.DateTimeField(null=True)
    last_used = models.DateTimeField(null=True)

    objects = SignInCardQuerySet.as_manager()

    class Meta(StudioRow.Meta):
        indexes = [models.Index(fields=["studio", "student"])]

    def __str__(self):
        return f"card of {self.student_id}"


class SignInCode(StudioRow):
    """A code of eight characters for a learner without a camera: once, within a day."""

    card = models.ForeignKey(SignInCard, models.CASCADE, related_name="codes")
    digest = models.CharField(max_length=64, unique=True)
    expires = models.DateTimeField()
    used = models.DateTimeField(null=True)

    class Meta(StudioRow.Meta):
        pass

    def __str__(self):
        return f"code of card {self.card_id}"


class FailedSignIn(models.Model):
    """A card or code that was not known, by address, to slow down guessing."""

    address = models.GenericIPAddressField()
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        indexes = [models.Index(fields=["address", "at"])]

    def __str__(self):
        return self.address
