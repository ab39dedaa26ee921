from django.apps import AppConfig


class GeneticsConfig(AppConfig):
    name = "genetics"
