"""The report: one page that says it all."""
