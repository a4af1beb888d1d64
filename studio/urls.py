"""Every address of the studio. Each app lists its own."""

from django.urls import include, path

urlpatterns = [
    path("", include("studio.accounts.urls")),
    path("overview/", include("studio.overview.urls")),
    path("lessons/", include("studio.lessons.urls")),
    path("handouts/", include("studio.handouts.urls")),
    path("pieces/", include("pieces.urls")),
    path("", include("students.urls")),
]
