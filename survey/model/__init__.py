"""Frozen records and closed words, one file a subject; they know nothing of disk, screen or paper."""
