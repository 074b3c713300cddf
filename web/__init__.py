"""Teachest in the browser."""
