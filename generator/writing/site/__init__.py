"""The static site: every workbook of a set in any browser, Python included."""
