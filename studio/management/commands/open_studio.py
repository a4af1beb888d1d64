"""A new studio, and the invitation of its owner."""

from zoneinfo import available_timezones

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.urls import reverse

from studio.accounts.invitations import invite
from studio.accounts.models import Membership, Studio


class Command(BaseCommand):
    help = "Open a studio and print the address by which its owner joins: once, within a week."

    def add_arguments(self, parser):
        parser.add_argument("name", help="of the studio, in quotes")
        parser.add_argument("email", help="of the owner")
        parser.add_argument("--time-zone", default="Europe/London", help="such as Europe/Lisbon")

    def handle(self, *, name, email, time_zone, **options):
        if time_zone not in available_timezones():
            raise CommandError(f"{time_zone} is no time zone; write it as Europe/Lisbon.")
        studio = Studio.objects.create(name=name, time_zone=time_zone)
        _made, token = invite(studio, email, Membership.OWNER, by=None)
        scheme = "https" if settings.HTTPS else "http"
        self.stdout.write(f"{scheme}://{settings.ALLOWED_HOSTS[0]}{reverse('invited', args=[token])}")
