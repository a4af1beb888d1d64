"""Who teaches where: users, studios, and what every row of a studio has in common."""

from zoneinfo import ZoneInfo, available_timezones

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.core.exceptions import ValidationError
from django.db import models
from django.utils import timezone


def is_time_zone(name: str) -> None:
    """Raise ValidationError unless ``name`` is in the IANA time zone database."""
    if name not in available_timezones():
        raise ValidationError(f"{name} is no time zone; write it as Europe/Lisbon.")


class Studio(models.Model):
    """One teacher's studio, or a school. Everything else belongs to exactly one.

    ``syllables`` is the way of counting, by name or as the teacher's own beats, and
    ``felt_beats`` whether own beats count compound meters in dotted beats (see
    ``pieces.music.counting.way_of_counting``).
    """

    PAPERS = [("a4", "A4"), ("letter", "Letter")]

    name = models.CharField(max_length=80)
    time_zone = models.CharField(max_length=64, default="Europe/London", validators=[is_time_zone])
    paper = models.CharField(max_length=6, choices=PAPERS, default="a4")
    syllables = models.CharField(max_length=160, default="1 & 2 &")
    felt_beats = models.BooleanField(default=False)
    created = models.DateTimeField(default=timezone.now)

    def __str__(self):
        return self.name

    @property
    def today(self):
        """The studio's own date, whatever the server's clock says."""
        return timezone.now().astimezone(ZoneInfo(self.time_zone)).date()

    @property
    def now(self):
        """The studio's own wall clock."""
        return timezone.now().astimezone(ZoneInfo(self.time_zone))


class UserManager(BaseUserManager):
    def create_user(self, email, password=None, **more):
        user = self.model(email=self.normalize_email(email).lower(), **more)
        user.set_password(password)
        user.save(using=self._db)
        return user

    def get_by_natural_key(self, email):
        return self.get(email=email.strip().lower())


class User(AbstractBaseUser):
    """A teacher or an owner. Learners have a card instead and no account."""

    email = models.EmailField(unique=True)
    name = models.CharField(max_length=80)
    is_active = models.BooleanField(default=True)

    objects = UserManager()

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS = ["name"]

    def __str__(self):
        return self.name


class Membership(models.Model):
    """What a user may do in a studio."""

    OWNER, TEACHER = "owner", "teacher"
    ROLES = [(OWNER, "owner"), (TEACHER, "teacher")]

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="memberships")
    user = models.ForeignKey(User, models.CASCADE, related_name="memberships")
    role = models.CharField(max_length=7, choices=ROLES, default=TEACHER)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["studio", "user"], name="one_membership_a_studio")]

    def __str__(self):
        return f"{self.user} at {self.studio}"


class StudioQuerySet(models.QuerySet):
    def of(self, studio):
        """Only what belongs to ``studio``: the first call of every query in a view."""
        return self.filter(studio=studio)


class StudioRow(models.Model):
    """A row that belongs to a studio; (studio, id) is unique, so tables can be split by studio."""

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="+")

    objects = StudioQuerySet.as_manager()

    class Meta:
        abstract = True
        constraints = [
            models.UniqueConstraint(fields=["studio", "id"], name="%(app_label)s_%(class)s_studio_id")
        ]


class InvitationQuerySet(StudioQuerySet):
    def open(self):
        """Neither used nor over."""
        return self.filter(used=None, expires__gt=timezone.now())


class Invitation(StudioRow):
    """A link by which somebody may join a studio: once, within a week. Only its SHA-256 is kept."""

    email = models.EmailField()
    role = models.CharField(max_length=7, choices=Membership.ROLES, default=Membership.TEACHER)
    digest = models.CharField(max_length=64, unique=True)
    by = models.ForeignKey(User, models.SET_NULL, null=True, related_name="+")
    made = models.DateTimeField(default=timezone.now)
    expires = models.DateTimeField()
    used = models.DateTimeField(null=True)

    objects = InvitationQuerySet.as_manager()

    class Meta(StudioRow.Meta):
        ordering = ["made"]

    def __str__(self):
        return f"invitation of {self.email}"


class SignedIn(models.Model):
    """A browser in which a teacher is signed in: its session, since when, and what it calls itself."""

    user = models.ForeignKey(User, models.CASCADE, related_name="signed_in")
    session_key = models.CharField(max_length=40, unique=True)
    since = models.DateTimeField(default=timezone.now)
    browser = models.CharField(max_length=60)

    class Meta:
        ordering = ["-since"]

    def __str__(self):
        return f"{self.user}: {self.browser}"


class AuditRow(StudioRow):
    """That something happened which an owner may want to know of. No name of a learner is in it.

    ``by`` is the teacher who did it; without one it was the learner, or somebody at the
    studio's machine. ``learner`` and ``piece`` are numbers, which outlive what they name.
    """

    WHAT = [
        ("signed in", "signed in"),
        ("card", "card made"),
        ("erased", "learner erased"),
        ("rights", "rights decided"),
        ("joined", "joined"),
    ]

    what = models.CharField(max_length=9, choices=WHAT)
    by = models.ForeignKey(User, models.SET_NULL, null=True, related_name="+")
    learner = models.BigIntegerField(null=True)
    piece = models.BigIntegerField(null=True)
    more = models.CharField(max_length=40, blank=True)
    at = models.DateTimeField(default=timezone.now)

    class Meta(StudioRow.Meta):
        ordering = ["-at", "-pk"]
        indexes = [models.Index(fields=["studio", "-at"])]

    def __str__(self):
        return f"{self.at}: {self.what}"
