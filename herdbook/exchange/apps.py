"""The app that carries pedigrees in and out of files; it keeps no tables of its own."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class ExchangeConfig(AppConfig):
    name = "herdbook.exchange"
    verbose_name = _("exchange of files")
