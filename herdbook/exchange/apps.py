from django.apps import AppConfig


class ExchangeConfig(AppConfig):
    name = "herdbook.exchange"
    label = "exchange"
