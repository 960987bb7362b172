"""Tables and figures for a program or a spreadsheet: keys that carry their unit."""
