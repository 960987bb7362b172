"""The tables themselves: one file a standard, figures as printed; see `platekit.tables.rows` for how they are read."""
