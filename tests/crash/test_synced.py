"""The judge of system calls, on lines as strace(1) writes them."""

from __future__ import annotations

from tests.crash.synced import judged

WRITTEN = '28243 pwrite64(6</log/cooks.db-wal>, "\\0\\0\\0\\5"..., 24, 86552) = 24'
SYNCED = "28243 fdatasync(6</log/cooks.db-wal>) = 0"
ANSWERED = '28216 sendto(13<socket:[604]>, "HTTP/1.1 201 Created"..., 564, 0, NULL, 0) = 564'


def test_an_answer_after_a_sync_is_synced() -> None:
    assert judged([WRITTEN, WRITTEN, SYNCED, ANSWERED] * 2) == (2, 2)


def test_an_answer_before_its_sync_is_not() -> None:
    assert judged([WRITTEN, ANSWERED, SYNCED]) == (1, 0)


def test_the_sync_of_an_earlier_write_does_not_count() -> None:
    assert judged([WRITTEN, SYNCED, WRITTEN, ANSWERED]) == (1, 0)
    assert judged([WRITTEN, SYNCED, ANSWERED, ANSWERED]) == (2, 1)


def test_a_sync_that_failed_does_not_count() -> None:
    failed = "28243 fdatasync(6</log/cooks.db-wal>) = -1 EIO (Input/output error)"
    assert judged([WRITTEN, failed, ANSWERED]) == (1, 0)


def test_what_was_written_before_anybody_looked_is_not_judged() -> None:
    assert judged([ANSWERED, WRITTEN, SYNCED, ANSWERED]) == (1, 1)
