"""Every address, every role, every method: what is not declared here fails.

Whoever is let in gets something other than 403; who is not gets 403, a visitor is
sent to sign in, a wrong method gets 405, and another studio's row is a 404.
"""

import pytest
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from studio.accounts.access import Role
from studio.handouts import jobs
from tests.rows import one_of_each

pytestmark = pytest.mark.django_db

OWNER, TEACHER, LEARNER, GUARDIAN = Role.OWNER, Role.TEACHER, Role.LEARNER, Role.GUARDIAN
STRANGER = Role.STRANGER
DESK = {OWNER, TEACHER}
ALL = set(Role)
METHODS = ("GET", "POST", "PUT", "DELETE", "PATCH")

# name: (who, methods, what the address names)
DECLARED = {
    "home": (ALL, "GET", ()),
    "sign_in": (ALL, "GET POST", ()),
    "sign_out": (ALL, "POST", ()),
    "no_studio": ({STRANGER}, "GET", ()),
    "health": (ALL, "GET", ()),
    "card_sign_in": (ALL, "GET POST", ()),
    "card_whose": (ALL, "POST", ()),
    "my_sessions": (DESK, "GET POST", ()),
    "teachers": ({OWNER}, "GET POST", ()),
    "invited": (ALL, "GET POST", ("invitation",)),
    "overview": (DESK, "GET", ()),
    "audit": ({OWNER}, "GET", ()),
    "studio": ({OWNER}, "GET POST", ()),
    "lesson_list": (DESK, "GET", ()),
    "lesson": (DESK, "GET POST", ("student",)),
    "mark": (DESK, "POST", ("student", "assignment")),
    "assign_next": (DESK, "POST", ("student",)),
    "lesson_time": (DESK, "GET POST", ("student",)),
    "promise_kept": (DESK, "POST", ("student", "lesson")),
    "lesson_change": (DESK, "GET POST", ("student", "day")),
    "lesson_extra": (DESK, "GET POST", ("student",)),
    "my_calendar": (DESK, "GET POST", ()),
    "student_calendar": (DESK, "GET POST", ("student",)),
    "calendar_feed": (ALL, "GET", ("calendar",)),
    "week_pdf": (DESK, "GET", ("student",)),
    "performance_list": (DESK, "GET", ()),
    "performance_new": (DESK, "GET POST", ()),
    "performance": (DESK, "GET POST", ("performance",)),
    "performance_about": (DESK, "GET POST", ("performance",)),
    "handout_list": (DESK, "GET", ()),
    "print_for": (DESK, "POST", ()),
    "print_piece": (DESK, "POST", ()),
    "student_sheet": (DESK, "GET", ("student", "sheet")),
    "piece_sheet": (DESK, "GET POST", ("arrangement", "sheet")),
    "blank_pdf": (DESK, "GET", ()),
    "print_job": (DESK, "GET", ("job",)),
    "print_job_again": (DESK, "POST", ("job",)),
    "print_job_pdf": (DESK, "GET", ("job",)),
    "report_pdf": ({LEARNER, GUARDIAN}, "GET", ()),
    "piece_list": (DESK, "GET", ()),
    "piece_new": (DESK, "GET POST", ()),
    "piece_check": (DESK, "POST", ()),
    "tab_guide": (DESK, "GET", ()),
    "piece_bring": (DESK, "GET POST", ()),
    "piece_brought": (DESK, "GET POST", ("brought",)),
    "piece": (DESK, "GET", ("piece",)),
    "piece_about": (DESK, "GET POST", ("piece",)),
    "arrangement": (DESK, "GET", ("arrangement",)),
    "arrangement_edit": (DESK, "GET POST", ("arrangement",)),
    "arrangement_settings": (DESK, "GET POST", ("arrangement",)),
    "decide": (DESK, "POST", ("arrangement",)),
    "sections": (DESK, "GET POST", ("arrangement",)),
    "bar": (DESK, "GET POST", ("arrangement", "bar")),
    "arrange": (DESK, "GET POST", ("arrangement",)),
    "set_for": (DESK, "GET POST", ("arrangement",)),
    "shapes": (DESK, "GET POST", ("arrangement",)),
    "piece_pdf": (DESK, "GET POST", ("arrangement",)),
    "today": ({LEARNER}, "GET", ()),
    "tick": ({LEARNER}, "POST", ()),
    "untick": ({LEARNER}, "POST", ()),
    "today_worker": (ALL, "GET", ()),
    "app_manifest": (ALL, "GET", ()),
    "kept_page": ({LEARNER}, "GET", ()),
    "kept_week": ({LEARNER}, "GET", ()),
    "ticks": ({LEARNER}, "POST", ()),
    "my_pieces": ({LEARNER}, "GET", ()),
    "progress": ({LEARNER, GUARDIAN}, "GET", ()),
    "student_list": (DESK, "GET", ()),
    "student_new": (DESK, "GET POST", ()),
    "student": (DESK, "GET", ("student",)),
    "student_about": (DESK, "GET POST", ("student",)),
    "student_away": (DESK, "GET POST", ("student",)),
    "card_new": (DESK, "POST", ("student",)),
    "code_new": (DESK, "POST", ("student",)),
    "assign": (DESK, "GET POST", ("student", "arrangement")),
    "choose_piece": (DESK, "GET", ("student",)),
    "assign_to": (DESK, "GET", ("arrangement",)),
    "batch": (DESK, "GET POST", ("batch",)),
    "batch_step": (DESK, "POST", ("batch",)),
    "take_out": (DESK, "GET", ("arrangement",)),
    "take_out_as": (DESK, "GET POST", ("arrangement", "ending")),
    "bar_editor": (DESK, "GET", ("arrangement", "bar")),
    "bars_keep": (DESK, "POST", ("arrangement",)),
    "bars_done": (DESK, "POST", ("arrangement",)),
    "across": (DESK, "GET", ("arrangement",)),
    "assignment_end": (DESK, "POST", ("assignment",)),
    "repertoire": (DESK, "POST", ("assignment",)),
    "group_list": (DESK, "GET", ()),
    "group_new": (DESK, "GET POST", ()),
    "group": (DESK, "GET", ("group",)),
    "group_about": (DESK, "GET POST", ("group",)),
    "group_choose": (DESK, "GET", ("group",)),
    "group_assign": (DESK, "GET POST", ("group", "arrangement")),
}

# A bar and a day are of every studio; who has the address of a calendar or an invitation may open it,
# whoever they are.
OF_NO_STUDIO = ("bar", "sheet", "ending", "day", "calendar", "invitation")
SIGNS_OUT = ("sign_in", "sign_out", "card_sign_in", "card_new")


def patterns(resolver):
    for pattern in resolver.url_patterns:
        if isinstance(pattern, URLResolver):
            yield from patterns(pattern)
        else:
            assert isinstance(pattern, URLPattern)
            yield pattern


@pytest.fixture(autouse=True)
def no_thread(monkeypatch):
    """A file for several learners is made in a thread of its own, which no test here waits for."""
    monkeypatch.setattr(jobs, "start", lambda job: None)


@pytest.fixture
def rows(cast):
    """One row of each kind in the cast's studio, and one in the stranger's."""

    return (
        one_of_each(cast.studio, cast.learner, cast.owner),
        one_of_each(cast.elsewhere, cast.foreign_learner, cast.foreigner),
    )


def test_every_address_is_declared_and_every_declared_address_exists():
    assert {pattern.name for pattern in patterns(get_resolver())} == set(DECLARED)


def test_every_view_names_the_roles_and_methods_that_are_declared():
    for pattern in patterns(get_resolver()):
        who, methods, _names = DECLARED[pattern.name]
        assert pattern.callback.roles == who, pattern.name
        assert pattern.callback.methods == set(methods.split()), pattern.name


@pytest.mark.parametrize("role", list(Role))
def test_each_role_gets_in_where_it_is_declared_and_nowhere_else(role, cast, rows, sign_in, client):
    own, _foreign = rows
    clients = {
        Role.OWNER: lambda: sign_in(cast.owner),
        Role.TEACHER: lambda: sign_in(cast.teacher),
        Role.LEARNER: lambda: sign_in(student=cast.learner),
        Role.GUARDIAN: lambda: sign_in(student=cast.learner, holder="guardian"),
        Role.STRANGER: lambda: sign_in(cast.homeless),
        Role.VISITOR: lambda: client,
    }
    asking = clients[role]()
    for name, (who, methods, names) in DECLARED.items():
        for method in METHODS:
            if name == "assignment_end" and role in who and method == "POST":
                continue  # asked last, below: it puts away what the others need
            answer = asking.generic(method, reverse(name, args=[own[n] for n in names]))
            place = f"{role} {method} {name}: {answer.status_code}"
            if role in who and method in methods.split():
                assert answer.status_code in (200, 302, 404, 422), place
            elif role in who:
                assert answer.status_code == 405, place
            elif role is Role.VISITOR:
                assert (answer.status_code == 302 and "sign-in" in answer.url) or "card" in answer.url, place
            else:
                assert answer.status_code == 403, place
        if name in SIGNS_OUT:
            asking = clients[role]()
    if role in DESK:
        assert clients[role]().post(reverse("assignment_end", args=[own["assignment"]])).status_code == 302


def test_another_studios_rows_are_not_found_by_any_address_or_method(cast, rows, sign_in):
    own, foreign = rows
    owner = sign_in(cast.owner)
    for name, (_who, methods, names) in DECLARED.items():
        for stranger in names:
            if stranger in OF_NO_STUDIO:
                continue
            args = [foreign[n] if n == stranger else own[n] for n in names]
            for method in methods.split():
                answer = owner.generic(method, reverse(name, args=args))
                assert answer.status_code == 404, f"{method} {name} with a foreign {stranger}"
