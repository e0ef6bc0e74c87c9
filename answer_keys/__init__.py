"""Sealed keys, the hand-in reader, marks, the gradebook and reports.

========================  =====================================================
`class_secret`            the secret of a class set and its file
`sealing`                 the answer key, sealed under the class secret
`key_record`              what grading reads of the opened key
`rubric`                  marks of each step, from ``rubric.toml``
`hand_in`                 one returned file as strict data
`typed_answers`           a table of what was written on paper
`returned_files`          every returned file, archives too; `listing` finds them
`grading`                 one exercise, graded step by step
`marker`                  one returned file, read, checked and graded
`policy`, `inbox`         which hand-in of each student counts, and what late costs
`contenders`, `choices`   what goes on from what, and what the instructor takes
`senders`, `remarks`      whom a path names, and what is told of a hand-in
`overrides`               marks that the instructor sets by hand
`gradebook`               every grading, never overwritten; its `standings` are what
                          counts now
`report`, `sheet`         the class report, the sheets
`interchange`             results in the files of other programs
`marking`                 a whole class: all of these in order
========================  =====================================================
"""
