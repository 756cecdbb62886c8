"""The HTTP and websocket API, and the page."""
