from django.urls import path

from studio.overview import views

urlpatterns = [
    path("", views.overview, name="overview"),
    path("studio/", views.studio, name="studio"),
]
