"""The 1:1 paper: template and checking page."""
