"""One exercise in the files of other programs."""
