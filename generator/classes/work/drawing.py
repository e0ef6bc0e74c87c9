"""Draw what each student of a class gets.

Whoever does this holds the class secret, and so can open the answer key of the class.
It is told ids and no names, and no passphrase.
"""

from __future__ import annotations

from msgspec import msgpack

from answer_keys.keys.class_secret import ClassSecret
from generator.drawing.course import Course
from generator.drawing.request import Request
from generator.sets.set_writing import parts_of_class


def do(course: Course, request: Request, secret: ClassSecret) -> bytes:
    """Draw a class; give its parts, one a student, in MessagePack.

    Raises
    ------
    ClassDrawError
        Where nothing can be drawn of a lesson.
    """
    # Other classes are at work beside this one: it takes a process, and no more.
    return msgpack.encode(list(parts_of_class(course, request, secret, workers=1)))
