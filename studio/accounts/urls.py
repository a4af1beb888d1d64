from django.urls import path

from studio.accounts import joining_views, views

urlpatterns = [
    path("", views.home, name="home"),
    path("sign-in/", views.sign_in, name="sign_in"),
    path("sign-out/", views.sign_out, name="sign_out"),
    path("signed-in/", views.my_sessions, name="my_sessions"),
    path("no-studio/", views.no_studio, name="no_studio"),
    path("teachers/", joining_views.teachers, name="teachers"),
    path("invited/<str:token>/", joining_views.invited, name="invited"),
    path("health/", views.health, name="health"),
]
