from django.urls import path

from studio.lessons import views

urlpatterns = [
    path("", views.lesson_list, name="lesson_list"),
    path("<int:pk>/", views.lesson, name="lesson"),
    path("<int:pk>/mark/<int:assignment_pk>/", views.mark, name="mark"),
    path("<int:pk>/assign/", views.assign_next, name="assign_next"),
    path("<int:pk>/time/", views.lesson_time, name="lesson_time"),
    path("<int:pk>/week.pdf", views.week_pdf, name="week_pdf"),
    path("handouts/", views.handout_list, name="handout_list"),
]
