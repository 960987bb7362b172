"""The plates of the export tests, shared."""

from tests.export.conftest import *  # noqa: F403
