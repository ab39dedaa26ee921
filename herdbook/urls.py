"""The site map."""

from django.urls import include, path

urlpatterns = [path("", include("herdbook.pages.urls"))]
