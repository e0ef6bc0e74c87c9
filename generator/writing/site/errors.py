"""What can go wrong with a site, in words for the instructor."""

from __future__ import annotations

__all__ = ["SiteError"]


class SiteError(Exception):
    """A site that cannot be built or served: what is missing and what to do."""
