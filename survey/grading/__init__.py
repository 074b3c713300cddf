"""Grading: rule tables, their proof, the verdict."""
