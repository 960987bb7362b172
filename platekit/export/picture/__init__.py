"""The pictures: plate, drive, survey, copies on a sheet, comparison, places found."""
