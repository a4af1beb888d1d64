"""Other ways to play a piece: arranged at a level, on another instrument, with other shapes."""

from django.contrib import messages
from django.shortcuts import redirect, render

from pieces.arranging_forms import ArrangeForm, InstrumentForm
from pieces.arranging_page import (
    Wish,
    arranging_page,
    first_wish,
    keep_arranged,
    missing,
    tune_of,
)
from pieces.instrument_page import instrument_page, keep_moved
from pieces.models import Arrangement
from pieces.music.arranging import LEVELS, OutOfReach
from pieces.music.instruments import CannotMove
from pieces.music.tuning import TUNINGS
from pieces.shape_choices import keep_choices, shapes_page
from pieces.workup import workup_of
from studio.accounts.access import TEACHERS, allow, theirs_or_404


@allow(TEACHERS, "GET", "POST")
def arrange(request, pk):
    """A tune at four levels: one of them is kept whole, or a level bar by bar."""
    found = theirs_or_404(Arrangement.objects.with_piece().select_related("studio"), request.actor, pk=pk)
    tune = tune_of(found)
    wish = first_wish(tune)
    form = ArrangeForm(request.POST or _as_data(wish, tune), score=tune.score)
    if form.is_valid():
        wish = _wish(form)
        tune = tune.with_chords(form.symbols)
    chosen, do = _chosen(request, tune), request.POST.get("do", "")
    if form.is_valid() and do.startswith("keep"):
        problem = _keep(tune, wish, chosen) if do == "keep" else _keep(tune, wish, _all(tune, do))
        if isinstance(problem, Arrangement):
            messages.success(request, f"Kept as another arrangement: {problem.name}.")
            return redirect("arrangement", problem.pk)
        form.add_error(None, problem)
    page = arranging_page(tune, wish, chosen, whole=do == "whole")
    if do == "whole" and (bars := missing(tune, chosen)):
        form.add_error(None, f"Choose a level for {bars} as well.")
    return render(request, "pieces/arrange.html", {"form": form, **page})


@allow(TEACHERS, "GET", "POST")
def set_for(request, pk):
    """The same piece on another instrument, with what changes, before it is kept."""
    found = theirs_or_404(Arrangement.objects.with_piece().select_related("studio"), request.actor, pk=pk)
    form = InstrumentForm(request.POST or None, now=found.to_score().tuning.name)
    page = {"arrangement": found}
    if request.method == "POST" and form.is_valid():
        tuning = TUNINGS[form.cleaned_data["tuning"]]
        try:
            if request.POST.get("do") == "keep":
                kept = keep_moved(found, tuning, form.cleaned_data["keep"])
                messages.success(request, f"Kept as another arrangement: {kept.name}.")
                return redirect("arrangement", kept.pk)
            page |= instrument_page(found, tuning, form.cleaned_data["keep"])
        except CannotMove as error:
            form.add_error(None, str(error))
    return render(request, "pieces/set_for.html", {"form": form, **page})


@allow(TEACHERS, "GET", "POST")
def shapes(request, pk):
    """What the left hand holds for each chord, and what it may hold instead."""
    found = theirs_or_404(Arrangement.objects.with_piece(), request.actor, pk=pk)
    if request.method == "POST":
        movement = _movement(request.POST.get("movement", ""), found.movement)
        if movement != found.movement:
            found.movement = movement
            found.save(update_fields=["movement"])
        chosen = {name.partition("|")[2]: value for name, value in request.POST.items() if "|" in name}
        changed = keep_choices(found, workup_of(found), chosen, by=request.actor.user)
        messages.success(request, f"Kept for {', '.join(changed)}." if changed else "Kept.")
        bar = request.POST.get("bar", "")
        return redirect("bar", pk, int(bar)) if bar.isdecimal() else redirect("shapes", pk)
    left_handed = request.GET.get("hand") == "left"
    return render(
        request, "pieces/shapes.html", shapes_page(found, workup_of(found), left_handed=left_handed)
    )


def _as_data(wish: Wish, tune) -> dict:
    return {
        "tuning": wish.tuning.name,
        "semitones": wish.semitones,
        "picking": wish.picking,
        "chords": tune.chords,
    }


def _wish(form: ArrangeForm) -> Wish:
    given = form.cleaned_data
    return Wish(TUNINGS[given["tuning"]], given["semitones"], given["picking"])


def _chosen(request, tune) -> dict[int, int]:
    """Levels by bar number; "every bar" of a level stands before what was chosen one by one.

    A repeat may be given as ``as-1``: whatever bar 1 is.
    """
    do = request.POST.get("do", "")
    if do.startswith("every-"):
        return _all(tune, do)
    chosen: dict[int, int] = {}
    for bar in tune.score.bars:
        given = request.POST.get(f"bar-{bar.number}", "")
        first = given.removeprefix("as-")
        if given in map(str, LEVELS):
            chosen[bar.number] = int(given)
        elif first != given and first.isdecimal() and int(first) in chosen:
            chosen[bar.number] = chosen[int(first)]
    return chosen


def _all(tune, do: str) -> dict[int, int]:
    level = do.rpartition("-")[2]
    return {bar.number: int(level) for bar in tune.score.bars} if level in map(str, LEVELS) else {}


def _keep(tune, wish, chosen) -> Arrangement | str:
    """The new arrangement, or what stands in its way."""
    if bars := missing(tune, chosen):
        return f"Choose a level for {bars} as well."
    try:
        return keep_arranged(tune, wish, chosen)
    except OutOfReach as error:
        return str(error)


def _movement(given: str, now: float) -> float:
    return next((value for value, _word in Arrangement.MOVEMENTS if str(value) == given), now)
