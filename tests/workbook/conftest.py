"""A workbook in a folder of its own, and widgets without a kernel."""

import comm
import pytest

from tests.workbook.sample import write_workbook
from workbook.page.clerk import Clerk
from workbook.page.finder import find_notebook
from workbook.page.session import KernelSession


class FakeComm(comm.DummyComm):
    """Keeps what a widget sends."""

    def __init__(self, *args, **kwargs):
        self.sent = []
        super().__init__(*args, **kwargs)

    def publish_msg(self, _msg_type, data=None, _metadata=None, buffers=None, **_keys):
        """Keep a message instead of sending it."""
        self.sent.append((data or {}, buffers or []))

    def replies(self):
        """The custom messages sent, without the updates of traits."""
        return [
            data["content"] for data, _ in self.sent if data.get("method") == "custom"
        ]


@pytest.fixture
def session(tmp_path):
    """A kernel session on the sample workbook."""
    write_workbook(tmp_path)
    return KernelSession(find_notebook(tmp_path, {}), tmp_path)


@pytest.fixture
def clerk(session):
    """A clerk on that session."""
    return Clerk(session)


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """The sample workbook's folder as a kernel's own, with fake widget channels."""
    write_workbook(tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("JPY_SESSION_NAME", raising=False)
    monkeypatch.setattr(comm, "create_comm", FakeComm)
    return tmp_path
