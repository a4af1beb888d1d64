from django.urls import path

from studio.overview import views

urlpatterns = [
    path("", views.overview, name="overview"),
    path("log/", views.audit, name="audit"),
    path("studio/", views.studio, name="studio"),
]
