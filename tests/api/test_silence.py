"""The page's silence: the committed file is what the script writes, and is silent."""

from __future__ import annotations

import io
import wave

from pullcall.api.silence import FILE, content


def test_the_committed_file_is_what_the_script_writes() -> None:
    assert FILE.read_bytes() == content(), "run `python -m pullcall.api.silence`"


def test_it_is_nothing_and_little_of_it() -> None:
    assert len(content()) < 2100
    with wave.open(io.BytesIO(content())) as file:
        assert file.getnframes() == file.getframerate() / 4
        assert set(file.readframes(file.getnframes())) == {0x80}
