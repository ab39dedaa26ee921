"""What the tests of pages share: one row of each kind."""

from tests.pages.site_map import rows  # noqa: F401
