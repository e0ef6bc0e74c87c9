"""All that came back, read as grading reads it."""

from answer_keys.hand_ins.returned_files import found_at, returned_paths


def hand_ins_in(folder, key):
    """Read every file below a folder, archives unpacked."""
    paths, unread = returned_paths(folder)
    for path in paths:
        yield from found_at(folder, path, key)
    yield from unread
