from datetime import date

from django.urls import path, register_converter

from studio.lessons import calendar_views, changing_views, performing_views, views


class DayConverter:
    """A day as 2026-03-19."""

    regex = r"\d{4}-\d{2}-\d{2}"

    def to_python(self, value):
        return date.fromisoformat(value)

    def to_url(self, value):
        return value if isinstance(value, str) else value.isoformat()


register_converter(DayConverter, "day")

urlpatterns = [
    path("", views.lesson_list, name="lesson_list"),
    path("<int:pk>/", views.lesson, name="lesson"),
    path("<int:pk>/mark/<int:assignment_pk>/", views.mark, name="mark"),
    path("<int:pk>/kept/<int:lesson_pk>/", views.promise_kept, name="promise_kept"),
    path("<int:pk>/assign/", views.assign_next, name="assign_next"),
    path("<int:pk>/time/", views.lesson_time, name="lesson_time"),
    path("<int:pk>/on/<day:day>/", changing_views.lesson_change, name="lesson_change"),
    path("<int:pk>/extra/", changing_views.lesson_extra, name="lesson_extra"),
    path("<int:pk>/calendar/", calendar_views.student_calendar, name="student_calendar"),
    path("calendar/", calendar_views.my_calendar, name="my_calendar"),
    path("calendar/<str:token>.ics", calendar_views.calendar_feed, name="calendar_feed"),
    path("performances/", performing_views.performance_list, name="performance_list"),
    path("performances/new/", performing_views.performance_new, name="performance_new"),
    path("performances/<int:pk>/", performing_views.performance, name="performance"),
    path("performances/<int:pk>/about/", performing_views.performance_about, name="performance_about"),
]
