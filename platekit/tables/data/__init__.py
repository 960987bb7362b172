"""The tables themselves: one file a standard, figures as printed; `platekit.tables.rows` reads them."""
