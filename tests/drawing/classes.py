"""Classes drawn whole: what each student gets."""

from generator.drawing.class_draw import new_class_draw


def exercises_of_class(course, mode, secret, students, count, causes="same"):
    """Draw one student after the other, with the student's id."""
    draw = new_class_draw(course, mode, secret, count, causes=causes)
    return ((student, draw.of(student)) for student in students)
