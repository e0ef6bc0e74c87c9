"""Many classes at once: planned in one file, drawn and graded here or on a cluster.

============  =====================================================================
`plan`        PLAN.toml or a OneRoster bundle, checked and read
`jobs`        what is done elsewhere, and what comes back: plain bytes
`pool`        processes of this machine that do jobs
`cluster`     machines that do jobs, by way of dask.distributed
`work`        the jobs, a module each: to draw, to mark, to grade
`shipping`    hand-ins sent to another machine to be marked there
`rows`        what became of each class
`done`        what is done already, as the folder of the school tells
`figures`     what is told of a graded class: figures, and nobody's name
`run`         all classes of a plan, done as far as they are not done yet
`report`      one page for the whole school
`keys`        keys and certificates for the machines of a cluster
============  =====================================================================
"""
