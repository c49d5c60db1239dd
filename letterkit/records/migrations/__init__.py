"""How the tables came to be, one step a file; run by `letterkit.records.database.prepare`."""
