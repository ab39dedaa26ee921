"""The site map, grouped by noun."""

urlpatterns: list = []
