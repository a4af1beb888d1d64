from django.urls import path

from students.views import assigning, cards, editing, kept, learners, learning

urlpatterns = [
    path("card/", cards.card_sign_in, name="card_sign_in"),
    path("card/whose/", cards.card_whose, name="card_whose"),
    path("today/", learning.today, name="today"),
    path("today/tick/", learning.tick, name="tick"),
    path("today/untick/", learning.untick, name="untick"),
    path("today/worker.js", kept.worker, name="today_worker"),
    path("today/app.webmanifest", kept.app_manifest, name="app_manifest"),
    path("today/kept/", kept.kept_page, name="kept_page"),
    path("today/week/", kept.week, name="kept_week"),
    path("today/ticks/", kept.ticks, name="ticks"),
    path("my-pieces/", learning.my_pieces, name="my_pieces"),
    path("progress/", learning.progress, name="progress"),
    path("learners/", learners.student_list, name="student_list"),
    path("learners/new/", learners.student_new, name="student_new"),
    path("learners/<int:pk>/", learners.student, name="student"),
    path("learners/<int:pk>/about/", learners.student_about, name="student_about"),
    path("learners/<int:pk>/away/", learners.student_away, name="student_away"),
    path("learners/<int:pk>/card/", learners.card_new, name="card_new"),
    path("learners/<int:pk>/code/", learners.code_new, name="code_new"),
    path("learners/<int:pk>/assign/<int:arrangement_pk>/", assigning.assign, name="assign"),
    path("learners/<int:pk>/choose/", assigning.choose_piece, name="choose_piece"),
    path("assign/<int:pk>/", assigning.assign_to, name="assign_to"),
    path("pieces/arrangements/<int:pk>/bars/", editing.arrangement_edit, name="arrangement_edit"),
    path("pieces/arrangements/<int:pk>/bars/keep/", editing.bars_keep, name="bars_keep"),
    path("pieces/arrangements/<int:pk>/bars/done/", editing.bars_done, name="bars_done"),
    path("pieces/arrangements/<int:pk>/bars/<int:number>/edit/", editing.bar_editor, name="bar_editor"),
    path("assignments/<int:pk>/end/", assigning.end, name="assignment_end"),
    path("assignments/<int:pk>/repertoire/", assigning.repertoire, name="repertoire"),
]
