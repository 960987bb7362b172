"""The steps of the layout, one subject a module; `platekit.layout` tells their order."""
