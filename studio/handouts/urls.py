from django.urls import path

from studio.handouts import views

urlpatterns = [
    path("", views.handout_list, name="handout_list"),
    path("for/", views.print_for, name="print_for"),
    path("of/", views.print_piece, name="print_piece"),
    path("learners/<int:pk>/week.pdf", views.student_sheet, {"sheet": "week"}, name="week_pdf"),
    path("arrangements/<int:pk>/piece.pdf", views.piece_sheet, {"sheet": "piece"}, name="piece_pdf"),
    path("learners/<int:pk>/<slug:sheet>.pdf", views.student_sheet, name="student_sheet"),
    path("arrangements/<int:pk>/<slug:sheet>.pdf", views.piece_sheet, name="piece_sheet"),
    path("blank.pdf", views.blank_pdf, name="blank_pdf"),
    path("files/<int:pk>/", views.print_job, name="print_job"),
    path("files/<int:pk>/again/", views.print_job_again, name="print_job_again"),
    path("files/<int:pk>/handouts.pdf", views.print_job_pdf, name="print_job_pdf"),
    path("progress.pdf", views.report_pdf, name="report_pdf"),
]
