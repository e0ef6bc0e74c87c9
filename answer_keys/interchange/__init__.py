"""Results in the files of other programs, each format beside the others.

=================  ======================================================
`marks_files`      marks as a table for people, as CSV and as a spreadsheet
`column`           marks in one column of the instructor's own CSV
`oneroster`        OneRoster 1.2 CSV, for a school's information system
`xapi`             xAPI statements, for a learning record store
`ids`              ids for these that stay the same
`formats`          the table of these formats
=================  ======================================================
"""
