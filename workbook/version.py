"""The version that journals and hand-ins carry."""

__version__ = "0.1.0"
