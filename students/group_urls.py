from django.urls import path

from students.views import groups

urlpatterns = [
    path("", groups.group_list, name="group_list"),
    path("new/", groups.group_new, name="group_new"),
    path("<int:pk>/", groups.group, name="group"),
    path("<int:pk>/about/", groups.group_about, name="group_about"),
    path("<int:pk>/choose/", groups.group_choose, name="group_choose"),
    path("<int:pk>/assign/<int:arrangement_pk>/", groups.group_assign, name="group_assign"),
]
