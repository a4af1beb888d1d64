"""Handouts: chosen on one page, printed one by one, or for many as one file."""

from urllib.parse import urlencode

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from pieces.handouts import blank_handout
from pieces.models import Arrangement
from pieces.music.tuning import TUNINGS
from pieces.paper import pdf_of
from pieces.print_options import PrintOptions
from students.models import Student
from students.report import report_handout
from studio.accounts.access import FAMILY, TEACHERS, allow, theirs_or_404
from studio.handouts import jobs
from studio.handouts.forms import BlankForm, PieceSheetForm, StudentSheetForm
from studio.handouts.models import PrintJob
from studio.handouts.sheets import PIECE_SHEETS, STUDENT_SHEETS, pages_for, unsettled_titles


@allow(TEACHERS)
def handout_list(request):
    """Everything that can be printed."""
    return render(request, "handouts/handout_list.html", _page(request))


@allow(TEACHERS, "POST")
def print_for(request):
    """A sheet for one learner opens at once; for several, the file is made in the background."""
    studio = request.actor.studio
    form = StudentSheetForm(request.POST, studio=studio, prefix="for")
    if not form.is_valid():
        return render(request, "handouts/handout_list.html", _page(request, student_form=form), status=422)
    sheet, options = form.cleaned_data["sheet"], form.options
    if form.student:
        return redirect(
            f"{reverse('student_sheet', args=[form.student.pk, sheet])}?{urlencode(options.to_query())}"
        )
    job = jobs.new_job(studio, request.actor.user, sheet, form.students, options, group=form.group)
    jobs.start(job)
    return redirect("print_job", job.pk)


@allow(TEACHERS, "POST")
def print_piece(request):
    form = PieceSheetForm(request.POST, studio=request.actor.studio, prefix="of")
    if not form.is_valid():
        return render(request, "handouts/handout_list.html", _page(request, piece_form=form), status=422)
    address = reverse("piece_sheet", args=[form.cleaned_data["arrangement"].pk, form.cleaned_data["sheet"]])
    return redirect(f"{address}?{urlencode(form.options.to_query())}")


@allow(TEACHERS)
def student_sheet(request, pk, sheet):
    """One learner's week, lesson outline, drills or progress report."""
    student = theirs_or_404(Student.objects.select_related("studio", "teacher"), request.actor, pk=pk)
    if sheet not in STUDENT_SHEETS:
        raise Http404
    pages = pages_for(sheet, student, request.actor.studio.today, _options(request))
    return pdf_answer(pdf_of(pages), f"{sheet}-{pk}")


@allow(TEACHERS, "GET", "POST")
def piece_sheet(request, pk, sheet):
    """A piece, its outline or its chords; one whose rights are not settled is asked about first."""
    found = theirs_or_404(Arrangement.objects.with_piece().select_related("studio"), request.actor, pk=pk)
    if sheet not in PIECE_SHEETS:
        raise Http404
    chosen = PIECE_SHEETS[sheet]
    if chosen.shows_music and not found.piece.free_to_print and request.method != "POST":
        return render(request, "pieces/rights_caution.html", {"arrangement": found})
    return pdf_answer(chosen.make(found, _options(request)), f"{sheet}-{pk}")


@allow(TEACHERS)
def blank_pdf(request):
    """Paper to write on."""
    form = BlankForm(request.GET)
    if not form.is_valid():
        return render(request, "handouts/handout_list.html", _page(request, blank_form=form), status=422)
    given = form.cleaned_data
    options = PrintOptions(paper=given["paper"])
    pdf = blank_handout(TUNINGS[given["instrument"]], given["kind"], request.actor.studio, options)
    return pdf_answer(pdf, f"blank-{given['kind']}")


@allow(TEACHERS)
def print_job(request, pk):
    """How far a file is; asked again every second while it is made."""
    job = theirs_or_404(PrintJob.objects.defer("pdf"), request.actor, pk=pk)
    students = list(Student.objects.of(request.actor.studio).filter(pk__in=job.students))
    page = {"job": job, "stalled": jobs.is_stalled(job)}
    if STUDENT_SHEETS[job.what].shows_music:
        page["unsettled"] = unsettled_titles(students)
    template = "handouts/_job.html" if request.htmx else "handouts/print_job.html"
    return render(request, template, page)


@allow(TEACHERS, "POST")
def print_job_again(request, pk):
    """Make a file anew whose server was stopped, or that failed."""
    job = theirs_or_404(PrintJob.objects, request.actor, pk=pk)
    students = {s.pk: s for s in Student.objects.of(request.actor.studio).filter(pk__in=job.students)}
    order = [students[number] for number in job.students if number in students]
    fresh = jobs.new_job(
        job.studio, request.actor.user, job.what, order, PrintOptions.of(job.options), group=job.group
    )
    jobs.start(fresh)
    return redirect("print_job", fresh.pk)


@allow(TEACHERS)
def print_job_pdf(request, pk):
    job = theirs_or_404(PrintJob.objects, request.actor, pk=pk)
    if job.pdf is None:
        raise Http404
    return pdf_answer(bytes(job.pdf), f"{job.what}-{job.day}")


@allow(FAMILY)
def report_pdf(request):
    """The learner's own progress report, for the learner or the guardian."""
    found = Student.objects.select_related("studio", "teacher")
    student = theirs_or_404(found, request.actor, pk=request.actor.student_id)
    studio = request.actor.studio
    return pdf_answer(report_handout(student, studio.today, PrintOptions(studio.paper)), "progress")


def pdf_answer(pdf: bytes, name: str) -> HttpResponse:
    """A PDF that opens in the browser."""
    headers = {"Content-Disposition": f'inline; filename="{name}.pdf"', "Cache-Control": "no-store"}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)


def _options(request) -> PrintOptions:
    return PrintOptions.of(request.GET, paper=request.actor.studio.paper)


def _page(request, *, student_form=None, piece_form=None, blank_form=None) -> dict:
    studio = request.actor.studio
    paper = {"paper": studio.paper}
    asked = request.GET.get("for", "all")
    students = Student.objects.of(studio).learning()
    return {
        "student_form": student_form
        or StudentSheetForm(studio=studio, prefix="for", initial={**paper, "whose": asked, "sheet": "week"}),
        "piece_form": piece_form
        or PieceSheetForm(
            studio=studio,
            prefix="of",
            initial={**paper, "sheet": "piece", "arrangement": request.GET.get("of")},
        ),
        "blank_form": blank_form or BlankForm(initial=paper),
        "student_sheets": STUDENT_SHEETS.values(),
        "piece_sheets": PIECE_SHEETS.values(),
        "any_student": students.exists(),
        "any_piece": Arrangement.objects.of(studio).exists(),
        "jobs": PrintJob.objects.of(studio).defer("pdf").recent()[:3],
    }
