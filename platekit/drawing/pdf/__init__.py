"""Paper: the pen, sheets, pages, dimensions, and what a printer does to them."""
