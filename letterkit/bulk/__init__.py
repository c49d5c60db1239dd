"""A sheet of encounters in, letters and an outcome sheet out, whatever happens to the machine in between.

`sheets` opens a CSV, XLSX, ODS or JSON Lines file or a folder; `columns` matches its columns to the record; `cells` and
`rows` make an encounter of each row, or say which cell stands in the way; `ledger` remembers what was made of every
row; `work` drafts in worker processes; `durable` sees to it that a stopped run goes on where it was. Nothing here
decides what a letter says.
"""

READERS = ("doctor", "patient")
"""Whose letters are made at once where nothing else is said."""
