"""Settings shared by every test: random examples are drawn the same way in every run, and nothing races a clock.

`pytest --hypothesis-profile=explore` draws new ones, and more.
"""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("steady", deadline=None, derandomize=True)
settings.register_profile("explore", deadline=None, derandomize=False, max_examples=300)
settings.load_profile("steady")
