from django.apps import AppConfig


class LessonsConfig(AppConfig):
    name = "studio.lessons"
    label = "lessons"
