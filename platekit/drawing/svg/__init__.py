"""Pictures: the elements of SVG, and how the plate lies in one."""
