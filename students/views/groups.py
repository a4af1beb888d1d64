"""Groups: who is in one, what it plays, and one piece for all in one go."""

from datetime import date

from django.contrib import messages
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache

from pieces.models import Arrangement, Piece
from pieces.workup import workup_of
from students import practice
from students.group_forms import NOBODY, GroupAssignForm, GroupForm
from students.groups import Share, give_to_all, pieces_of, share
from students.models import Group
from students.views.assigning import performance_day
from studio.accounts.access import TEACHERS, allow, theirs_or_404


@allow(TEACHERS)
def group_list(request):
    groups = Group.objects.of(request.actor.studio).prefetch_related("members")
    return render(request, "students/group_list.html", {"groups": groups})


@allow(TEACHERS, "GET", "POST")
def group_new(request):
    return _form(request, Group(studio=request.actor.studio))


@allow(TEACHERS, "GET", "POST")
def group_about(request, pk):
    return _form(request, theirs_or_404(Group.objects, request.actor, pk=pk))


@allow(TEACHERS)
def group(request, pk):
    """What the group plays, and who is ahead and behind."""
    found = theirs_or_404(Group.objects, request.actor, pk=pk)
    today = request.actor.studio.today
    for student in found.members.select_related("studio"):
        practice.keep_planned(student, today)
    page = {"group": found, "members": found.members.all(), "pieces": pieces_of(found), "today": today}
    return render(request, "students/group.html", page)


@allow(TEACHERS)
def group_choose(request, pk):
    """Choose the piece for a group."""
    found = theirs_or_404(Group.objects, request.actor, pk=pk)
    pieces = (
        Piece.objects.of(request.actor.studio).in_use().prefetch_related("arrangements").order_by("title")
    )
    return render(request, "students/group_choose.html", {"group": found, "pieces": pieces})


@never_cache
@allow(TEACHERS, "GET", "POST")
def group_assign(request, pk, arrangement_pk):
    """One piece for all: what fits whom, and then given in one go."""
    found = theirs_or_404(Group.objects, request.actor, pk=pk)
    arrangement = theirs_or_404(Arrangement.objects.with_piece(), request.actor, pk=arrangement_pk)
    today = request.actor.studio.today
    letters = list(dict.fromkeys(section.letter for section in workup_of(arrangement).sections))
    members = list(found.members.learning().select_related("studio"))
    terms = {"letters": letters, "arrangement": arrangement, "members": members, "today": today}
    form = GroupAssignForm(request.POST or None, initial={"letters": letters[:1]}, **terms)
    if not form.is_bound:
        form = GroupAssignForm(_as_data(form, arrangement, letters, performance_day(request)), **terms)
    shares = _shares(form, today) if form.is_valid() else []
    given = [each for each in shares if each.proposal is not None]
    if request.method == "POST" and request.POST.get("do") == "assign" and given:
        give_to_all(found, given, today)
        messages.success(request, f"Given to {', '.join(each.student.name for each in given)}.")
        return redirect("group", pk)
    lines = {each.student.pk: each for each in shares}
    page = {
        "group": found,
        "arrangement": arrangement,
        "form": form,
        "lines": [
            {"student": s, "field": form.choice_of(s), "share": lines.get(s.pk), "can_play": form.can_play(s)}
            for s in members
        ],
        "given": len(given),
    }
    return render(request, "students/group_assign.html", page)


def _form(request, row: Group):
    form = GroupForm(request.POST or None, instance=row, studio=request.actor.studio)
    if request.method == "POST" and form.is_valid():
        made = form.save()
        return redirect("group", made.pk)
    return render(request, "students/group_form.html", {"form": form, "group": row if row.pk else None})


def _shares(form: GroupAssignForm, today) -> list[Share]:
    shares = []
    for student, arrangement in form.choices():
        if arrangement is not None:
            shares.append(share(student, arrangement, form.common, today))
        elif form.can_play(student):
            shares.append(Share(student, None, None, "Left out."))
        else:
            shares.append(Share(student, None, None, f"{NOBODY} {student.instrument}."))
    return shares


def _as_data(form: GroupAssignForm, arrangement: Arrangement, letters: list[str], day: date | None) -> dict:
    """The first proposal as form data, so that everybody's plan shows before anything is chosen."""
    chosen = {name: field.initial for name, field in form.fields.items() if name.startswith("of_")}
    common = {"letters": letters[:1], "goal": arrangement.goal_tempo, "purpose": "lesson"}
    if day:
        common |= {"letters": letters, "purpose": "performance", "until": day.isoformat()}
    return {**common, **chosen}
