from django.apps import AppConfig


class OverviewConfig(AppConfig):
    name = "studio.overview"
    label = "overview"
