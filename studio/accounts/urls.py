from django.urls import path

from studio.accounts import views

urlpatterns = [
    path("", views.home, name="home"),
    path("sign-in/", views.sign_in, name="sign_in"),
    path("sign-out/", views.sign_out, name="sign_out"),
    path("no-studio/", views.no_studio, name="no_studio"),
    path("health/", views.health, name="health"),
]
