"""SQLite through SQLModel: tables, mapping, queries and the loader of the catalogue files."""
