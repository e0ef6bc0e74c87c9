"""Tests in a real JupyterLab, driven through a real browser."""
