"""The app that starts the herd-book and tests it; it keeps no tables of its own."""

from django.apps import AppConfig


class WayInConfig(AppConfig):
    name = "herdbook.launcher"
