"""Python reads this when it starts: some files break whoever marks them.

A reader that a hostile file has taken over could do no worse than what these names say.
"""

import os
import signal
import sys
from threading import Event

# Only what marks; a scheduler has no need of it.
if os.environ.get("BEWITCHED"):
    from answer_keys.hand_ins import limits

    limits.MAX_SILENT_S = 5.0
    from answer_keys.marking.marker import Marker

    honest = Marker.marked_at

    def marked_at(self, folder, name):
        """Mark a file, unless its name asks for something else."""
        match name.removesuffix(".jsonl"):
            case "endless":
                Event().wait()
            case "killed":
                os.kill(os.getpid(), signal.SIGKILL)
            case "exits":
                sys.exit(0)
            case "greedy":
                bytearray(2 * limits.MAX_READER_BYTES)
        return honest(self, folder, name)

    Marker.marked_at = marked_at
