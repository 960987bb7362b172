"""DXF files: the cut file, the compensated one, all copies on a sheet, and the proof of each."""
