from django.apps import AppConfig


class BookConfig(AppConfig):
    name = "herdbook.book"
    label = "book"
