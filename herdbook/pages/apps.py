from django.apps import AppConfig


class PagesConfig(AppConfig):
    name = "herdbook.pages"
    label = "pages"
