"""All that came back, read as grading reads it."""

from answer_keys.hand_ins.returned_files import found_at, returned_names


def hand_ins_in(folder, key):
    """Read every file below a folder, archives unpacked."""
    names, unread = returned_names(folder)
    for name in names:
        yield from found_at(folder, name, key)
    yield from unread
