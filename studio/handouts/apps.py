from django.apps import AppConfig


class HandoutsConfig(AppConfig):
    name = "studio.handouts"
    label = "handouts"
