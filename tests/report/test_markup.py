"""Words that people wrote stay words."""

from __future__ import annotations

from xml.etree import ElementTree

from pullcall.report.markup import element, words

HOSTILE = '</text><script>alert("x")</script> & \x00\x0b\ud800 \'"<'


def test_words_are_escaped_and_markup_is_not() -> None:
    inner = element("b", "1 < 2")
    assert element("p", "a & b ", inner) == "<p>a &amp; b <b>1 &lt; 2</b></p>"


def test_an_attribute_cannot_be_left() -> None:
    assert element("p", class_='x" onclick="y') == '<p class="x&quot; onclick=&quot;y"></p>'


def test_characters_no_document_may_hold_are_replaced() -> None:
    told = ElementTree.fromstring(element("p", HOSTILE)).text
    assert told is not None
    assert told.count("\ufffd") == 3
    assert words(words("a & b")) == "a &amp; b"
