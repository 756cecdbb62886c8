"""Frames are made once for many; they are those that the websocket's own library makes."""

from __future__ import annotations

import pytest
from websockets.frames import Frame, Opcode

from pullcall.network.stream_socket import frame


@pytest.mark.parametrize("size", [0, 1, 125, 126, 65535, 65536, 70000])
def test_a_text_is_the_frame_that_the_library_makes(size: int) -> None:
    text = "é" * (size // 2) + "x" * (size % 2)
    made = Frame(Opcode.TEXT, text.encode()).serialize(mask=False)
    assert frame(text) == made
