"""Devices say at the test link whether they will do, and nobody can say much there."""

import json
from http import HTTPStatus

import pytest

from generator.serving.service import Asked
from generator.serving.tried import TestLink

SOUND = {"device": "A tablet", "keeps": False, "runs": True, "why": "no https"}


def said(link, body, method="POST", path=""):
    """What the link answers."""
    return link(Asked(method=method, path=path, body=body)).status


def test_what_a_device_says_is_noted():
    """The desk shows it beside the link."""
    link = TestLink()
    assert said(link, json.dumps(SOUND).encode()) == HTTPStatus.OK
    (one,) = link.tried
    assert (one.device, one.keeps, one.runs, one.why) == tuple(SOUND.values())


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"\xff",
        b"[]",
        json.dumps({**SOUND, "keeps": "yes"}).encode(),
        json.dumps({**SOUND, "more": 1}).encode(),
        json.dumps({**SOUND, "why": "x" * 2000}).encode(),
    ],
)
def test_nothing_else_is_noted(body):
    """Anybody in the room can reach it."""
    link = TestLink()
    assert said(link, body) in (HTTPStatus.BAD_REQUEST, HTTPStatus.NOT_FOUND)
    assert link.tried == ()


def test_hidden_characters_are_written_out_and_a_flood_is_cut():
    """What is told is shown on the instructor's page."""
    link = TestLink()
    for _ in range(300):
        said(link, json.dumps({**SOUND, "device": "x\u202e"}).encode())
    assert len(link.tried) == 200
    assert link.tried[0].device == "x\\u202e"
