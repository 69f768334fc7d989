"""One Hypothesis profile for the whole suite: the same examples in every run."""

from hypothesis import settings

settings.register_profile("suite", derandomize=True, deadline=None, max_examples=50)
settings.load_profile("suite")
