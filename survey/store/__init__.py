"""The survey's database: tables, schema, change with history, undo, bin. The only SQL connection."""
