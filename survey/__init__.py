"""Teachest's survey package: what a heap of parts is, how it is kept, graded and printed."""

__version__ = "0.1.0"
