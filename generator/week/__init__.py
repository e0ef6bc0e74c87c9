"""The week's work with a class, whoever asks for it: a command, a page or a test.

================  =================================================================
`opened`          a class set with its secret and its key: what most of these take
`overview`        the class sets of a folder, at which step each stands, what is next
`class_list`      a class list looked at and read, whatever a school calls its columns
`new_set`         what a set would hold, before and after it is written
`checking`        is a set sound
`checked`         what the last check said
`on_paper`        handouts, reading slips, guide, a table for typed answers
`website`         the site with its links, for a web server or served from here
`hub`             the same for the users of a school's hub
`inventing`       invented students who hand in, to see how a set is marked
`collecting`      files and typed answers put in; who has handed in, and who has not
`marking`         marks for what came back; marks changed by hand
`rubric`          the rubric read, written, and whose marks another one would change
`reporting`       the report, and results for other programs
`training`        what many classes tell together: a page, and how hard exercises are
`answers`         every answer of a set
`students`        all that is kept of one student, to give or to delete
`own_lessons`     the lessons there are; one of the instructor's own
`machine`         what this machine has, and what it lacks
================  =================================================================

Requests are frozen records, progress goes to a callback (`answer_keys.headway`), which
ends the work by raising, and what comes back is data or one of our errors. Nothing here
prints, and nothing knows of a terminal.
"""
