"""The condition report and its copies, gathered from the rooms."""
