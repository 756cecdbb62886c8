"""A process that may open no more files has what it needs to say so."""

from __future__ import annotations

import subprocess
import sys

_BODY = r"""
import logging, os, resource, socket
from pullcall import journal
from pullcall.outlets import webhook
from pullcall.site.lookout import has_files

journal.begin()
print(has_files())
free = os.dup(0)
os.close(free)
resource.setrlimit(resource.RLIMIT_NOFILE, (free, free))
print(has_files())
try:
    open("/dev/null")
except OSError:
    logging.getLogger("page").exception("refused: %s", "\x1b[2J\x9b8m")
try:
    socket.getaddrinfo("grill.example.org", 80)
except OSError:
    print("not looked up")
"""


def test_the_journal_goes_on_and_it_is_known() -> None:
    ended = subprocess.run(
        [sys.executable, "-c", _BODY], capture_output=True, text=True, timeout=60, check=False
    )
    assert ended.stdout.split("\n") == ["True", "False", "not looked up", ""], ended.stderr
    first, *below = ended.stderr.splitlines()
    assert first == r"refused: \x1b[2J\x9b8m"
    assert "Too many open files" in below[-1]
    assert "Logging error" not in ended.stderr
