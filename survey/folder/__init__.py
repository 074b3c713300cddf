"""The hands that touch disk and SQL: a survey is one folder, and only this package opens it."""
