"""CPU time of each page against a bare Django page of 200 rows, in one run.

    python -m tests.benchmarks.pages

The demo studio is loaded into a database of its own. Each page is asked for through
Django's test client, middleware and all; the first answer is thrown away.
"""

import os
import tempfile
from time import process_time

os.environ["FOURBAR_DATA"] = tempfile.mkdtemp()
os.environ["FOURBAR_HOSTS"] = "testserver"
os.environ["FOURBAR_DEBUG"] = "1"
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")

import django

django.setup()

from django.core.management import call_command
from django.db import connection
from django.http import HttpResponse
from django.template import engines
from django.test import Client, RequestFactory
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from students.cards import new_card
from students.models import Student, Tick
from studio.demo.loading import load_demo

TIMES = 10
BARE = """<table>{% for tick in ticks %}<tr><td>{{ tick.day }}</td><td>{{ tick.key }}</td>
<td>{{ tick.tempo }}</td><td>{{ tick.felt }}</td></tr>{% endfor %}</table>"""


def main():
    call_command("migrate", verbosity=0)
    loaded = load_demo("a password that guards nothing")
    studio, owner = loaded.studio, loaded.owner
    desk = Client()
    desk.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")
    student = Student.objects.filter(name="Otto Brand").get()
    phone = Client()
    session = phone.session
    session["card"] = new_card(student)[0].pk
    session.save()
    arrangement = student.assignments.running().first().arrangement
    pages = [
        ("overview", desk, ()),
        ("lesson_list", desk, ()),
        ("lesson", desk, (student.pk,)),
        ("student_list", desk, ()),
        ("student", desk, (student.pk,)),
        ("assign", desk, (student.pk, arrangement.pk)),
        ("piece_list", desk, ()),
        ("arrangement", desk, (arrangement.pk,)),
        ("bar", desk, (arrangement.pk, 3)),
        ("handout_list", desk, ()),
        ("week_pdf", desk, (student.pk,)),
        ("today", phone, ()),
        ("my_pieces", phone, ()),
        ("progress", phone, ()),
    ]
    bare = cost(bare_page(studio))
    print(f"{'bare page of 200 rows':24} {bare:7.1f} ms")
    for name, client, arguments in pages:
        address = reverse(name, args=arguments)
        with CaptureQueriesContext(connection) as queries:
            assert client.get(address).status_code == 200, name
            asked = len(queries)
        took = cost(lambda client=client, address=address: client.get(address))
        print(f"{name:24} {took:7.1f} ms {took / bare:6.1f} x {asked:4} queries")


def bare_page(studio):
    """A page with nothing of ours but 200 rows of a table."""
    template = engines["django"].from_string(BARE)
    request = RequestFactory().get("/")

    def page():
        rows = Tick.objects.of(studio)[:200]
        return HttpResponse(template.render({"ticks": rows}, request))

    return page


def cost(page) -> float:
    """Milliseconds of CPU for one answer, the mean of several after a first."""
    page()
    began = process_time()
    for _ in range(TIMES):
        page()
    return (process_time() - began) * 1000 / TIMES


if __name__ == "__main__":
    main()
