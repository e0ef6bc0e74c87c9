"""Records of the answer key as plain data, which tests look into and change."""

from __future__ import annotations

import json
import lzma
from collections import defaultdict

import msgspec

from answer_keys.keys.answer_key import AnswerKey
from answer_keys.keys.whole_record import WholeRecord
from generator.model.reasoning import Reasoning
from generator.workbooks.class_workbooks import records_of
from generator.workbooks.key_records import key_record
from generator.workbooks.page_records import page_record
from workbook.record.plain import plain


def content_of(record):
    """A record, or several, as JSON values."""
    return msgspec.json.decode(msgspec.json.encode(record))


def whole_of(content):
    """The record of some JSON values."""
    return msgspec.convert(content, WholeRecord)


def key_content_of(exercise, number, identity):
    """What the key holds of an exercise."""
    return content_of(key_record(exercise, number, identity))


def workbook_content(workbook):
    """What the key holds of a workbook."""
    return content_of(records_of(workbook))


def plan_of(table):
    """The plan of a reasoning table."""
    return msgspec.convert(table, Reasoning).plan


def pack_content(records):
    """Pack the records of one student, whatever grading reads of them."""
    return lzma.compress(json.dumps(records).encode(), preset=0)


def answer_key_of(content):
    """A key of a table with all its ``exercises``, whatever grading reads of them."""
    by_student = defaultdict(list)
    for record in content["exercises"]:
        by_student[record["student"]].append(record)
    return AnswerKey(
        set_id=content["set_id"],
        edition=content["edition"],
        mode=content["mode"],
        packed={student: pack_content(own) for student, own in by_student.items()},
        history=content.get("history", {}),
    )


def page_content_of(exercise, number, mode):
    """What the page gets of an exercise, as JSON values."""
    return json.loads(json.dumps(plain(page_record(exercise, number, mode))))
