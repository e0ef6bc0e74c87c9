"""The version that journals and hand-ins carry."""

from __future__ import annotations

__version__ = "0.1.0"
