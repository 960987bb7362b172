"""The bench sheet: dimensioned drawing, tables, order of work."""
