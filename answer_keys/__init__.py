"""Sealed keys, hand-ins read, marks, the gradebook and reports.

================  =================================================================
`keys`            the class secret, the answer key sealed under it, what stands in it
`hand_ins`        every returned file and archive, read as strict data
`marking`         rubric, marks of each step, one returned file marked
`gradebook`       every grading, never overwritten, and which of them counts
`interchange`     results in the files of other programs
`reports`         the class report, the sheets, what to practise next
================  =================================================================
"""
