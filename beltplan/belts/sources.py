"""Sources that more than one value names."""

from __future__ import annotations

PRACTICE = "common practice, no source"
