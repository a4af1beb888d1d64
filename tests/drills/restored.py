"""A new installation with nothing but a backup: ``python -m tests.drills.restored FOLDER ASKED``.

Prints one line of JSON with what it found there. For the drill ``restore`` only.
"""

import json
import sys
from pathlib import Path

from tests.drills.ground import set_up


def found(asked: dict) -> dict:
    from django.core.management import call_command
    from django.db import connection
    from django.test import Client
    from django.urls import reverse

    from students.models import PlannedTask, Student
    from studio.overview import backups
    from tests.drills.people import PASSWORD
    from tests.drills.restoring import counts

    backups.restore(Path(asked["backup"]))
    connection.ensure_connection()
    restored = counts(connection.connection)  # before erased learners are erased again
    call_command("restore", asked["backup"], verbosity=0)

    owner, learner = Client(), Client()
    owner.post(reverse("sign_in"), {"username": asked["owner"], "password": PASSWORD})
    learner.post(reverse("card_sign_in"), {"token": asked["token"]})
    pages = [owner.get(reverse("overview")), learner.get(reverse("today"))]
    pdf = owner.get(reverse("week_pdf", args=[asked["student"]])).content
    return {
        "restored": restored,
        "signed_in": sum(page.status_code == 200 for page in pages),
        "planned": PlannedTask.objects.filter(student=asked["student"]).count(),
        "pdf": len(pdf) if pdf.startswith(b"%PDF") else 0,
        "came_back": Student.objects.filter(pk=asked["erased"]).count(),
    }


if __name__ == "__main__":
    set_up(Path(sys.argv[1]))
    print(json.dumps(found(json.loads(sys.argv[2]))))
