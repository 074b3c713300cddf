"""Keeping a survey safe: backup, restore, snapshots, export, integrity, the folder's lock."""
