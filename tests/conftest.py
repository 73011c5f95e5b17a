"""For all tests: property tests compile languages and models on first use, so no example has a deadline."""

from hypothesis import settings

settings.register_profile("project", deadline=None)
settings.load_profile("project")
