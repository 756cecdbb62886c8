"""Screenshots as numbers; the browser itself decodes them, on an empty page of its own."""

from __future__ import annotations

import base64

import numpy as np
from numpy.typing import NDArray
from playwright.sync_api import Browser, Locator

Pixels = NDArray[np.int16]

DECODE = """async (png) => {
  const image = await createImageBitmap(await (await fetch(`data:image/png;base64,${png}`)).blob());
  const pen = new OffscreenCanvas(image.width, image.height).getContext("2d");
  pen.drawImage(image, 0, 0);
  const { data } = pen.getImageData(0, 0, image.width, image.height);
  let bytes = "";
  for (const byte of data) bytes += String.fromCharCode(byte);
  return [image.width, image.height, btoa(bytes)];
}"""


def pixels(browser: Browser, shown: Locator) -> Pixels:
    """What is painted of a node: rows, columns, and red, green, blue of 0 to 255."""
    png = base64.b64encode(shown.screenshot()).decode()
    page = browser.new_page()
    try:
        width, height, data = page.evaluate(DECODE, png)
    finally:
        page.close()
    raw = np.frombuffer(base64.b64decode(data), np.uint8)
    return raw.reshape(height, width, 4)[:, :, :3].astype(np.int16)


def count_near(picture: Pixels, colour: str, within: int = 40) -> int:
    """How many pixels are nearly of ``colour`` ("#rrggbb")."""
    wanted = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)])
    return int((np.abs(picture - wanted).max(axis=2) <= within).sum())
